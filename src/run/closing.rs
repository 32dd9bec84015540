//! Where a no gives the test up: from there on nothing is left but putting back and an outcome of not done.

use std::collections::BTreeSet;

use crate::procedure::model::{OutcomeKind, Procedure, Question, Step, StepIndex};
use crate::procedure::ways;
use crate::run::walk::{Astray, Due, Walk, split, turns_starter};

const ENDS_TEST: &str = "No ends the test; all is put back. Not so yet? Do it, then yes; p pauses.";
const ENDS_FOR_GOOD: &str = "No ends the test; all is put back.";
const ENDS_PART_FOR_GOOD: &str = "No ends this part; what was taken off goes back.";
const ENDS_PART: &str =
    "No ends this part; what was taken off goes back. Not so yet? Do it, then yes.";

/// What is said before a no that gives the test up; none where the work can still go on after it, or is given up
/// already. A no that leads to the outcome at once is told with the keys.
pub(super) fn told(walk: &Walk<'_>, due: &Due<'_>) -> Result<Option<&'static str>, Astray> {
    let Question::Confirm { no, .. } = &due.step.question else {
        return Ok(None);
    };
    let (scope, _) = split(&due.path);
    let procedure = walk.procedure_of(scope)?;
    let is_outcome = |step: &Step<StepIndex>| matches!(step.question, Question::Outcome { .. });
    let at_once = procedure.steps.get(no.0).is_some_and(is_outcome);
    let here = procedure.steps.iter().position(|s| s.id == due.step.id);
    let given_up = here.is_some_and(|here| gives_up(procedure, here));
    if given_up || !gives_up(procedure, no.0) || (at_once && scope.is_empty()) {
        return Ok(None);
    }
    // what came of a crank cannot be made so afterwards
    let cranked = turns_starter(due.step);
    Ok(Some(match (scope, cranked) {
        ("", true) => ENDS_FOR_GOOD,
        ("", false) => ENDS_TEST,
        (_, true) => ENDS_PART_FOR_GOOD,
        (_, false) => ENDS_PART,
    }))
}

/// Whether every way on from a step leads to an outcome of not done or of no verdict.
fn gives_up(procedure: &Procedure<StepIndex>, from: usize) -> bool {
    let mut seen = BTreeSet::from([from]);
    let mut open = vec![from];
    while let Some(step) = open.pop().and_then(|at| procedure.steps.get(at)) {
        if let Question::Outcome { kind, .. } = &step.question
            && !matches!(kind, OutcomeKind::NotDone | OutcomeKind::NoVerdict)
        {
            return false;
        }
        let on = ways(step).into_iter().map(|(_, target)| target);
        open.extend(on.filter(|target| seen.insert(*target)));
    }
    true
}
