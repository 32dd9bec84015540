//! A register of many jobs, made without the run: every bundle is sealed, signed and, mostly, accepted as
//! the program would leave it. What each job found is drawn from its number, so that a register is the
//! same each time and tests can say what must come out.

use std::path::Path;

use evenfire::cranking::answer::{Analysis, Drawing};
use evenfire::procedure::model::OutcomeKind;
use evenfire::record::decision::{self, Decision, Ruling};
use evenfire::record::folder::{self, JobFolder};
use evenfire::record::manifest::{Line, Manifest};
use evenfire::record::model::{CaptureResult, ComputedResult, Outcome, PathEntry, Record, SCHEMA};
use evenfire::record::roster::{Role, line};
use evenfire::record::shop::Shop;
use evenfire::record::signed::{Signature, fingerprint};
use evenfire::record::{digest, key, sshsig};
use evenfire::report::html;
use evenfire::report::signatures::{Countersignature, Signatures};
use evenfire::run::event::{Answer, CaptureFile, Event, Opening, ProcedureFile};
use rayon::prelude::*;
use ssh_key::PrivateKey;

use crate::journal;

pub const TECHNICIAN: &str = "jo.tarrow";
pub const LEAD: &str = "kim.vell";

const OPENED: &str = "2026-03-02T09:00:00Z";
const SEALED: &str = "2026-03-02T10:15:00Z";
const DECIDED: &str = "2026-03-02T16:00:00Z";

/// Bundles held in memory at a time.
const AT_A_TIME: u64 = 512;

/// What a job is made of, by its number. The numbers are such that each kind is there in a register of
/// sixty.
#[derive(Debug, Clone, Copy)]
pub struct Drawn(pub u64);

impl Drawn {
    pub fn is_practice(self) -> bool {
        self.0 % 20 == 7
    }
    pub fn awaits_decision(self) -> bool {
        self.0 % 10 == 3
    }
    pub fn is_returned(self) -> bool {
        self.0 % 30 == 11
    }
    pub fn is_low(self) -> bool {
        self.0.is_multiple_of(3)
    }
    /// Leak-down of the suspected cylinder, and whether it leaked.
    pub fn leak_down(self) -> Option<bool> {
        (self.is_low() && self.0.is_multiple_of(2)).then_some(!self.0.is_multiple_of(12))
    }
    pub fn is_clipped(self) -> bool {
        self.0 % 5 == 4
    }
    /// Jobs of one vehicle stand thirty apart.
    pub fn vehicle(self) -> String {
        format!(
            "QL {:05}",
            if self.0 % 4 == 1 {
                self.0 % 30
            } else {
                100 + self.0
            }
        )
    }
    pub fn is_six(self) -> bool {
        self.0 % 6 == 5
    }
}

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

/// A job's record and the files that its manifest lists, the record excepted.
fn work(drawn: Drawn, capture: &str) -> (Record, Vec<(String, Vec<u8>)>) {
    const PROCEDURE: &str = "procedure: look\n";
    const SETUP: &str = "cylinders: 4\n";
    let digest = |text: &str| digest::of_bytes(text.as_bytes());
    let file = CaptureFile {
        file: "captures/1.csv".into(),
        sha256: digest(capture),
        bytes: capture.len() as u64,
        setup: "captures/1.setup.yaml".into(),
        setup_sha256: digest(SETUP),
        original: "first.csv".into(),
        simulated: false,
        understood: Vec::new(),
        clamp: None,
    };
    let opening = opening(drawn, digest(PROCEDURE));
    let outcome = outcome(drawn);
    let (journal, head, lines) = journal(drawn, &opening, &file, &outcome);
    let record = record(drawn, opening, file, outcome, (head, lines));
    let files = [
        (folder::JOURNAL, journal.as_str()),
        ("procedures/look.yaml", PROCEDURE),
        ("captures/1.csv", capture),
        ("captures/1.setup.yaml", SETUP),
    ];
    let files = files.map(|(name, text)| (name.to_owned(), text.as_bytes().to_vec()));
    (record, files.to_vec())
}

