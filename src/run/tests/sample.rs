//! A small job for the tests: an outer procedure that calls another, built by hand.

use std::collections::BTreeMap;

use crate::cranking::answer::{Analysis, Drawing};
use crate::engine::Engine;
use crate::procedure::computation::Computation;
use crate::procedure::model::*;
use crate::procedure::work::{Condition, Work};
use crate::quantity::Unit;
use crate::run::computing::Computing;
use crate::run::event::{CaptureFile, Event, Opening, Stamped};
use crate::run::facts::tests::analysis;
use crate::run::state::State;

pub(crate) fn condition(name: &str) -> Condition {
    Condition(name.to_owned())
}

pub(crate) fn conditions(names: &[&str]) -> Vec<Condition> {
    names.iter().map(|name| condition(name)).collect()
}

pub(crate) fn plain(id: &str, question: Question<StepIndex>) -> Step<StepIndex> {
    Step {
        id: id.to_owned(),
        phase: "phase".to_owned(),
        hazards: Vec::new(),
        action: None,
        question,
        work: vec![Work::None],
        needs: Vec::new(),
        establishes: Vec::new(),
        revokes: Vec::new(),
        disables: Vec::new(),
        restores: Vec::new(),
        fills: None,
        at_most: None,
        why: None,
        good: None,
        mistakes: None,
        position: Position::default(),
    }
}

pub(crate) fn confirm(statement: &str, yes: usize, no: usize) -> Question<StepIndex> {
    Question::Confirm {
        statement: statement.to_owned(),
        yes: StepIndex(yes),
        no: StepIndex(no),
    }
}

fn measure(
    ask: &str,
    unit: Unit,
    resolution: &str,
    greatest: i64,
    on: usize,
) -> Question<StepIndex> {
    Question::Measure {
        ask: ask.to_owned(),
        form: NumberForm {
            unit,
            meant: unit,
            resolution: resolution.parse().unwrap(),
            possible: Interval {
                least: 0.into(),
                greatest: greatest.into(),
            },
            expected: None,
        },
        next: Next::Always(StepIndex(on)),
    }
}

pub(crate) fn outcome(kind: OutcomeKind, finding: &str) -> Question<StepIndex> {
    Question::Outcome {
        kind,
        finding: finding.to_owned(),
        advice: None,
    }
}

fn when(branches: &[(&str, usize)]) -> Next<StepIndex> {
    Next::When(
        branches
            .iter()
            .map(|(written, target)| Branch {
                written: (*written).to_owned(),
                tests: crate::procedure::unary::parse(written).unwrap(),
                target: StepIndex(*target),
            })
            .collect(),
    )
}

fn path(text: &str) -> ValuePath {
    let (of, fact) = match text.split_once('.') {
        Some((of, fact)) => (of, Some(fact.to_owned())),
        None => (text, None),
    };
    ValuePath {
        of: of.to_owned(),
        fact,
    }
}

fn with(inputs: &[(&str, &str)]) -> BTreeMap<String, ValuePath> {
    let input = |(name, from): &(&str, &str)| ((*name).to_owned(), path(from));
    inputs.iter().map(input).collect()
}

fn procedure(name: &str, steps: Vec<Step<StepIndex>>) -> Procedure<StepIndex> {
    Procedure {
        name: name.to_owned(),
        revision: 1,
        title: format!("Title of {name}"),
        purpose: String::new(),
        takes: Vec::new(),
        gives: BTreeMap::new(),
        steps,
        source: Source {
            file: format!("{name}.yaml"),
            text: String::new(),
        },
    }
}

fn choice(name: &str, label: &str) -> Choice {
    Choice {
        name: name.to_owned(),
        label: label.to_owned(),
    }
}

/// 0 drive, 1 hold, 2 cylinders, 3 order, 4 fuel, 5 crank, 6 judge, 7 test, 8 refit, 9 done,
/// 10 turned-away, 11 not-held.
fn outer() -> Procedure<StepIndex> {
    let mut steps = vec![
        plain("drive", confirm("It has an engine only.", 1, 10)),
        plain("hold", confirm("The vehicle cannot move.", 2, 11)),
        plain(
            "cylinders",
            Question::Choose {
                ask: "Cylinders?".to_owned(),
                choices: vec![choice("4", "Four"), choice("6", "Six")],
                next: Next::Always(StepIndex(3)),
            },
        ),
        plain(
            "order",
            Question::Note {
                ask: "Firing order?".to_owned(),
                form: TextForm::FiringOrder,
                next: Next::Always(StepIndex(4)),
            },
        ),
        plain("fuel", confirm("The relay is out.", 5, 11)),
        plain(
            "crank",
            Question::Capture {
                ask: "The capture?".to_owned(),
                kind: CaptureKind::Cranking,
                next: Next::Always(StepIndex(6)),
            },
        ),
        plain(
            "judge",
            Question::Compute {
                computation: Computation::RelativeCompression,
                with: with(&[("capture", "crank")]),
                tested: Some("verdict".to_owned()),
                next: when(&[("low", 7), ("otherwise", 8)]),
            },
        ),
        plain(
            "test",
            Question::Call {
                procedure: "leak".to_owned(),
                with: with(&[("cylinder", "judge.lowest cylinder")]),
                tested: Some("outcome".to_owned()),
                next: when(&[("tight", 8), ("leaks", 8)]),
            },
        ),
        plain("refit", confirm("The relay is back.", 9, 8)),
        plain(
            "done",
            outcome(
                OutcomeKind::FaultFound,
                "Cylinder {judge.lowest cylinder} loses {test.loss}; held: {hold}, {cylinders}.",
            ),
        ),
        plain("turned-away", outcome(OutcomeKind::NotDone, "Turned away.")),
        plain("not-held", outcome(OutcomeKind::NotDone, "Not made safe.")),
    ];
    protect(&mut steps);
    procedure("look", steps)
}

