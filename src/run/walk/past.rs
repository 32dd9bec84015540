//! What was answered and computed, and going back behind it.

use std::collections::BTreeSet;

use super::{Astray, Due, Shown, Standing, Walk, places};
use crate::procedure::model::StepIndex;
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
    pub(super) before: Standing,
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
            before: self.standing.clone(),
            held: self.held.clone(),
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

    pub(super) fn go_back(&mut self, step: &str) -> Result<(), Astray> {
        let open = |past: &Past| past.step == step && !past.superseded;
        let Some(at) = self.past.iter().rposition(open) else {
            return Err(Astray::NoStep(step.to_owned()));
        };
        self.touch_open_step();
        self.forget_passed_through();
        self.past[at].reopened = true;
        let line = self.past[at].line;
        self.standing = self.past[at].before.clone();
        self.held = self.past[at].held.clone();
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
        self.index_of(path)
            .map_or(0, |(at, _)| visits(&self.standing, path, at))
    }

    /// How often a step had been come to when it was answered.
    pub(crate) fn visits_at(&self, past: &Past) -> u32 {
        self.index_of(&past.step)
            .map_or(0, |(at, _)| visits(&past.before, &past.step, at))
    }
}

fn visits(standing: &Standing, path: &str, at: StepIndex) -> u32 {
    let scope = standing.scopes.get(places::split(path).0);
    scope
        .and_then(|scope| scope.visits.get(&at).copied())
        .unwrap_or(0)
}
