//! A shop with a finished job for tests of the record: made whole, then changed in one way at a time.

use std::path::PathBuf;

use evenfire::procedure::model::OutcomeKind;
use evenfire::record::bundle::decision::Ruling;
use evenfire::record::bundle::manifest::{Line, Manifest};
use evenfire::record::bundle::model::{Outcome, Record};
use evenfire::record::bundle::seal;
use evenfire::record::bundle::signed::Signed;
use evenfire::record::digest;
use evenfire::record::folder::{self, JobFolder};
use evenfire::record::shop::Shop;
use evenfire::record::shop::roster::{Role, Roster, line};
use evenfire::record::signing::{self, key, sshsig};
use evenfire::record::verify::{Against, Finding, verify};
use evenfire::run::event::{CaptureFile, Opening, ProcedureFile};
use ssh_key::PrivateKey;

use crate::journal;

pub const TECHNICIAN: &str = "jo.tarrow@shop.example";
pub const LEAD: &str = "kim.vell@shop.example";
pub const SEALED: &str = "2026-03-02T10:15:00Z";
pub const DECIDED: &str = "2026-03-02T16:00:00Z";

/// A shop in a temporary folder, its people's keys, and one job.
pub struct Bundle {
    pub folder: tempfile::TempDir,
    pub shop: Shop,
    pub job: JobFolder,
    pub technician: PrivateKey,
    pub lead: PrivateKey,
    /// In no roster.
    pub stranger: PrivateKey,
    pub record: Record,
}

impl Bundle {
    /// A job that is sealed, signed and accepted, with its report.
    pub fn whole() -> Bundle {
        let bundle = Bundle::signed();
        bundle.countersign(Ruling::Accepted, None);
        bundle.write_report();
        bundle
    }

    pub fn signed() -> Bundle {
        let bundle = Bundle::sealed();
        let roster = bundle.roster();
        signing::sign(&bundle.job, &bundle.against(&roster), &bundle.technician).unwrap();
        bundle
    }

    pub fn sealed() -> Bundle {
        let mut bundle = Bundle::worked();
        bundle.record = seal::seal(&bundle.shop, &bundle.job, &bundle.record).unwrap();
        bundle
    }

    /// Work done, journal ended, nothing sealed.
    pub fn worked() -> Bundle {
        let folder = tempfile::tempdir().unwrap();
        let [technician, lead, stranger] =
            [TECHNICIAN, LEAD, "stranger"].map(|who| key::make(who, false).unwrap());
        let roster = line::text(TECHNICIAN, Role::Technician, technician.public_key())
            + &line::text(LEAD, Role::Lead, lead.public_key());
        let shop = Shop::create(&folder.path().join("shop"), "Quiet Lane Motors", &roster).unwrap();
        let job = shop.new_job().unwrap();
        let record = work(&job, Vec::new());
        Bundle {
            folder,
            shop,
            job,
            technician,
            lead,
            stranger,
            record,
        }
    }

    pub fn countersign(&self, ruling: Ruling, reason: Option<&str>) {
        let roster = self.roster();
        let now = DECIDED.parse().unwrap();
        signing::countersign(
            &self.job,
            &self.against(&roster),
            &self.lead,
            (ruling, reason),
            now,
        )
        .unwrap();
    }

    pub fn roster(&self) -> Roster {
        Roster::of(&self.shop).unwrap()
    }

