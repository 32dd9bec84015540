//! A no where more is off by now than the way that it leads to puts back: to a step that is asked once more after a
//! break, or to one that was gone back to. That way was proved for what was off when the step first came; by now it may
//! have remote start on again before hands go into the bay for a lead. So the work is stopped, as by a person.

use std::collections::BTreeSet;

use crate::procedure::model::Question;
use crate::procedure::reached;
use crate::run::event::Event;
use crate::run::walk::{Astray, Walk, split};

/// The stop that follows a no at that step; none where the procedure's own way puts back all that is off.
///
/// # Errors
/// Where the procedures have no such step.
pub(super) fn stop(walk: &Walk<'_>, path: &str, asked: &str) -> Result<Option<Event>, Astray> {
    let step = walk.step_at(path)?;
    let Question::Confirm { no, .. } = &step.question else {
        return Ok(None);
    };
    let (scope, _) = split(path);
    let procedure = walk.procedure_of(scope)?;
    let reached = reached(procedure, no.0);
    let reached = reached.iter().filter_map(|at| procedure.steps.get(*at));
    let restored: BTreeSet<_> = reached.flat_map(|step| &step.restores).collect();
    let inside = format!("{scope}/");
    let mut off = walk.disabled().filter(|entry| {
        let by = split(&entry.by).0;
        let within = by == scope || scope.is_empty() || by.starts_with(&inside);
        within && entry.by != path
    });
    Ok(off
        .any(|entry| !restored.contains(&entry.item))
        .then(|| Event::Stopped {
            reason: format!("no to {asked:?}"),
        }))
}
