//! How often a step is come to at most: what a paper sheet needs lines and boxes for.

use crate::procedure::model::{Procedure, StepIndex};
use crate::procedure::ways;

/// The loops of a procedure.
pub(super) struct Visits {
    /// Which steps can be come to from each, itself only by way of others or of its own way back.
    reach: Vec<Vec<bool>>,
    most: Vec<u32>,
}

impl Visits {
    pub(super) fn of(procedure: &Procedure<StepIndex>) -> Self {
        let steps = &procedure.steps;
        let reach = reached(procedure, None);
        let mut most = vec![1; steps.len()];
        for (bounded, step) in steps.iter().enumerate() {
            let Some(bound) = &step.at_most else { continue };
            most[bounded] = bound.times;
        }
        let bounded = || (0..steps.len()).filter(|at| steps[*at].at_most.is_some());
        let without: Vec<_> = bounded()
            .map(|at| (at, reached(procedure, Some(at))))
            .collect();
        for at in (0..steps.len()).filter(|at| steps[*at].at_most.is_none()) {
            // a bound counts for the step where every loop through the step passes it
            let counting = without.iter().filter(|(bound, without)| {
                reach[at][*bound] && reach[*bound][at] && !without[at][at]
            });
            let times = counting.filter_map(|(bound, _)| steps[*bound].at_most.as_ref());
            most[at] = times.map(|bound| bound.times).min().unwrap_or(1);
        }
        Visits { reach, most }
    }

    /// How often a step is visited at most; 1 where no bound says more.
    pub(super) fn most(&self, at: StepIndex) -> u32 {
        self.most[at.0]
    }

    /// Whether a step can be come to again after a way was taken from it.
    pub(super) fn again(&self, at: StepIndex, to: StepIndex) -> bool {
        at == to || self.reach[to.0][at.0]
    }
}

fn reached(procedure: &Procedure<StepIndex>, left_out: Option<usize>) -> Vec<Vec<bool>> {
    let count = procedure.steps.len();
    let from = |start: usize| {
        let mut found = vec![false; count];
        let mut open = vec![start];
        while let Some(at) = open.pop() {
            for (_, to) in ways(&procedure.steps[at]) {
                if Some(to) != left_out && !found[to] {
                    found[to] = true;
                    open.push(to);
                }
            }
        }
        found
    };
    (0..count).map(from).collect()
}
