//! What was answered and computed, and going back behind it.

use std::collections::BTreeSet;

use super::{Astray, Due, Shown, Standing, Walk, places};
use crate::procedure::work::Condition;
use crate::run::value::Value;

/// A step that was answered or computed.
#[derive(Debug, Clone)]
pub struct Past {
    /// Line of the journal.
    pub line: usize,
    /// Line on which a person answered it: an earlier one where the answer was carried over.
    pub said: usize,
    /// Path of the step.
    pub step: String,
    /// What was shown.
    pub shown: Shown,
    /// The value that it gave.
    pub value: Value,
    /// Whether a person answered it.
    pub asked: bool,
    /// Whether the person went back behind it.
    pub superseded: bool,
    /// Line on which the person did.
    pub superseded_at: Option<usize>,
    /// Whether the person went back to this very question, to answer it anew.
    pub reopened: bool,
    /// Whether it is of a crank that was answered for before: another file of it, or its columns said anew.
    pub same_crank: bool,
    /// How often the step had been come to.
    pub visit: u32,
    before: Option<Before>,
}

/// Where the job stood when a step was answered; kept for those steps that the person goes back to.
#[derive(Debug, Clone)]
struct Before {
    standing: Standing,
    held: BTreeSet<Condition>,
}

/// Where a step's value comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Told {
    /// A person, on that line.
    Asked(usize),
    /// The program.
    Computed,
}

impl<'l> Walk<'l> {
    pub(super) fn answered(
        &mut self,
        due: &Due<'l>,
        value: Value,
        told: Told,
    ) -> Result<(), Astray> {
        let shown = self.shown(due)?;
        let goes_back = self.returns.get(&due.path);
        let before = goes_back
            .is_some_and(|last| *last > self.line)
            .then(|| Before {
                standing: self.standing.clone(),
                held: self.held.clone(),
            });
        self.past.push(Past {
            line: self.line,
            said: match told {
                Told::Asked(line) => line,
                Told::Computed => self.line,
            },
            step: due.path.clone(),
            shown,
            value: value.clone(),
            asked: told != Told::Computed,
            superseded: false,
            superseded_at: None,
            reopened: false,
            same_crank: self.same_crank.take_if(|step| *step == due.path).is_some(),
            visit: self.visits(&due.path),
            before,
        });
        self.lose(&due.step.revokes);
        self.finish(due, value)?;
        self.settle()
    }

    /// The value that a step was answered with before the person went back.
    pub(super) fn carried(&self, step: &str, from: u64) -> Result<Value, Astray> {
        let given = |past: &&Past| past.said as u64 == from && past.step == step && past.superseded;
        let past = self.past.iter().rev().find(given);
        past.map(|past| past.value.clone())
            .ok_or_else(|| Astray::NoStep(step.to_owned()))
    }

    pub(super) fn go_back(&mut self, step: &str, same_crank: bool) -> Result<(), Astray> {
        if self.stopped.take().is_some() {
            return Ok(()); // the stop is taken back, and the question that it left stands again
        }
        let stands = self.same_crank.take();
        if !same_crank && stands.as_deref() == Some(step) {
            return self.settle(); // cranked anew after all: what that needs is asked first
        }
        let open = |past: &Past| past.step == step && !past.superseded;
        let nowhere = || Astray::NoStep(step.to_owned());
        let at = self.past.iter().rposition(open).ok_or_else(nowhere)?;
        let before = self.past[at].before.clone().ok_or_else(nowhere)?;
        self.touch_open_step();
        self.forget_passed_through();
        self.past[at].reopened = true;
        let line = self.past[at].line;
        self.standing = before.standing;
        self.held = before.held;
        for past in &mut self.past[at..] {
            if !past.superseded {
                past.superseded = true;
                past.superseded_at = Some(self.line);
            }
        }
        for (lost_at, condition) in &self.losses {
            if *lost_at >= line {
                self.held.remove(condition);
            }
        }
        self.returned.retain(|returned| returned.line < line);
        self.same_crank = same_crank.then(|| step.to_owned());
        self.settle()
    }

    /// Questions that the person only passed through on the way back further are not to be asked for that.
    fn forget_passed_through(&mut self) {
        let last = self.past.iter().map(|past| past.line).max().unwrap_or(0);
        for past in &mut self.past {
            past.reopened &= past.superseded_at.is_some_and(|at| at < last);
        }
    }

    /// The open step was shown, so it may have been begun.
    pub(super) fn touch_open_step(&mut self) {
        if let Ok(due) = self.due() {
            self.lose(&due.step.revokes);
            self.disable(due.step, &due.path);
        }
    }

    pub(super) fn lose(&mut self, conditions: &[Condition]) {
        for condition in conditions {
            self.held.remove(condition);
            self.losses.push((self.line, condition.clone()));
        }
    }

    /// Whether one of these was lost on that line or later.
    pub(crate) fn lost_since(&self, line: usize, conditions: &[Condition]) -> bool {
        let mut lost = self.losses.iter();
        lost.any(|(at, condition)| *at >= line && conditions.contains(condition))
    }

    /// How often the step that is due was come to.
    pub(crate) fn visits(&self, path: &str) -> u32 {
        let scope = self.standing.scopes.get(places::split(path).0);
        let at = self.index_of(path).map(|(at, _)| at);
        scope
            .zip(at.ok())
            .and_then(|(scope, at)| scope.visits.get(&at).copied())
            .unwrap_or(0)
    }
}
