//! Where a step's value leads.

use super::Astray;
use crate::procedure::model::{Next, Question, StepIndex};
use crate::run::value::Value;

/// The step that a value leads to.
pub(super) fn leads_to(
    path: &str,
    question: &Question<StepIndex>,
    value: &Value,
) -> Result<StepIndex, Astray> {
    let (tested, next) = match question {
        Question::Confirm { yes, no, .. } => {
            let agreed = *value == Value::Confirmed(true);
            return Ok(if agreed { *yes } else { *no });
        }
        Question::Choose { next, .. }
        | Question::Measure { next, .. }
        | Question::Capture { next, .. }
        | Question::Note { next, .. } => (None, next),
        Question::Compute { tested, next, .. } | Question::Call { tested, next, .. } => {
            (tested.as_deref(), next)
        }
        Question::Outcome { .. } => return Err(Astray::NoStep(path.to_owned())),
    };
    let branches = match next {
        Next::Always(target) => return Ok(*target),
        Next::When(branches) => branches,
    };
    let tested = value.fact(tested);
    tested
        .and_then(|value| value.branch(branches))
        .map(|branch| branch.target)
        .ok_or_else(|| Astray::NoBranch {
            step: path.to_owned(),
            value: tested.map_or_else(|| "nothing".to_owned(), Value::shown),
        })
}
