//! Steps that a lead may waive: the policy says which, and what protects people is never among them.

use crate::procedure::model::{Library, Next, Question, TextForm};
use crate::procedure::waiving::indispensable;
use crate::procedure::work::Condition;
use crate::run::state::State;
use crate::run::walk::{Due, Walk};

/// Who may waive the step that is due, `lead` for any lead, or why nobody may.
///
/// # Errors
/// The reason as a clause.
pub(super) fn who_may(
    walk: &Walk<'_>,
    state: &State,
    due: &Due<'_>,
    library: &Library,
) -> Result<Vec<String>, String> {
    if due.again_for.is_some() {
        return Err("what was made safe is made sure of again, never waived".to_owned());
    }
    let (scope, _) = due.path.rsplit_once('/').unwrap_or(("", &due.path));
    let named = walk.procedure_of(scope).map(|p| p.name.clone());
    let name = format!("{}/{}", named.unwrap_or_default(), due.step.id);
    let needs = |condition: &Condition| {
        let mut steps = library.procedures.values().flat_map(|p| &p.steps);
        steps.any(|step| {
            step.needs.contains(condition)
                || step
                    .work
                    .iter()
                    .any(|work| work.needs().contains(condition))
        })
    };
    if let Some(why) = indispensable(due.step, needs) {
        return Err(why);
    }
    match &due.step.question {
        Question::Note {
            form: TextForm::FiringOrder | TextForm::FiringIntervals,
            ..
        } => return Err("the analysis rests on it".to_owned()),
        Question::Note {
            next: Next::When(_),
            ..
        } => return Err("where the job goes on hangs on its answer".to_owned()),
        _ => {}
    }
    let house = state.opening().map(|opening| &opening.house);
    house
        .and_then(|house| house.waivers.get(&name))
        .cloned()
        .ok_or_else(|| format!("the shop's policy names nobody who may waive {name}"))
}
