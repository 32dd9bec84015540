//! What is said where a step stands in for one that was asked as often as it may be: which one that was, and what its
//! captures came to.

use crate::procedure::Way;
use crate::run::facts::{RESULT, WHY};
use crate::run::value::Value;
use crate::run::walk::{Due, Turn, Walk, split};
use crate::text::counted;

/// Which tries are used up, where the step that is due was come to because of that.
pub(super) fn told(walk: &Walk<'_>, due: &Due<'_>) -> Option<String> {
    let trail = walk.trail();
    let come_to = |turn: &Turn| turn.way.is_none() && turn.step == due.path;
    let at = trail.iter().rposition(come_to)?;
    let passed = &trail[at.checked_sub(1)?];
    if passed.way != Some(Way::PassedOver) || due.again_for.is_some() {
        return None;
    }
    let step = walk.step_at(&passed.step).ok()?;
    let times = step.at_most.as_ref()?.times;
    let asked = walk.asked_at(&passed.step).ok()?;
    if walk.asked_at(&due.path).is_ok_and(|here| here == asked) {
        return None; // it is asked once more, and the step itself says why
    }
    let times = counted(times, "time");
    let mut text = format!("This came up {times}, as often as the sheet lets it: {asked:?}");
    for (number, why) in (1..).zip(captures(walk, split(&due.path).0)) {
        text += &format!("\nCapture {number}: {why}");
    }
    Some(text)
}

/// What each capture came to that a procedure had judged, in order.
fn captures(walk: &Walk<'_>, scope: &str) -> Vec<String> {
    let counts = walk.past().iter().filter(|past| !past.superseded);
    let inside = counts.filter(|past| !past.asked && split(&past.step).0 == scope);
    let judged = inside.filter_map(|past| {
        past.value.fact(Some(RESULT))?;
        past.value.fact(Some(WHY)).map(Value::shown)
    });
    judged.collect()
}
