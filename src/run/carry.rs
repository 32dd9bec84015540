//! Answers that still count after the person went back and on again. What hung on a changed answer is
//! asked again, everything else is carried over. What an answer hangs on: the way that leads to it, the
//! values that its texts show, the conditions of the vehicle that it established; a reading or capture
//! also on every choice and statement before it, because they say how it was taken.

use crate::procedure::model::{Library, Question, RecordLine, TextForm};
use crate::procedure::work::Work;
use crate::run::event::{Event, Stamped};
use crate::run::next::{Next, from_walk};
use crate::run::screen::{Form, Screen, Was};
use crate::run::state::State;
use crate::run::typed;
use crate::run::value::Value;
use crate::run::voltage;
use crate::run::walk::{Astray, Past, Walk};

/// The event that carries over the answer to the question that is due; none where it must be asked.
pub(super) fn next_carried(library: &Library, state: &State) -> Result<Option<Event>, Astray> {
    // a walk over a long job is not for nothing
    let went_back = |stamped: &Stamped| matches!(stamped.event, Event::Reopened { .. });
    if !state.events().iter().any(went_back) {
        return Ok(None);
    }
    let walk = Walk::through(library, state)?;
    let Next::Ask(screen) = from_walk(library, state, &walk)? else {
        return Ok(None);
    };
    Ok(still_counts(&walk, &screen).map(|past| Event::Carried {
        step: past.step.clone(),
        from: past.said as u64,
    }))
}

fn still_counts<'w>(walk: &'w Walk<'_>, screen: &Screen) -> Option<&'w Past> {
    if screen.again_for.is_some() {
        return None;
    }
    let past = gone_behind(walk, screen)?;
    if !past.reopened && fresh(walk, past) && !hangs_on_a_change(walk, past, screen) {
        Some(past)
    } else {
        None
    }
}

/// The last answer to a question that the person went back behind.
fn gone_behind<'w>(walk: &'w Walk<'_>, screen: &Screen) -> Option<&'w Past> {
    let earlier = walk.past().iter().rev();
    let visits = walk.visits(&screen.step);
    earlier
        .filter(|past| past.asked && past.step == screen.step && past.visit == visits)
        .find(|past| past.superseded)
}

/// Whether the question was answered before the person went back behind it.
pub(super) fn was_answered(walk: &Walk<'_>, screen: &Screen) -> bool {
    gone_behind(walk, screen).is_some()
}

/// What was typed at a question before the person went back to it.
pub(super) fn was(walk: &Walk<'_>, screen: &Screen) -> Option<Was> {
    let past = gone_behind(walk, screen)?;
    let text = match (&screen.form, &past.value) {
        (Form::Number(_), Value::Number(number)) => number.to_string(),
        (Form::Text(_), Value::Text(text)) if !text.is_empty() => text.clone(),
        _ => return None,
    };
    let keeps = screen.hazards.is_empty()
        && screen.again_for.is_none()
        && !hangs_on_a_change(walk, past, screen);
    Some(Was { text, keeps })
}

/// Whether it is the last word on its question: nobody went back to change it itself.
fn fresh(walk: &Walk<'_>, past: &Past) -> bool {
    let again = |other: &Past| other.line > past.line && other.step == past.step;
    walk.past()
        .iter()
        .all(|other| !again(other) || other.superseded)
}

fn hangs_on_a_change(walk: &Walk<'_>, past: &Past, screen: &Screen) -> bool {
    let shown = &past.shown;
    let same_texts = shown.hazards == screen.hazards
        && shown.action == screen.action
        && shown.asked == screen.asked;
    let Ok(step) = walk.step_at(&past.step) else {
        return true;
    };
    let spoken_against = voltage::spoken_against(walk, &past.step);
    if !matches!(spoken_against, Ok(None)) {
        return true; // the vehicle may have been described otherwise
    }
    if !same_texts || walk.lost_since(past.line, &step.establishes) {
        return true;
    }
    let changes = changes(walk, past);
    let steered = changes.iter().any(|change| change.steers);
    let worked = changes.iter().any(|change| change.works);
    match (&screen.form, &past.value) {
        (Form::Confirm, Value::Confirmed(true)) | (Form::Choose(_), Value::Chosen { .. }) => worked,
        (Form::Number(_), Value::Number(_)) | (Form::Capture(_), Value::Capture(_)) => {
            steered || worked
        }
        (Form::Text(form), Value::Text(text)) => {
            let of_engine = matches!(form, TextForm::FiringOrder | TextForm::FiringIntervals);
            of_engine && changes.iter().any(|change| change.engine)
                || typed::text(text, *form, walk.lines()).is_err()
        }
        _ => true, // a no, a waiver: said on the spot, for that spot
    }
}

/// What an answer that changed was.
struct Change {
    /// A choice, statement or capture: it says how things are done.
    steers: bool,
    /// Work on the vehicle.
    works: bool,
    /// The engine's number of cylinders or firing order.
    engine: bool,
}

/// Answers that differ between the way that led to a past answer and the way that was gone now.
fn changes(walk: &Walk<'_>, past: &Past) -> Vec<Change> {
    let then = |other: &&Past| {
        other.asked && other.line < past.line && other.superseded_at.is_none_or(|at| at > past.line)
    };
    let then: Vec<&Past> = walk.past().iter().filter(then).collect();
    let now = |other: &&Past| other.asked && !other.superseded;
    let now: Vec<&Past> = walk.past().iter().filter(now).collect();
    let only_in = |some: &[&Past], others: &[&Past]| -> Vec<Change> {
        let alike = |one: &Past, other: &Past| {
            one.step == other.step && one.value == other.value && one.visit == other.visit
        };
        let differs = some
            .iter()
            .filter(|one| !others.iter().any(|other| alike(one, other)));
        differs.map(|one| change(walk, one)).collect()
    };
    let mut all = only_in(&then, &now);
    all.extend(only_in(&now, &then));
    all
}

fn change(walk: &Walk<'_>, past: &Past) -> Change {
    let Ok(step) = walk.step_at(&past.step) else {
        return Change {
            steers: true,
            works: true,
            engine: true,
        };
    };
    Change {
        steers: !matches!(
            step.question,
            Question::Measure { .. } | Question::Note { .. }
        ),
        works: step.work.iter().any(|work| *work != Work::None) || !step.disables.is_empty(),
        engine: matches!(
            step.fills,
            Some(RecordLine::Cylinders | RecordLine::FiringOrder)
        ),
    }
}
