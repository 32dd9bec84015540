//! How often a step is come to at most: what a paper sheet needs lines and boxes for.

use crate::procedure::model::{Procedure, Step, StepIndex};
use crate::procedure::ways;

/// The loops of a procedure.
pub(super) struct Visits {
    /// Which steps can be come to from each, itself only by way of others.
    reach: Vec<Vec<bool>>,
    most: Vec<u32>,
}

impl Visits {
    pub(super) fn of(procedure: &Procedure<StepIndex>) -> Self {
        let steps = &procedure.steps;
        let reach = reached(steps, |_| true);
        let bounds: Vec<Bound> = (0..steps.len())
            .filter_map(|at| Bound::of(steps, at))
            .collect();
        let most = (0..steps.len())
            .map(|at| most(&steps[at], at, &bounds, &reach))
            .collect();
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

/// A step that goes on as answered so many times, and what is come to without it.
struct Bound {
    at: usize,
    times: u32,
    /// From each step, where the bounded one only leads to what stands in for it.
    passed_over: Vec<Vec<bool>>,
    /// From the first step, where the bounded one is not gone through.
    before: Vec<bool>,
}

impl Bound {
    fn of(steps: &[Step<StepIndex>], at: usize) -> Option<Self> {
        let times = steps[at].at_most.as_ref()?.times;
        let then = steps[at].at_most.as_ref().map(|bound| bound.then.0);
        let passed_over = reached(steps, |(from, to)| from != at || then == Some(to));
        let mut without = reached(steps, |(from, _)| from != at);
        let mut before = without.swap_remove(0);
        before[0] = true;
        Some(Bound {
            at,
            times,
            passed_over,
            before,
        })
    }

    /// Whether a loop through a step goes through this one as well.
    fn shares_loop(&self, at: usize, reach: &[Vec<bool>]) -> bool {
        self.at == at || (reach[at][self.at] && reach[self.at][at])
    }

    /// How often a step is visited where each of its loops uses up one of the times; a step that is come to before the
    /// bounded one once more than that.
    fn allows(&self, at: usize) -> u32 {
        self.times + u32::from(self.at != at && self.before[at])
    }
}

fn most(step: &Step<StepIndex>, at: usize, bounds: &[Bound], reach: &[Vec<bool>]) -> u32 {
    let own = step.at_most.as_ref().map(|bound| bound.times);
    let shared = || bounds.iter().filter(|bound| bound.shares_loop(at, reach));
    let every = shared().filter(|bound| !bound.passed_over[at][at]);
    let least = every.map(|bound| bound.allows(at)).chain(own).min();
    // where no bound stands in all of its loops, each loop uses up a time of one of them
    least.unwrap_or_else(|| 1 + shared().map(|bound| bound.times).sum::<u32>())
}

/// What is come to from each step by the ways that count; a step's way back to itself does not.
fn reached(steps: &[Step<StepIndex>], counts: impl Fn((usize, usize)) -> bool) -> Vec<Vec<bool>> {
    let from = |start: usize| {
        let mut found = vec![false; steps.len()];
        let mut open = vec![start];
        while let Some(at) = open.pop() {
            for (_, to) in ways(&steps[at]) {
                if to != at && counts((at, to)) && !found[to] {
                    found[to] = true;
                    open.push(to);
                }
            }
        }
        found
    };
    (0..steps.len()).map(from).collect()
}

#[cfg(test)]
mod tests {
    use super::Visits;
    use crate::procedure::model::StepIndex;
    use crate::procedure::read_library;
    use crate::procedure::scaffold::{Kind, sheet};

    /// The crank may be come to three times: what leads to it is gone through once more, what follows it not.
    #[test]
    fn a_step_ahead_of_the_bounded_one_is_come_to_once_more() {
        let text = sheet(Kind::Cranking, "chain");
        let source = |_: &str| Some(("chain.yaml".to_owned(), text.clone()));
        let library = read_library("chain", &source).unwrap();
        let procedure = &library.procedures["chain"];
        let visits = Visits::of(procedure);
        let most = |id: &str| {
            let at = procedure.steps.iter().position(|step| step.id == id);
            visits.most(StepIndex(at.unwrap()))
        };
        for (id, times) in [
            ("clamp", 1),
            ("rest", 4),
            ("clear-again", 4),
            ("crank", 3),
            ("key-out-again", 3),
            ("judge", 3),
            ("mend", 3),
            ("clamp-off-even", 1),
            ("back-not-done", 1),
        ] {
            assert_eq!(most(id), times, "{id}");
        }
    }

    /// Two loops with a bound each, of which neither stands in both, allow what the two allow together.
    #[test]
    fn loops_with_a_bound_each_add_up() {
        let text = "procedure: two\nrevision: 1\ntitle: Two\npurpose: Two loops.\nsteps:\n  which:\n    phase: look\n    ask: Which?\n    \
                    choose: {one: One, other: Other, done: Done}\n    then:\n      - {when: one, go: first}\n      - {when: \
                    other, go: second}\n      - {when: done, go: end}\n  first:\n    ask: What?\n    note: text\n    \
                    at-most: {times: 2, then: end}\n    then: which\n  second:\n    ask: What else?\n    note: text\n    \
                    at-most: {times: 3, then: end}\n    then: which\n  end:\n    outcome: not-done\n    finding: Ended.\n";
        let source = |_: &str| Some(("two.yaml".to_owned(), text.to_owned()));
        let library = read_library("two", &source).unwrap();
        let visits = Visits::of(&library.procedures["two"]);
        let most: Vec<u32> = (0..4).map(|at| visits.most(StepIndex(at))).collect();
        assert_eq!(most, [6, 2, 3, 1]);
    }
}
