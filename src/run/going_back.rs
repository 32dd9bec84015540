//! Going back: to the question before, or to one by its number.

use crate::procedure::model::{CaptureKind, Question, Step, StepIndex};
use crate::run::event::{Event, Stamped};
use crate::run::refusal::Refusal;
use crate::run::state::State;
use crate::run::walk::{Walk, turns_starter};

/// The question before: the last one that a person answered and did not go back behind.
pub(super) fn before(walk: &Walk<'_>) -> Result<String, Refusal> {
    if walk.stopped().is_some() {
        return walk.stopped_at()?.ok_or(Refusal::Stopped);
    }
    walk.past()
        .iter()
        .rev()
        .find(|past| past.asked && !past.superseded)
        .map(|past| past.step.clone())
        .ok_or(Refusal::NothingBefore)
}

/// The event of going back to that step.
pub(super) fn reopened(walk: &Walk<'_>, state: &State, step: String) -> Event {
    Event::Reopened {
        same_crank: no_crank_since(walk, state, &step),
        step,
    }
}

/// Whether going back to that step needs no crank: a capture answered it, and the starter has not turned since.
fn no_crank_since(walk: &Walk<'_>, state: &State, path: &str) -> bool {
    let is_crank = |step: &Step<StepIndex>| {
        let kind = match step.question {
            Question::Capture { kind, .. } => Some(kind),
            _ => None,
        };
        kind == Some(CaptureKind::Cranking) && turns_starter(step)
    };
    let mut past = walk.past().iter().rev();
    let answered = past.find(|past| past.step == path && !past.superseded);
    let since = answered.and_then(|past| state.events().get(past.line..));
    walk.stopped().is_none()
        && walk.step_at(path).is_ok_and(is_crank)
        && since.is_some_and(|since| {
            let turned = |stamped: &Stamped| matches!(stamped.event, Event::Cranked { .. });
            !since.iter().any(turned)
        })
}

/// The question of that number, of those that a person answered and did not go back behind.
pub(super) fn numbered(walk: &Walk<'_>, number: usize) -> Result<String, Refusal> {
    if walk.stopped().is_some() {
        return Err(Refusal::Stopped);
    }
    let asked: Vec<&str> = walk
        .past()
        .iter()
        .filter(|past| past.asked && !past.superseded)
        .map(|past| past.step.as_str())
        .collect();
    let last = asked.len();
    let wanted = number.checked_sub(1).and_then(|at| asked.get(at));
    let wanted = wanted.ok_or(Refusal::NoSuchStep { number, last })?;
    match asked.iter().rposition(|step| step == wanted) {
        Some(at) if at + 1 > number => Err(Refusal::AskedAgain {
            number,
            again: at + 1,
        }),
        _ => Ok((*wanted).to_owned()),
    }
}
