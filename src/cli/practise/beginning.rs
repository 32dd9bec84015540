//! What is said before the first question of an exercise, by what its procedure asks.

use std::path::Path;

use crate::cli::one_job::which_job::from_here;
use crate::practise::looks_at_cylinders;
use crate::procedure::model::{Library, Question, Step, StepIndex};

/// What a procedure asks that an exercise has something for.
#[derive(Clone, Copy)]
pub(super) struct Asked {
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
            cylinders: steps().any(looks),
        }
    }
}

/// What is said before the first question.
pub(super) fn told(vehicle: &str, asked: Asked, pages: &Path) -> Vec<String> {
    let mut told = vec![
        "PRACTICE: the vehicle is simulated, and its fault hidden.".to_owned(),
        format!("{vehicle}."),
    ];
    if !asked.cylinders {
        told.push(
            "This procedure looks at no cylinder's compression, and of nothing else does an exercise know the truth: it \
             will not be graded."
                .to_owned(),
        );
    }
    let folder = from_here(pages);
    let mut known =
        format!("Look up what is asked in {folder}: vehicle.txt for vehicle and instruments");
    if asked.cylinders {
        known += ", cylinder-N.txt only where you measure at that cylinder";
    }
    told.push(format!("{known}."));
    told
}
