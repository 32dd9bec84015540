//! Which steps a lead may waive at all. What protects people, and what others rest on, is waived by
//! nobody, whatever a policy says.

use crate::procedure::model::{Question, Step, StepIndex};
use crate::procedure::work::{Condition, Work};

/// Why a step can be waived by nobody. `is_needed` says whether any work needs a condition.
pub(crate) fn indispensable(
    step: &Step<StepIndex>,
    is_needed: impl Fn(&Condition) -> bool,
) -> Option<String> {
    if let Some(condition) = step.establishes.iter().find(|c| is_needed(c)) {
        return Some(format!("it establishes `{condition}`, which work needs"));
    }
    if !step.restores.is_empty() {
        return Some("it puts back what was disabled".to_owned());
    }
    if !step.disables.is_empty() || step.work.iter().any(|work| *work != Work::None) {
        return Some("it is work, not a question".to_owned());
    }
    match step.question {
        Question::Confirm { .. } | Question::Note { .. } => None,
        _ => Some("where the job goes on hangs on its answer".to_owned()),
    }
}
