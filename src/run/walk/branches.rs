//! Where a step's value leads.

use super::Astray;
use super::places::OUTCOME;
use crate::procedure::Way;
use crate::procedure::model::{Next, Question, StepIndex};
use crate::run::value::Value;

/// The way that a value takes, and the step that it leads to.
pub(super) fn leads_to(
    path: &str,
    question: &Question<StepIndex>,
    value: &Value,
) -> Result<(Way, StepIndex), Astray> {
    let (tested, next) = match question {
        Question::Confirm { yes, no, .. } => {
            let agreed = matches!(value, Value::Confirmed(true) | Value::Waived(_));
            return Ok(if agreed {
                (Way::Yes, *yes)
            } else {
                (Way::No, *no)
            });
        }
        Question::Choose { next, .. }
        | Question::Measure { next, .. }
        | Question::Capture { next, .. }
        | Question::Note { next, .. } => (None, next),
        Question::Compute { tested, next, .. } => (tested.as_deref(), next),
        // what a call's branches test where they do not say: which outcome it came to
        Question::Call { tested, next, .. } => (Some(tested.as_deref().unwrap_or(OUTCOME)), next),
        Question::Outcome { .. } => return Err(Astray::NoStep(path.to_owned())),
    };
    let branches = match next {
        Next::Always(target) => return Ok((Way::Only, *target)),
        Next::When(branches) => branches,
    };
    let tested = value.fact(tested);
    tested
        .and_then(|value| value.branch(branches))
        .and_then(|branch| {
            let number = branches.iter().position(|b| std::ptr::eq(b, branch))?;
            Some((Way::Branch(number), branch.target))
        })
        .ok_or_else(|| Astray::NoBranch {
            step: path.to_owned(),
            value: tested.map_or_else(|| "nothing".to_owned(), Value::shown),
        })
}