    pub fn against<'a>(&self, roster: &'a Roster) -> Against<'a> {
        Against {
            roster,
            number: Some("0001"),
            report: &render,
        }
    }

    pub fn verify(&self) -> Vec<Finding> {
        let roster = self.roster();
        verify(&self.job, &self.against(&roster)).unwrap()
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.job.file(name)
    }

    pub fn read(&self, name: &str) -> Vec<u8> {
        std::fs::read(self.path(name)).unwrap()
    }

    pub fn text(&self, name: &str) -> String {
        String::from_utf8(self.read(name)).unwrap()
    }

    pub fn write(&self, name: &str, bytes: impl AsRef<[u8]>) {
        std::fs::write(self.path(name), bytes).unwrap();
    }

    pub fn write_report(&self) {
        let signed = Signed::read(&self.job, &self.record).unwrap();
        self.write(folder::REPORT, render(&self.record, &signed));
    }

    pub fn edit_roster(&self, edit: impl Fn(String) -> String) {
        let file = self.shop.roster_file();
        let text = std::fs::read_to_string(&file).unwrap();
        std::fs::write(file, edit(text)).unwrap();
    }

    /// Write another record in place of the sealed one.
    pub fn edit_record(&mut self, edit: impl Fn(&mut Record)) {
        edit(&mut self.record);
        self.write(folder::RECORD, self.record.text().unwrap());
    }

    /// List what is there and have both sign it: what two people could do who agree to deceive.
    pub fn sign_all_again(&self) {
        self.list_again();
        self.sign_again();
    }

    pub fn list_again(&self) {
        let text = std::fs::read_to_string(self.path(folder::MANIFEST)).unwrap();
        let lines = Manifest::parse(text.as_bytes()).unwrap().lines().to_vec();
        let lines = lines.into_iter().map(|line| Line {
            sha256: digest::of_file(&self.path(&line.name)).unwrap(),
            name: line.name,
        });
        self.write(folder::MANIFEST, Manifest::of(lines).text());
    }

    /// Sign the manifest and the decision as they lie there.
    pub fn sign_again(&self) {
        let signature = sshsig::sign(
            &self.technician,
            Role::Technician,
            &self.read(folder::MANIFEST),
        );
        self.write(folder::TECHNICIAN_SIGNATURE, signature.unwrap());
        self.countersign_again(&self.lead);
    }

    pub fn countersign_again(&self, key: &PrivateKey) {
        let names = [
            folder::MANIFEST,
            folder::DECISION,
            folder::TECHNICIAN_SIGNATURE,
        ];
        let list: String = names
            .iter()
            .map(|name| format!("{}  {name}\n", digest::of_bytes(&self.read(name))))
            .collect();
        let signature = sshsig::sign(key, Role::Lead, list.as_bytes()).unwrap();
        self.write(folder::COUNTERSIGN, list);
        self.write(folder::COUNTERSIGNATURE, signature);
    }
}

/// Lay a finished job into a folder: journal, a procedure, a capture.
pub fn work(job: &JobFolder, practice: Vec<String>) -> Record {
    let put = |name: &str, text: &str| {
        std::fs::write(job.file(name), text).unwrap();
        digest::of_bytes(text.as_bytes())
    };
    let procedure = ProcedureFile {
        name: "look".into(),
        revision: 1,
        title: "Look".into(),
        file: "procedures/look.yaml".into(),
        sha256: put("procedures/look.yaml", "procedure: look\n"),
    };
    let capture = CaptureFile {
        file: "captures/1.csv".into(),
        sha256: put("captures/1.csv", "time_s,volt\n0,12.6\n"),
        bytes: 19,
        setup: "captures/1.setup.yaml".into(),
        setup_sha256: put("captures/1.setup.yaml", "cylinders: 4\n"),
        original: "first.csv".into(),
        simulated: false,
        clamp: None,
        understood: Vec::new(),
        columns_told: false,
    };
    let opening = Opening {
        needs: Default::default(),
        job: job.number(),
        shop: "Quiet Lane Motors".into(),
        technician: TECHNICIAN.into(),
        practice,
        simulated_clock: false,
        procedure: "look".into(),
        procedures: vec![procedure],
        low_percent: 85.0,
        limits: evenfire::followup::limits::ShopLimits::default(),
        breaks_and_waivers: Default::default(),
        tool: "evenfire 0.1.0".into(),
    };
    let outcome = Outcome {
        step: "even".into(),
        kind: OutcomeKind::NothingFound,
        finding: "All alike.".into(),
        advice: None,
    };
    let events = journal::events(&opening, None, &capture, &outcome);
    let times = ["2026-03-02T09:00:00Z", SEALED];
    let lines = events.len() as u64;
    let (journal, head) = journal::text(events.into_iter().map(|event| (SEALED, event)));
    put(folder::JOURNAL, &journal);
    journal::record(opening, capture, outcome, times, (lines, head))
}

/// A report that says what a report depends on, so that any change of that shows.
fn render(record: &Record, signed: &Signed) -> String {
    format!("<p>{}</p><p>{signed:?}</p>", record.text().unwrap())
}
