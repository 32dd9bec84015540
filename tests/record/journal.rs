//! A job written by its form and not by the program, for the tests of the record and of the register.

use evenfire::record::bundle::model::{CaptureResult, Outcome, Record, SCHEMA};
use evenfire::record::digest;
use evenfire::run::event::{Answer, CaptureFile, Event, Opening, Stamped};

/// The journal of events that happened at these times, and the hash of its last line.
pub fn text<'a>(events: impl IntoIterator<Item = (&'a str, Event)>) -> (String, String) {
    let (mut text, mut head) = (String::new(), "0".repeat(64));
    for ((at, event), n) in events.into_iter().zip(1..) {
        let stamped = Stamped {
            at: at.to_owned(),
            event,
        };
        let ev = serde_json::to_string(&stamped).unwrap();
        head = digest::of_bytes(format!("{head}\n{n}\n{ev}").as_bytes());
        text += &format!("{{\"n\":{n},\"h\":\"{head}\",\"ev\":{ev}}}\n");
    }
    (text, head)
}

/// The events of a job that took one capture, but for what happened between.
pub fn events(
    opening: &Opening,
    between: Option<Event>,
    capture: &CaptureFile,
    outcome: &Outcome,
) -> Vec<Event> {
    let answered = Event::Answered {
        step: "crank".into(),
        answer: Answer::Capture(capture.clone()),
    };
    let concluded = Event::Concluded {
        step: outcome.step.clone(),
        kind: outcome.kind,
        finding: outcome.finding.clone(),
        advice: outcome.advice.clone(),
    };
    let mut events = vec![Event::Opened(opening.clone())];
    events.extend(between);
    events.extend([answered, concluded, Event::Sealed]);
    events
}

/// What the record of such a job says besides what was found in it: by whom, with what, when, how it ended.
pub fn record(
    opening: Opening,
    file: CaptureFile,
    outcome: Outcome,
    [opened, sealed]: [&str; 2],
    (journal_lines, journal_head): (u64, String),
) -> Record {
    Record {
        schema: SCHEMA.into(),
        tool: opening.tool,
        job: opening.job,
        practice: opening.practice,
        shop: opening.shop,
        technician: opening.technician,
        opened: opened.into(),
        sealed: sealed.into(),
        simulated_clock: false,
        procedure: opening.procedure,
        procedures: opening.procedures,
        lines: [("vehicle", "grey van"), ("odometer", "81402 km")]
            .map(|(name, told)| (name.to_owned(), told.to_owned()))
            .into(),
        untold: Vec::new(),
        outcome,
        captures: vec![CaptureResult {
            step: "crank".into(),
            at: "2026-03-02T09:30:00Z".into(),
            file,
            analysis: None,
            drawing: None,
            superseded: false,
        }],
        computed: Vec::new(),
        path: Vec::new(),
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
