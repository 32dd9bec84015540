//! Starter duty in a job: what has been cranked, captures or not, and the rest that is due before the next
//! crank. Nobody times a crank, so each counts as the longest that it may be.

use std::collections::BTreeSet;

use chrono::DateTime;
use rust_decimal::prelude::ToPrimitive;

use crate::engine::starter_duty::{Crank, StarterDuty};
use crate::followup::limits::ShopLimits;
use crate::procedure::model::{Library, Question, Step, StepIndex};
use crate::procedure::work::{PROVING_S, Work};
use crate::run::event::{Answer, Event, Stamped};
use crate::run::state::State;
use crate::run::value::Value;
use crate::run::walk::{Astray, Past, RESTED, Walk, looks_around, split, turns_starter};
use crate::text::list;

/// From how many seconds on they are told as minutes.
const LONG_S: f64 = 60.0;

/// Minutes from which nobody counts how many: the starter is cold.
const LONG_MIN: f64 = 600.0;

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
    /// Of which cranks these are made: how long each, for what, and how long ago.
    pub made_of: Vec<String>,
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
            "The starter has turned {} s since it last rested: {}. Nobody times a crank, so a proof counts as \
             2 s and any other as the longest that the shop allows, also where the screen said to crank shorter. The next one may take {} s. That is more \
             than the shop's limit of {} s in all, so it rests {} s first.{exercise}",
            self.turned,
            list(&self.made_of),
            self.next,
            self.limit.crank_seconds,
            self.seconds
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

    /// What the person is told where the step is asked that makes sure of it.
    #[must_use]
    pub fn left(&self, is_cut: bool) -> String {
        let cut = match is_cut {
            true => " It was cut short; that and the reason stand in the record.",
            false => "",
        };
        format!(
            "The starter's rest is not over: {} s of {} s are left.{cut}",
            self.seconds, self.limit.rest_seconds
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
    let (cranks, told) = cranks(library, state, &walk, limit);
    let now = at(now);
    let due = limit.rest_due(&cranks, now, next).ceil();
    Ok((due > 0.0).then(|| RestDue {
        seconds: due as u32,
        lasts: due as u32,
        turned: limit.turned(&cranks).round() as u32,
        made_of: made_of(&cranks, &told, now, limit),
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
    let (cranks, _) = cranks(library, state, walk, limit);
    let most = limit.may_turn(&cranks, state.last_at().map_or(0.0, at));
    Some(if most > planned {
        format!("Crank {planned:.0} s; the shop's limit leaves the starter {most:.0} s.")
    } else {
        format!("Crank {planned:.0} s, not longer: that is the shop's limit for the starter.")
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
/// the crank and ends after it. With each, what it was for.
fn cranks(
    library: &Library,
    state: &State,
    walk: &Walk<'_>,
    limit: StarterDuty,
) -> (Vec<Crank>, Vec<&'static str>) {
    let asked = walk
        .past()
        .iter()
        .filter(|past| past.asked && !past.same_crank);
    let answered = asked.filter_map(|past| {
        let turn = walk.trail().iter().find(|turn| turn.step == past.step)?;
        let procedure = library.procedures.get(&turn.procedure)?;
        let step = procedure.steps.get(turn.at.0)?;
        let seconds = seconds(step, limit)?;
        let line = past.line.checked_sub(1)?;
        Some((line, seconds, what_for(step)))
    });
    let events = state.events().iter().enumerate();
    let others = events.filter_map(|(line, stamped)| {
        let Event::Cranked { sha256, .. } = &stamped.event else {
            return None;
        };
        let what = match sha256 {
            Some(_) => "for a capture that was not taken",
            None => "without a capture",
        };
        Some((line, f64::from(limit.crank_seconds), what))
    });
    let mut lines: Vec<(usize, f64, &str)> = answered.chain(others).collect();
    lines.sort_by_key(|(line, _, _)| *line);
    let mut known = BTreeSet::new();
    let cranks = lines.into_iter().filter_map(|(line, seconds, what)| {
        let stamped = state.events().get(line)?;
        let new = hash(&stamped.event).is_none_or(|hash| known.insert(hash));
        let end_s = at(&stamped.at);
        new.then_some((Crank { end_s, seconds }, what))
    });
    let mut cranks: Vec<(Crank, &str)> = cranks.collect();
    cranks.sort_by(|(one, _), (other, _)| one.end_s.total_cmp(&other.end_s));
    cranks.into_iter().unzip()
}

/// What a step turns the starter for, in words.
fn what_for(step: &Step<StepIndex>) -> &'static str {
    match step.question {
        _ if step.work.contains(&Work::ProvingCrank) => "to prove that the fuel is off",
        Question::Capture { .. } => "for a capture",
        _ => "for a reading",
    }
}

/// Each crank since the starter's last whole rest.
fn made_of(cranks: &[Crank], what_for: &[&str], now: f64, limit: StarterDuty) -> Vec<String> {
    let since = cranks.iter().zip(what_for).skip(limit.last_rest(cranks));
    let told = since.map(|(crank, what)| {
        let ago = ago(now - crank.end_s);
        format!("{:.0} s {what} ({ago})", crank.seconds)
    });
    told.collect()
}

/// A time that has passed, as a person says it; a clock that went back says nothing.
fn ago(seconds: f64) -> String {
    match seconds {
        s if s < 0.0 => "earlier".to_owned(),
        s if s < LONG_S => format!("{s:.0} s ago"),
        s if s < LONG_MIN * 60.0 => format!("{:.0} min ago", (s / 60.0).floor()),
        _ => format!("over {LONG_MIN:.0} min ago"),
    }
}

/// What came of the starter's rest, at a step that makes sure of it; none at any other. `cut_after` is how many cranks
/// came before a rest that was cut short.
///
/// # Errors
/// As [`rest_due`].
pub fn rest_told(
    library: &Library,
    state: &State,
    path: &str,
    now: &str,
    cut_after: Option<usize>,
) -> Result<Option<String>, Astray> {
    let walk = Walk::through(library, state)?;
    let asks = |step: &Step<StepIndex>| step.establishes.iter().any(|c| c.0 == RESTED);
    if !walk.step_at(path).is_ok_and(asks) {
        return Ok(None);
    }
    if let Some(due) = rest_due(library, state, path, now)? {
        return Ok(Some(due.left(cut_after == Some(due.cranks))));
    }
    let opening = state.opening();
    let limit = opening.map_or_else(ShopLimits::default, |opening| opening.limits);
    let limit = limit.starter;
    let (cranks, _) = cranks(library, state, &walk, limit);
    let now = at(now);
    Ok(Some(match cranks.last() {
        None => "The starter has not turned in this job.".to_owned(),
        Some(last) if limit.rest_left(&cranks, now) <= 0.0 => format!(
            "By the shop's limit the starter has rested: it last turned {}.",
            ago(now - last.end_s)
        ),
        Some(_) => format!(
            "By the shop's limit no rest is due: the starter has turned {:.0} s since it last rested.",
            limit.turned(&cranks)
        ),
    }))
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

#[cfg(test)]
mod tests {
    #[test]
    fn a_time_that_has_passed_is_told_as_people_say_it() {
        let told = [-5.0, 12.0, 150.0, 4e7].map(super::ago);
        assert_eq!(
            told,
            ["earlier", "12 s ago", "2 min ago", "over 600 min ago"]
        );
    }
}