fn opening(drawn: Drawn, sha256: String) -> Opening {
    Opening {
        needs: Default::default(),
        house: Default::default(),
        job: format!("{:04}", drawn.0),
        shop: "Quiet Lane Motors".into(),
        technician: TECHNICIAN.into(),
        practice: if drawn.is_practice() {
            vec!["answers from a file".into()]
        } else {
            Vec::new()
        },
        simulated_clock: false,
        procedure: "look".into(),
        procedures: vec![ProcedureFile {
            name: "look".into(),
            revision: 1,
            title: "Look".into(),
            file: "procedures/look.yaml".into(),
            sha256,
        }],
        low_percent: 85.0,
        limits: evenfire::followup::limits::ShopLimits::default(),
        tool: "evenfire 0.1.0".into(),
    }
}

fn outcome(drawn: Drawn) -> Outcome {
    let (step, kind) = match (drawn.is_clipped(), drawn.is_low()) {
        (true, _) => ("no-verdict", OutcomeKind::NoVerdict),
        (false, true) => ("low", OutcomeKind::FaultFound),
        (false, false) => ("even", OutcomeKind::NothingFound),
    };
    Outcome {
        step: step.into(),
        kind,
        finding: "=HYPERLINK(\"x\") is a text, not a formula".into(),
        advice: None,
    }
}

fn journal(
    drawn: Drawn,
    opening: &Opening,
    file: &CaptureFile,
    outcome: &Outcome,
) -> (String, String, u64) {
    let mut events = vec![Event::Opened(opening.clone())];
    if drawn.0 % 8 == 2 {
        let lapsed = vec![evenfire::procedure::work::Condition("fuel off".into())];
        events.push(Event::Resumed { lapsed });
    }
    events.push(Event::Answered {
        step: "crank".into(),
        answer: Answer::Capture(file.clone()),
    });
    events.push(Event::Concluded {
        step: outcome.step.clone(),
        kind: outcome.kind,
        finding: outcome.finding.clone(),
        advice: None,
    });
    events.push(Event::Sealed);
    let lines = events.len() as u64;
    let at = |n: usize| if n == 0 { OPENED } else { SEALED };
    let events: Vec<(&str, Event)> = events
        .into_iter()
        .enumerate()
        .map(|(n, event)| (at(n), event))
        .collect();
    let (text, head) = journal::text(&events);
    (text, head, lines)
}

fn record(
    drawn: Drawn,
    opening: Opening,
    file: CaptureFile,
    outcome: Outcome,
    (journal_head, journal_lines): (String, u64),
) -> Record {
    let order = if drawn.is_six() {
        "1-5-3-6-2-4"
    } else {
        "1-3-4-2"
    };
    let lines = [
        ("vehicle", "grey van".to_owned()),
        ("vehicle identity", drawn.vehicle()),
        (
            "cylinders",
            if drawn.is_six() { "6" } else { "4" }.to_owned(),
        ),
        ("firing order", order.to_owned()),
        ("fuel", "Petrol".to_owned()),
    ];
    Record {
        schema: SCHEMA.into(),
        tool: opening.tool,
        job: opening.job,
        practice: opening.practice,
        shop: opening.shop,
        technician: opening.technician,
        opened: OPENED.into(),
        sealed: SEALED.into(),
        simulated_clock: false,
        procedure: opening.procedure,
        procedures: opening.procedures,
        lines: lines.map(|(name, value)| (name.to_owned(), value)).into(),
        outcome,
        captures: vec![CaptureResult {
            step: "crank".into(),
            at: "2026-03-02T09:30:00Z".into(),
            file,
            analysis: Some(analysis(drawn)),
            drawing: Some(drawing()),
            superseded: false,
        }],
        computed: leak_down(drawn).into_iter().collect(),
        path: path(drawn),
        notes: Vec::new(),
        put_back: Vec::new(),
        low_percent: opening.low_percent,
        decision_rule: "The interval is the guard band.".into(),
        cautions: Vec::new(),
        journal_lines,
        journal_head,
        previous: None,
    }
}

