//! What is said before the first question of an exercise, by what its procedure asks.

use std::path::Path;

use super::CAPTURE;
use crate::practise::looks_at_cylinders;
use crate::procedure::model::{Library, Question, Step, StepIndex};

/// What a procedure asks that an exercise has something for.
#[derive(Clone, Copy)]
pub(super) struct Asked {
    captures: bool,
    cylinders: bool,
}

impl Asked {
    pub(super) fn by(library: &Library) -> Self {
        let steps = || library.procedures.values().flat_map(|p| &p.steps);
        let looks = |step: &Step<StepIndex>| match &step.question {
            Question::Compute { computation, .. } => looks_at_cylinders(*computation),
            _ => false,
        };
        Self {
            captures: steps().any(|step| matches!(step.question, Question::Capture { .. })),
            cylinders: steps().any(looks),
        }
    }
}

/// What is said before the first question.
pub(super) fn told(vehicle: &str, asked: Asked, pages: &Path) -> Vec<String> {
    let mut told = vec![
        "PRACTICE: the vehicle is simulated, and its fault hidden.".to_owned(),
        format!("The vehicle: {vehicle}."),
    ];
    if !asked.cylinders {
        told.push(
            "This procedure looks at no cylinder's compression, and of nothing else does an exercise know the truth: it \
             will not be graded."
                .to_owned(),
        );
    }
    let ready = "Answer as you would at a vehicle that is ready.";
    told.push(if asked.captures {
        format!("{ready} Where a capture file is asked for, type: {CAPTURE}")
    } else {
        format!("{ready} No capture is asked for.")
    });
    let folder = pages.display();
    let mut known = format!(
        "What you would have to know of vehicle and instruments stands in {folder}/vehicle.txt."
    );
    if asked.cylinders {
        known += &format!(
            " Where you measure at a cylinder, read its gauges in {folder}/cylinder-N.txt, and no other's."
        );
    }
    told.push(known);
    told
}
