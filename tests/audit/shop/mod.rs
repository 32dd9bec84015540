//! A register of many jobs, made without the run: every bundle is sealed, signed and, mostly, accepted as
//! the program would leave it. What each job found is drawn from its number, so that a register is the
//! same each time and tests can say what must come out.

mod drawn;
mod work;

use std::path::Path;

use evenfire::record::bundle::decision::{self, Decision, Ruling};
use evenfire::record::bundle::manifest::{Line, Manifest};
use evenfire::record::bundle::model::Record;
use evenfire::record::bundle::signed::{Signature, fingerprint};
use evenfire::record::digest;
use evenfire::record::folder::{self, JobFolder};
use evenfire::record::shop::Shop;
use evenfire::record::shop::roster::{Role, line};
use evenfire::record::signing::{key, sshsig};
use evenfire::report::html;
use evenfire::report::signatures::{Countersignature, Signatures};
use rayon::prelude::*;
use ssh_key::PrivateKey;

pub use drawn::Drawn;
use work::work;

pub const TECHNICIAN: &str = "jo.tarrow";
pub const LEAD: &str = "kim.vell";

const OPENED: &str = "2026-03-02T09:00:00Z";
const SEALED: &str = "2026-03-02T10:15:00Z";
const DECIDED: &str = "2026-03-02T16:00:00Z";

/// Bundles held in memory at a time.
const AT_A_TIME: u64 = 512;

/// A register that can be made longer.
pub struct Register {
    pub shop: Shop,
    technician: PrivateKey,
    lead: PrivateKey,
    previous: Option<String>,
    next: u64,
    capture: String,
}

/// One bundle's files but for the signatures.
struct Made {
    drawn: Drawn,
    job: JobFolder,
    record: Record,
    files: Vec<(String, Vec<u8>)>,
    manifest: String,
}

impl Register {
    /// A shop without jobs; each capture of its jobs will have about that many bytes.
    pub fn new(root: &Path, capture_bytes: usize) -> Register {
        let [technician, lead] = [TECHNICIAN, LEAD].map(|who| key::make(who, false).unwrap());
        let roster = line::text(TECHNICIAN, Role::Technician, technician.public_key())
            + &line::text(LEAD, Role::Lead, lead.public_key());
        let shop = Shop::create(root, "Quiet Lane Motors", &roster).unwrap();
        let rows =
            (0..capture_bytes / 20).map(|at| format!("{:.6},{:.4}\n", at as f64 * 1e-4, 11.5));
        Register {
            shop,
            technician,
            lead,
            previous: None,
            next: 1,
            capture: std::iter::once("time_s,volt\n".to_owned())
                .chain(rows)
                .collect(),
        }
    }

    /// Add jobs.
    pub fn add(&mut self, jobs: u64) {
        let end = self.next + jobs;
        while self.next < end {
            let upto = end.min(self.next + AT_A_TIME);
            let made: Vec<Made> = (self.next..upto).map(|n| self.make(Drawn(n))).collect();
            self.next = upto;
            made.par_iter().for_each(|made| self.lay(made));
        }
    }

    /// The lead's key as a file.
    pub fn lead_key(&self, file: &Path) {
        self.lead
            .write_openssh_file(file, ssh_key::LineEnding::LF)
            .unwrap();
    }

    /// Lay another job under the last number, in the old one's place of the chain.
    pub fn anew(&mut self, job: u64) {
        let before = self.shop.jobs().join(format!("{:04}", job - 1));
        let manifest = std::fs::read(before.join(folder::MANIFEST)).unwrap();
        self.previous = Some(digest::of_bytes(&manifest));
        self.capture.push_str("9.0,11.4\n");
        self.next = job;
        self.add(1);
    }

    fn make(&mut self, drawn: Drawn) -> Made {
        let job = JobFolder::at(self.shop.jobs().join(format!("{:04}", drawn.0)));
        let (mut record, mut files) = work(drawn, &self.capture);
        if !drawn.is_practice() {
            record.previous.clone_from(&self.previous);
        }
        files.push((folder::RECORD.into(), record.text().unwrap().into_bytes()));
        let lines = files.iter().map(|(name, bytes)| Line {
            sha256: digest::of_bytes(bytes),
            name: name.clone(),
        });
        let manifest = Manifest::of(lines).text();
        if !drawn.is_practice() {
            self.previous = Some(digest::of_bytes(manifest.as_bytes()));
        }
        Made {
            drawn,
            job,
            record,
            files,
            manifest,
        }
    }

    fn lay(&self, made: &Made) {
        let put = |name: &str, bytes: &[u8]| std::fs::write(made.job.file(name), bytes).unwrap();
        for folder in [folder::PROCEDURES, folder::CAPTURES] {
            std::fs::create_dir_all(made.job.file(folder)).unwrap();
        }
        for (name, bytes) in &made.files {
            put(name, bytes);
        }
        put(folder::MANIFEST, made.manifest.as_bytes());
        let signed =
            sshsig::sign(&self.technician, Role::Technician, made.manifest.as_bytes()).unwrap();
        put(folder::TECHNICIAN_SIGNATURE, signed.as_bytes());
        let countersign = (!made.drawn.awaits_decision()).then(|| self.decide(made, &signed));
        let signatures = Signatures {
            technician: Some(signature(TECHNICIAN, SEALED, &self.technician)),
            countersign,
            ..Signatures::default()
        };
        put(
            folder::REPORT,
            html::page(&made.record, &signatures).as_bytes(),
        );
    }

    fn decide(&self, made: &Made, technician: &str) -> Countersignature {
        let (ruling, reason) = if made.drawn.is_returned() {
            (
                Ruling::Returned,
                Some("=The second capture is missing".to_owned()),
            )
        } else {
            (Ruling::Accepted, None)
        };
        let decision = Decision {
            schema: decision::SCHEMA.into(),
            job: made.record.job.clone(),
            decision: ruling,
            reason: reason.clone(),
            name: LEAD.into(),
            time: DECIDED.into(),
        };
        let decision = decision.text().unwrap();
        let lines = [
            (folder::MANIFEST, made.manifest.as_str()),
            (folder::TECHNICIAN_SIGNATURE, technician),
            (folder::DECISION, &decision),
        ];
        let list = Manifest::of(lines.map(|(name, text)| Line {
            sha256: digest::of_bytes(text.as_bytes()),
            name: name.into(),
        }))
        .text();
        let signed = sshsig::sign(&self.lead, Role::Lead, list.as_bytes()).unwrap();
        for (name, text) in [
            (folder::DECISION, &decision),
            (folder::COUNTERSIGN, &list),
            (folder::COUNTERSIGNATURE, &signed),
        ] {
            std::fs::write(made.job.file(name), text).unwrap();
        }
        Countersignature {
            signature: signature(LEAD, DECIDED, &self.lead),
            ruling,
            reason,
        }
    }
}

fn signature(identity: &str, time: &str, key: &PrivateKey) -> Signature {
    Signature {
        identity: identity.into(),
        time: time.into(),
        fingerprint: fingerprint(key.public_key().key_data()),
    }
}