fn protect(steps: &mut [Step<StepIndex>]) {
    steps[0].establishes = conditions(&["drive checked"]);
    steps[1].establishes = conditions(&["vehicle held"]);
    steps[2].fills = Some(RecordLine::Cylinders);
    steps[3].fills = Some(RecordLine::FiringOrder);
    steps[4].establishes = conditions(&["fuel off"]);
    steps[4].disables = vec![Disabled {
        item: condition("fuel relay"),
        restore: "Refit the fuel relay.".to_owned(),
    }];
    steps[5].needs = conditions(&["drive checked", "vehicle held", "fuel off"]);
    steps[8].restores = conditions(&["fuel relay"]);
    steps[8].revokes = conditions(&["fuel off"]);
    steps[8].at_most = Some(AtMost {
        times: 3,
        then: StepIndex(9),
    });
}

/// 0 supply, 1 reading, 2 loss, 3 tight, 4 leaks.
fn inner() -> Procedure<StepIndex> {
    let mut steps = vec![
        plain(
            "supply",
            measure("Supply of cylinder {cylinder}?", Unit::Psi, "1", 150, 1),
        ),
        plain("reading", measure("Reading?", Unit::Psi, "1", 150, 2)),
        plain(
            "loss",
            Question::Compute {
                computation: Computation::LeakDown,
                with: with(&[
                    ("cylinder", "cylinder"),
                    ("supply", "supply"),
                    ("reading", "reading"),
                    ("bore", "bore"),
                ]),
                tested: Some("band".to_owned()),
                next: when(&[("good", 3), ("otherwise", 4)]),
            },
        ),
        plain("tight", outcome(OutcomeKind::NothingFound, "It holds.")),
        plain(
            "leaks",
            outcome(OutcomeKind::FaultFound, "It loses {loss.loss}."),
        ),
        plain("bore", measure("Bore?", Unit::Millimetre, "0.001", 5, 2)),
    ];
    steps[0].needs = conditions(&["vehicle held"]);
    if let Question::Measure { next, .. } = &mut steps[1].question {
        *next = Next::Always(StepIndex(5));
    }
    let mut procedure = procedure("leak", steps);
    procedure.takes = vec!["cylinder".to_owned()];
    procedure.gives = with(&[("loss", "loss.loss")]);
    procedure
}

pub(crate) fn library() -> Library {
    let procedures = [outer(), inner()].map(|procedure| (procedure.name.clone(), procedure));
    Library {
        procedures: procedures.into(),
    }
}

pub(crate) fn opened() -> State {
    let opening = Opening {
        job: "0001".to_owned(),
        shop: "Cinder Lane Workshop".to_owned(),
        technician: "mira@cinderlane.example".to_owned(),
        practice: Vec::new(),
        simulated_clock: false,
        procedure: "look".to_owned(),
        procedures: Vec::new(),
        low_percent: 85.0,
        needs: Default::default(),
        limits: Default::default(),
        breaks_and_waivers: Default::default(),
        tool: "evenfire test".to_owned(),
    };
    State::fold(&[stamped(Event::Opened(opening))])
}

pub(crate) fn stamped(event: Event) -> Stamped {
    Stamped {
        at: "2026-03-02T08:00:00Z".to_owned(),
        event,
    }
}

pub(crate) fn capture(name: &str) -> CaptureFile {
    CaptureFile {
        file: name.to_owned(),
        sha256: "0".repeat(64),
        bytes: 1,
        setup: "captures/1.setup.yaml".to_owned(),
        setup_sha256: "0".repeat(64),
        original: "run.csv".to_owned(),
        simulated: false,
        clamp: None,
        understood: Vec::new(),
        columns_told: false,
    }
}

/// Finds cylinder 3 low in every capture but one called "even", and none readable called "broken".
pub(crate) struct Bench;

impl Computing for Bench {
    fn relative_compression(
        &mut self,
        capture: &CaptureFile,
        engine: &Engine,
        low_percent: f64,
    ) -> Result<(Analysis, Option<Drawing>), String> {
        let mut percents = vec![100.0; engine.cylinders()];
        match capture.file.as_str() {
            "broken" => return Err("broken:3: text where a number belongs".to_owned()),
            "even" => {}
            _ => percents[2] = 62.0,
        }
        Ok((analysis(&percents, low_percent), None))
    }
}
