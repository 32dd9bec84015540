//! Which steps, ways and outcomes of procedures were reached, and which were not.

use std::collections::BTreeSet;

use crate::procedure::model::{Procedure, Question, StepIndex};
use crate::procedure::{Way, way_told, ways};
use crate::run::walk::Turn;

/// What was reached, over any number of rehearsals.
#[derive(Debug, Clone, Default)]
pub struct Coverage {
    steps: BTreeSet<(String, StepIndex)>,
    ways: BTreeSet<(String, StepIndex, Way)>,
}

/// A share of something.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Share {
    /// How many were reached.
    pub reached: usize,
    /// How many there are.
    pub all: usize,
}

impl std::fmt::Display for Share {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} of {}", self.reached, self.all)
    }
}

/// What was reached of one procedure.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Reached {
    /// Steps, outcomes among them.
    pub steps: Share,
    /// Ways out of steps.
    pub ways: Share,
    /// Outcomes.
    pub outcomes: Share,
    /// What was not reached, in the order of the file.
    pub missing: Vec<Missing>,
}

/// Something that was not reached.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missing {
    /// The step.
    pub at: StepIndex,
    /// The way out of it; none where the step itself was never come to.
    pub way: Option<Way>,
    /// In words: "`crank`: no → `end`".
    pub told: String,
}

impl Coverage {
    /// Take in what a rehearsal met.
    pub fn add(&mut self, trail: &[Turn]) {
        for turn in trail {
            let step = (turn.procedure.clone(), turn.at);
            if let Some(way) = turn.way {
                self.ways.insert((step.0.clone(), step.1, way));
            }
            self.steps.insert(step);
        }
    }

    /// Whether a step was come to.
    #[must_use]
    pub fn has_step(&self, procedure: &str, at: StepIndex) -> bool {
        self.steps.contains(&(procedure.to_owned(), at))
    }

    /// Whether a way was taken.
    #[must_use]
    pub fn has_way(&self, procedure: &str, at: StepIndex, way: Way) -> bool {
        self.ways.contains(&(procedure.to_owned(), at, way))
    }

    /// What was reached of one procedure.
    #[must_use]
    pub fn of(&self, procedure: &Procedure<StepIndex>) -> Reached {
        let mut reached = Reached::default();
        for (number, step) in procedure.steps.iter().enumerate() {
            let at = StepIndex(number);
            let met = self.has_step(&procedure.name, at);
            count(&mut reached.steps, met);
            if matches!(step.question, Question::Outcome { .. }) {
                count(&mut reached.outcomes, met);
            }
            if !met {
                reached.missing.push(Missing {
                    at,
                    way: None,
                    told: format!("`{}` was never come to", step.id),
                });
            }
            for (way, to) in ways(step) {
                let taken = self.has_way(&procedure.name, at, way);
                count(&mut reached.ways, taken);
                if met && !taken {
                    let to = &procedure.steps[to].id;
                    reached.missing.push(Missing {
                        at,
                        way: Some(way),
                        told: format!("`{}`: {} → `{to}`", step.id, way_told(&step.question, way)),
                    });
                }
            }
        }
        reached
    }
}

fn count(share: &mut Share, reached: bool) {
    share.all += 1;
    share.reached += usize::from(reached);
}
