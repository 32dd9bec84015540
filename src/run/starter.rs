//! Starter duty in a job: what has been cranked, captures or not, and the rest that is due before the next
//! crank. Nobody times a crank, so each counts as the longest that it may be.

use std::collections::BTreeSet;

use chrono::DateTime;
use rust_decimal::prelude::ToPrimitive;

use crate::engine::starter_duty::{Crank, StarterDuty};
use crate::followup::limits::ShopLimits;
use crate::procedure::model::{Library, Step, StepIndex};
use crate::procedure::work::Work;
use crate::run::event::{Answer, Event, Stamped};
use crate::run::state::State;
use crate::run::value::Value;
use crate::run::walk::{Astray, Past, RESTED, Walk, looks_around, split, turns_starter};

/// Longest crank that proves that the fuel is off, seconds, as the kind of work has it.
const PROVING_S: f64 = 2.0;

/// What a plan for the scope says of a crank and of the recording's length.
const CRANK: &str = "crank";
const RECORD: &str = "record";

/// Rest that the starter is due.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RestDue {
    /// Whole seconds of it.
    pub seconds: u32,
    /// Seconds that are counted down for it: fewer in an exercise, where no starter burns.
    pub lasts: u32,
    /// Whole seconds cranked since its last whole rest.
    pub turned: u32,
    /// Whole seconds that the next crank may take.
    pub next: u32,
    /// Cranks of the job so far.
    pub cranks: usize,
    /// The shop's limit.
    pub limit: StarterDuty,
}

/// How a rest ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Rested {
    /// It was kept.
    Whole,
    /// The person cut it short.
    Cut {
        /// Seconds that were left.
        left_s: u32,
        /// Why.
        reason: String,
    },
    /// The person goes back to the question before instead: to another file of the crank that was, for one.
    Back,
}

impl RestDue {
    /// What the person is told.
    #[must_use]
    pub fn told(&self) -> String {
        let exercise = match self.lasts {
            lasts if lasts < self.seconds => format!(
                " In this exercise {lasts} s stand for them; a rest that is cut short is told with the grade."
            ),
            _ => String::new(),
        };
        format!(
            "The starter has turned {} s, and the next crank may take {} s. That is more than the shop's limit of {} s \
             in all, so it rests {} s first.{exercise}",
            self.turned, self.next, self.limit.crank_seconds, self.seconds
        )
    }

    /// What the person is told of a capture that was not taken.
    #[must_use]
    pub fn counted(&self) -> String {
        format!(
            "The capture was not taken, for the reason below. Its crank counts for the starter all the same, which \
             rests {} s before it turns again. The same capture can be handed over again at once, once its set-up is \
             mended.",
            self.seconds
        )
    }

    /// What the journal keeps, and the person is told, where another crank came before the rest was over.
    #[must_use]
    pub fn not_kept(&self) -> String {
        format!(
            "Starter's rest not kept: another capture was handed over with {} s of it left, after {} s of cranking.",
            self.seconds, self.turned
        )
    }

    /// What the journal keeps of a rest that was cut short.
    #[must_use]
    pub fn cut_short(&self, left_s: u32, reason: &str) -> String {
        format!(
            "Starter's rest cut short: {left_s} s were left of {} s after {} s of cranking. Reason: {reason}",
            self.seconds, self.turned
        )
    }
}

/// The rest that is due before the step of that path is asked; none where it turns no starter.
///
/// # Errors
/// Where the events do not fit the procedures.
pub fn rest_due(
    library: &Library,
    state: &State,
    path: &str,
    now: &str,
) -> Result<Option<RestDue>, Astray> {
    let limit = state
        .opening()
        .map_or_else(ShopLimits::default, |opening| opening.limits)
        .starter;
    let walk = Walk::through(library, state)?;
    let Ok(step) = walk.step_at(path) else {
        return Ok(None); // putting back
    };
    if walk.same_crank(path) {
        return Ok(None); // nothing turns
    }
    let asks = step.establishes.iter().any(|c| c.0 == RESTED);
    let turning = turns_next(&walk, path)?;
    let longest = match turning.and_then(|step| seconds(step, limit)) {
        Some(longest) => longest,
        None if asks => f64::from(limit.crank_seconds),
        None => return Ok(None),
    };
    let next = planned(&walk, path).map_or(longest, |planned| planned.min(longest));
    let cranks = cranks(library, state, &walk, limit);
    let due = limit.rest_due(&cranks, at(now), next).ceil();
    Ok((due > 0.0).then(|| RestDue {
        seconds: due as u32,
        lasts: due as u32,
        turned: limit.turned(&cranks).round() as u32,
        next: next.ceil() as u32,
        cranks: cranks.len(),
        limit,
    }))
}

/// The step that turns the starter, where it is the one of that path or comes right after it: a look around that is
/// followed by a rest says nothing when the starter turns, so the rest comes before it.
fn turns_next<'l>(walk: &Walk<'l>, path: &str) -> Result<Option<&'l Step<StepIndex>>, Astray> {
    let due = walk.due()?;
    if due.path != path {
        return Ok(Some(walk.step_at(path)?)); // another one is asked about
    }
    if let Some(by) = due.needed_by.filter(|_| looks_around(due.step)) {
        return Ok(Some(walk.step_at(&by)?).filter(|step| turns_starter(step)));
    }
    walk.after_looking(&due.path)
}

