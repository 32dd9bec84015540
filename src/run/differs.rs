//! What two captures differ in, said where the work goes on because they do: the text of the step cannot know it where
//! more than one comparison leads there.

use crate::procedure::computation::Computation;
use crate::procedure::model::Question;
use crate::run::agreement::{AGREEMENT, DIFFER};
use crate::run::facts::WHY;
use crate::run::value::Value;
use crate::run::walk::{Due, Walk};

/// Why the comparison that led to the step that is due found no agreement; none where none did, or where the step says
/// it.
pub(super) fn told(walk: &Walk<'_>, due: &Due<'_>, action: Option<&str>) -> Option<String> {
    let last = walk.past().iter().rfind(|past| !past.superseded)?;
    let Question::Compute { computation, .. } = &walk.step_at(&last.step).ok()?.question else {
        return None;
    };
    let fact = |name| last.value.fact(Some(name)).map(Value::shown);
    let differ = *computation == Computation::Agreement && fact(AGREEMENT)? == DIFFER;
    let why = fact(WHY).filter(|_| differ && due.again_for.is_none())?;
    let is_said = action.is_some_and(|text| text.contains(&why));
    (!is_said).then(|| format!("What differs: {why}"))
}
