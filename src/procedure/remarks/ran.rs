//! An analysis that is branched on by its verdict alone: a capture in which the engine ran has none either, and the way
//! that it takes may lead to another crank behind a proof that the engine has disproved.

use std::collections::BTreeSet;

use crate::procedure::edges;
use crate::procedure::model::{Next, Procedure, Question, Step, StepIndex};
use crate::procedure::problem::Problem;
use crate::procedure::unary::{self, Tested};
use crate::procedure::work::{PROVED, Work};

/// A remark for each analysis whose way without a verdict comes to a crank and to no new proof before it.
pub(super) fn remarks(procedure: &Procedure<StepIndex>) -> Vec<Problem> {
    let steps = procedure.steps.iter();
    steps
        .filter_map(|step| Some((step, cranked_again(procedure, step)?)))
        .map(|(step, crank)| {
            let id = &step.id;
            let remark = Problem::new(
                &step.position,
                format!("after an engine that ran, `{id}` leads on to `{crank}` with no new proof"),
                "A capture in which the engine ran is `inconclusive` as any other that was refused, and its fuel is not off.",
                "Write `test: result`, and for `running` a branch of its own: to putting back, or to cutting the fuel and \
                 proving it anew.",
            );
            remark.of_step(id)
        })
        .collect()
}

/// The crank to which the way without a verdict leads.
fn cranked_again<'p>(
    procedure: &'p Procedure<StepIndex>,
    step: &Step<StepIndex>,
) -> Option<&'p str> {
    let Question::Compute {
        tested: Some(tested),
        next: Next::When(branches),
        ..
    } = &step.question
    else {
        return None;
    };
    let none =
        unary::branch(branches, Tested::Name("inconclusive")).filter(|_| tested == "verdict");
    let from = none?.target.0;
    let mut seen = BTreeSet::from([from]);
    let mut waiting = vec![from];
    while let Some(next) = waiting.pop().and_then(|at| procedure.steps.get(at)) {
        let cranks = [Work::Crank, Work::CrankOpenCylinder];
        if next.work.iter().any(|work| cranks.contains(work)) {
            return Some(&next.id);
        }
        if next.establishes.iter().any(|c| c.0 == PROVED) {
            continue;
        }
        let on = edges::ways(next).into_iter().map(|(_, to)| to);
        waiting.extend(on.filter(|to| seen.insert(*to)));
    }
    None
}

#[cfg(test)]
mod tests {
    use super::super::tests::{library, placed};
    use super::remarks;

    #[test]
    fn a_crank_after_an_engine_that_ran_is_remarked() {
        let told = |text: &str| {
            let library = library("sound", text);
            placed(
                &library
                    .procedures
                    .values()
                    .flat_map(remarks)
                    .collect::<Vec<_>>(),
            )
        };
        let sound = include_str!("../check/tests/sound.yaml");
        assert_eq!(
            told(sound),
            ["56: after an engine that ran, `judge` leads on to `crank` with no new proof"]
        );
        let stopped = sound.replace(
            "go: crank\n      - when: otherwise",
            "go: back-not-done\n      - when: otherwise",
        );
        assert_eq!(told(&stopped), [""; 0]);
        let proved = sound.replace(
            "go: crank\n      - when: otherwise",
            "go: cut-fuel\n      - when: otherwise",
        );
        assert_eq!(told(&proved), [""; 0]);
    }
}