/// How long to crank, where a plan was made for it: the screen that asks for the capture says it.
#[must_use]
pub fn how_long(library: &Library, state: &State, walk: &Walk<'_>, path: &str) -> Option<String> {
    let opening = state.opening();
    let limit = opening.map_or_else(ShopLimits::default, |opening| opening.limits);
    let limit = limit.starter;
    let planned = planned(walk, path)?;
    let cranks = cranks(library, state, walk, limit);
    let most = limit.may_turn(&cranks, state.last_at().map_or(0.0, at));
    Some(if most > planned {
        format!("Crank {planned:.0} s (at most {most:.0} s).")
    } else {
        format!("Crank {planned:.0} s, not longer.")
    })
}

/// Seconds that the plan for the scope says for a crank at that step's procedure; none where there is no plan.
fn planned(walk: &Walk<'_>, path: &str) -> Option<f64> {
    let (scope, _) = split(path);
    let counts = walk.past().iter().rev();
    let mut counts =
        counts.filter(|past| !past.asked && !past.superseded && split(&past.step).0 == scope);
    let fact = |name: &str, past: &Past| past.value.fact(Some(name)).and_then(Value::number);
    let plan = counts.find(|past| fact(RECORD, past).is_some() && fact(CRANK, past).is_some())?;
    fact(CRANK, plan)?.to_f64()
}

/// Cranks of the job, those gone back behind as well: the starter has turned for all of them. A capture is one,
/// taken or not, however often it is handed over; its own length says little, because a recording begins before
/// the crank and ends after it.
fn cranks(library: &Library, state: &State, walk: &Walk<'_>, limit: StarterDuty) -> Vec<Crank> {
    let asked = walk
        .past()
        .iter()
        .filter(|past| past.asked && !past.same_crank);
    let answered = asked.filter_map(|past| {
        let turn = walk.trail().iter().find(|turn| turn.step == past.step)?;
        let procedure = library.procedures.get(&turn.procedure)?;
        let seconds = seconds(procedure.steps.get(turn.at.0)?, limit)?;
        let line = past.line.checked_sub(1)?;
        Some((line, seconds))
    });
    let events = state.events().iter().enumerate();
    let others = events.filter_map(|(line, stamped)| {
        let cranked = matches!(stamped.event, Event::Cranked { .. });
        cranked.then_some((line, f64::from(limit.crank_seconds)))
    });
    let mut lines: Vec<(usize, f64)> = answered.chain(others).collect();
    lines.sort_by_key(|(line, _)| *line);
    let mut known = BTreeSet::new();
    let cranks = lines.into_iter().filter_map(|(line, seconds)| {
        let stamped = state.events().get(line)?;
        let new = hash(&stamped.event).is_none_or(|hash| known.insert(hash));
        let end_s = at(&stamped.at);
        new.then_some(Crank { end_s, seconds })
    });
    let mut cranks: Vec<Crank> = cranks.collect();
    cranks.sort_by(|one, other| one.end_s.total_cmp(&other.end_s));
    cranks
}

/// Whether a capture of that hash was handed over before, taken or not.
#[must_use]
pub fn is_known(state: &State, sha256: &str) -> bool {
    let mut events = state.events().iter();
    events.any(|stamped| hash(&stamped.event) == Some(sha256))
}

/// When a capture of that hash was taken as an answer that counts.
#[must_use]
pub fn taken_at<'s>(state: &'s State, walk: &Walk<'_>, sha256: &str) -> Option<&'s str> {
    let counts = walk.past().iter().filter(|past| !past.superseded);
    let mut counts = counts.filter_map(|past| state.events().get(past.said.checked_sub(1)?));
    let taken = counts.find(|stamped| hash(&stamped.event) == Some(sha256));
    taken.map(|stamped| stamped.at.as_str())
}

/// When a capture of that hash was refused before.
#[must_use]
pub fn refused_at<'s>(state: &'s State, sha256: &str) -> Option<&'s str> {
    let refused = |stamped: &&Stamped| {
        matches!(stamped.event, Event::Cranked { .. }) && hash(&stamped.event) == Some(sha256)
    };
    let stamped = state.events().iter().find(refused);
    stamped.map(|stamped| stamped.at.as_str())
}

/// Hash of the capture that an event is about.
fn hash(event: &Event) -> Option<&str> {
    match event {
        Event::Cranked { sha256, .. } => sha256.as_deref(),
        Event::Answered {
            answer: Answer::Capture(file),
            ..
        } => Some(&file.sha256),
        _ => None,
    }
}

/// Seconds that a step turns the starter at most; none where it does not.
fn seconds(step: &Step<StepIndex>, limit: StarterDuty) -> Option<f64> {
    let does = |work: Work| step.work.contains(&work);
    if does(Work::Crank) || does(Work::CrankOpenCylinder) {
        return Some(f64::from(limit.crank_seconds));
    }
    does(Work::ProvingCrank).then_some(PROVING_S)
}

/// Seconds of a time in the journal.
fn at(time: &str) -> f64 {
    DateTime::parse_from_rfc3339(time).map_or(0.0, |time| time.timestamp() as f64)
}
