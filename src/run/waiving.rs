//! Steps that a lead may waive: the policy says which, and what protects people is never among them.

use crate::procedure::model::Library;
use crate::procedure::waiving::indispensable_in;
use crate::run::state::State;
use crate::run::walk::{Due, Walk, split};

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
    let (scope, _) = split(&due.path);
    let named = walk.procedure_of(scope).map(|p| p.name.clone());
    let name = format!("{}/{}", named.unwrap_or_default(), due.step.id);
    if let Some(why) = indispensable_in(library, due.step) {
        return Err(why);
    }
    let allowed = state.opening().map(|opening| &opening.breaks_and_waivers);
    allowed
        .and_then(|allowed| allowed.waivers.get(&name))
        .cloned()
        .ok_or_else(|| format!("the shop's policy names nobody who may waive {name}"))
}
