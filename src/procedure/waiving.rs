//! Which steps a lead may waive at all. What protects people, and what others rest on, is waived by
//! nobody, whatever a policy says.

use crate::procedure::model::{
    Hazard, Library, Next, Question, SignalWord, Step, StepIndex, TextForm,
};
use crate::procedure::rules::Rules;
use crate::procedure::work::{Condition, Work};
use crate::text::one_of;

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
    let hurts = |hazard: &Hazard| hazard.word != SignalWord::Notice;
    if step.hazards.iter().any(hurts) {
        return Some("its hazard has to be read and answered".to_owned());
    }
    match &step.question {
        Question::Note {
            form: TextForm::FiringOrder | TextForm::FiringIntervals,
            ..
        } => Some("the analysis rests on it".to_owned()),
        Question::Confirm { .. }
        | Question::Note {
            next: Next::Always(_),
            ..
        } => None,
        _ => Some("where the job goes on hangs on its answer".to_owned()),
    }
}

/// The same within proved procedures, in whose needs a shop's own already stand.
pub(crate) fn indispensable_in(library: &Library, step: &Step<StepIndex>) -> Option<String> {
    indispensable(step, |condition| {
        let mut steps = library.procedures.values().flat_map(|p| &p.steps);
        steps.any(|other| {
            let mut kinds = other.work.iter();
            other.needs.contains(condition) || kinds.any(|work| work.needs().contains(condition))
        })
    })
}

/// Who may waive a step by a shop's rules, in words; none where they name nobody.
pub(crate) fn who_by(rules: &Rules, procedure: &str, step: &str) -> Option<String> {
    let mut all = rules.waivers.iter();
    let found = all.find(|rule| rule.procedure == procedure && rule.step == step)?;
    let who = found.who.iter().map(|who| match who.name.as_str() {
        "lead" => "any lead",
        name => name,
    });
    Some(one_of(&who.collect::<Vec<_>>()))
}
