//! What was done in a job: its record, its journal and its other files.

use evenfire::cranking::answer::{Analysis, Drawing};
use evenfire::procedure::model::OutcomeKind;
use evenfire::record::bundle::model::{ComputedResult, Outcome, PathEntry, Record};
use evenfire::record::{digest, folder};
use evenfire::run::event::{CaptureFile, Event, Opening, ProcedureFile};

use super::{Drawn, OPENED, SEALED, TECHNICIAN};
use crate::journal;

/// A job's record and the files that its manifest lists, the record excepted.
pub fn work(drawn: Drawn, capture: &str) -> (Record, Vec<(String, Vec<u8>)>) {
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
        columns_told: false,
        clamp: None,
    };
    let opening = opening(drawn, digest(PROCEDURE));
    let outcome = outcome(drawn);
    let (journal, end) = journal(drawn, &opening, &file, &outcome);
    let record = record(drawn, opening, file, outcome, end);
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
        breaks_and_waivers: Default::default(),
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
    let (step, kind) = match (drawn.is_clipped() || drawn.is_undecided(), drawn.is_low()) {
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
) -> (String, (u64, String)) {
    let resumed = (drawn.0 % 8 == 2).then(|| Event::Resumed {
        lapsed: vec![evenfire::procedure::work::Condition("fuel off".into())],
    });
    let events = journal::events(opening, resumed, file, outcome);
    let lines = events.len() as u64;
    let times = std::iter::once(OPENED).chain(std::iter::repeat(SEALED));
    let (text, head) = journal::text(times.zip(events));
    (text, (lines, head))
}

fn record(
    drawn: Drawn,
    opening: Opening,
    file: CaptureFile,
    outcome: Outcome,
    journal: (u64, String),
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
    let mut record = journal::record(opening, file, outcome, [OPENED, SEALED], journal);
    record.lines = lines.map(|(name, value)| (name.to_owned(), value)).into();
    for capture in &mut record.captures {
        capture.analysis = Some(analysis(drawn));
        capture.drawing = Some(drawing());
    }
    record.computed = leak_down(drawn).into_iter().collect();
    record.path = path(drawn);
    record
}

fn analysis(drawn: Drawn) -> Analysis {
    let percent = |cylinder: u64| {
        if drawn.is_low() && cylinder == 3 {
            62.0
        } else if drawn.is_undecided() && cylinder == 2 {
            85.0
        } else {
            99.0
        }
    };
    let rows: Vec<serde_json::Value> = (1..=4)
        .map(|cylinder| {
            let percent = percent(cylinder);
            serde_json::json!({"cylinder": cylinder, "relative_compression_percent": percent,
                "low": percent - 3.0, "high": percent + 3.0,
                "finding": if percent < 80.0 { "low" } else if percent < 88.0 { "uncertain" } else { "even" }})
        })
        .collect();
    let kind = match (drawn.is_clipped() || drawn.is_undecided(), drawn.is_low()) {
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
        ("fault", "45.0 %")
    } else {
        ("good", "6.5 %")
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
        carried_from: None,
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