fn analysis(drawn: Drawn) -> Analysis {
    let percent = |cylinder: u64| {
        if drawn.is_low() && cylinder == 3 {
            62.0
        } else {
            99.0
        }
    };
    let rows: Vec<serde_json::Value> = (1..=4)
        .map(|cylinder| {
            let percent = percent(cylinder);
            serde_json::json!({"cylinder": cylinder, "relative_compression_percent": percent,
                "low": percent - 3.0, "high": percent + 3.0,
                "finding": if percent < 80.0 { "low" } else { "even" }})
        })
        .collect();
    let kind = match (drawn.is_clipped(), drawn.is_low()) {
        (true, _) => "inconclusive",
        (false, true) => "low",
        (false, false) => "even",
    };
    let low: Vec<u64> = if kind == "low" { vec![3] } else { Vec::new() };
    serde_json::from_value(serde_json::json!({
        "schema": "evenfire.analysis/1", "source": "battery_voltage", "identified": "cylinder",
        "cranking": {"start_s": 1.0, "end_s": 6.0, "cycles": 9.0, "mean_rpm": 187.0},
        "cylinders": rows, "verdict": {"kind": kind, "cylinders": low, "why": "So it was drawn."},
        "quality": [{"check": "clipped", "passed": !drawn.is_clipped(), "measured": 1.0, "limit": 0.5,
            "bound": "max", "unit": "%", "advice": "Take a wider range."}],
        "passed_over": [], "remarks": [], "low_percent": 85.0,
    }))
    .unwrap()
}

fn drawing() -> Drawing {
    Drawing {
        label: "battery voltage, turned over".into(),
        unit: "V".into(),
        trace: (0..200)
            .map(|at| (f64::from(at) * 0.03, f64::from(at % 9)))
            .collect(),
        detail: Vec::new(),
        window: (1.0, 6.0),
        firings: (0..32)
            .map(|at| (1.0 + f64::from(at) * 0.15, [1, 3, 4, 2][at as usize % 4]))
            .collect(),
        references: Vec::new(),
    }
}

fn leak_down(drawn: Drawn) -> Option<ComputedResult> {
    let leaks = drawn.leak_down()?;
    let (band, loss) = if leaks {
        ("fault", "45.00 %")
    } else {
        ("good", "6.50 %")
    };
    let facts = [
        ("cylinder", "3"),
        ("band", band),
        ("loss", loss),
        ("flow ratio", "1.58"),
    ];
    Some(ComputedResult {
        step: "leak-test/judge-leak".into(),
        at: SEALED.into(),
        computation: "leak-down".into(),
        facts: facts
            .map(|(name, value)| (name.to_owned(), value.to_owned()))
            .into(),
        superseded: false,
    })
}

fn path(drawn: Drawn) -> Vec<PathEntry> {
    let entry = |line: u64, step: &str, action: &str| PathEntry {
        line,
        at: SEALED.into(),
        step: step.into(),
        phase: "look".into(),
        hazards: Vec::new(),
        action: Some(action.into()),
        asked: "Done.".into(),
        answered: "yes".into(),
        measured: None,
        superseded: false,
    };
    let mut path = vec![entry(
        2,
        "crank",
        "Crank for seven seconds. The pick-up sits at cylinder 1.",
    )];
    if drawn.leak_down().is_some() {
        path.push(entry(
            3,
            "leak-test/plug",
            "Take the plug of cylinder 3 out.",
        ));
        path.push(entry(4, "leak-test/judge-leak", ""));
    }
    path
}
