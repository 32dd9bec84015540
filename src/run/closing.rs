//! What a no to a step leads to, said before it is given: from some on nothing is left but putting back and an outcome
//! of not done.

use crate::procedure::model::{OutcomeKind, Procedure, Question, Step, StepIndex};
use crate::procedure::{is_said, reached};
use crate::run::left_off;
use crate::run::walk::{Astray, Due, Walk, joined, split, turns_starter};

const ENDS_TEST: &str = "No ends the test; you are then led through putting all back. Not so yet? Do it, then yes; p pauses.";
const ENDS_FOR_GOOD: &str = "No ends the test; you are then led through putting all back.";
const ENDS_PART_FOR_GOOD: &str =
    "No ends this part; you are then led through putting back what was taken off.";
const ENDS_PART: &str = "No ends this part; you are then led through putting back what was taken off. Not so yet? Do it, then yes.";

const AGAIN: &str = "After a no this is asked once more.";
const NEXT: &str = "After a no comes: ";

/// What is said of a no to the step that is due.
pub(super) fn told(walk: &Walk<'_>, due: &Due<'_>) -> Result<Option<String>, Astray> {
    let (scope, _) = split(&due.path);
    let procedure = walk.procedure_of(scope)?;
    let Question::Confirm { no, .. } = &due.step.question else {
        return Ok(None);
    };
    if left_off::stop(walk, &due.path, "")?.is_some() {
        return Ok(Some(ENDS_TEST.to_owned()));
    }
    let no = instead(walk, procedure, scope, *no);
    let text = of_no(procedure, due.step, no, scope.is_empty());
    Ok(text.map(|text| walk.filled(scope, &text)))
}

/// What comes where a step was asked as often as it may be: the one that stands in for it.
fn instead(
    walk: &Walk<'_>,
    procedure: &Procedure<StepIndex>,
    scope: &str,
    wanted: StepIndex,
) -> StepIndex {
    let mut target = wanted;
    for _ in &procedure.steps {
        let step = procedure.steps.get(target.0);
        let bound = step.and_then(|step| Some((&step.id, step.at_most.as_ref()?)));
        match bound {
            Some((id, most)) if walk.visits(&joined(scope, id)) >= most.times => target = most.then,
            _ => break,
        }
    }
    target
}

/// What is said of a no that leads to a step, by the ways of the procedure; none where it is told with the keys that it
/// ends the job at once, where yes and no lead on alike, or to what asks nothing. Values are not filled in.
pub(crate) fn of_no(
    procedure: &Procedure<StepIndex>,
    step: &Step<StepIndex>,
    no: StepIndex,
    outermost: bool,
) -> Option<String> {
    let Question::Confirm { yes, .. } = &step.question else {
        return None;
    };
    let here = procedure.steps.iter().position(|s| s.id == step.id)?;
    let next = procedure.steps.get(no.0)?;
    let is_outcome = matches!(next.question, Question::Outcome { .. });
    if no.0 == here {
        return Some(AGAIN.to_owned());
    }
    if *yes == no || (is_outcome && outermost) {
        return None;
    }
    // what yes would have put right is put right next, before all else
    if next
        .restores
        .iter()
        .any(|item| step.restores.contains(item))
    {
        return comes_after(next);
    }
    // what came of a crank cannot be made so afterwards
    let cranked = turns_starter(step);
    let ends_test = outermost && gives_up(procedure, no.0);
    let ends_part = gives_up(procedure, no.0)
        || (!next.restores.is_empty() && !reached(procedure, no.0).contains(&here));
    let given_up = gives_up(procedure, here);
    let ends = match (ends_test, cranked) {
        _ if given_up || !ends_part => return comes_after(next),
        (true, true) => ENDS_FOR_GOOD,
        (true, false) => ENDS_TEST,
        (false, true) => ENDS_PART_FOR_GOOD,
        (false, false) => ENDS_PART,
    };
    Some(ends.to_owned())
}

/// The question that a no leads to.
fn comes_after(next: &Step<StepIndex>) -> Option<String> {
    let asked = match &next.question {
        Question::Confirm { statement, .. } => statement,
        Question::Choose { ask, .. }
        | Question::Measure { ask, .. }
        | Question::Capture { ask, .. }
        | Question::Note { ask, .. } => ask,
        Question::Compute { .. } | Question::Call { .. } | Question::Outcome { .. } => return None,
    };
    Some(format!("{NEXT}\"{asked}\""))
}

/// Whether a job's own procedure does nothing any more but put back: statements and an outcome are all that can come.
pub(super) fn is_closing(walk: &Walk<'_>, due: &Due<'_>) -> Result<bool, Astray> {
    let (scope, _) = split(&due.path);
    if !scope.is_empty() || due.step.restores.is_empty() {
        return Ok(false);
    }
    let (here, procedure) = walk.index_of(&due.path)?;
    let coming = reached(procedure, here.0);
    let mut coming = coming.iter().filter_map(|at| procedure.steps.get(*at));
    Ok(coming.all(|step| is_said(step) && !step.work.iter().any(|work| work.turns_engine())))
}

/// Whether every way on from a step leads to an outcome of not done or of no verdict.
fn gives_up(procedure: &Procedure<StepIndex>, from: usize) -> bool {
    let reached = reached(procedure, from);
    let mut steps = reached.iter().filter_map(|at| procedure.steps.get(*at));
    steps.all(|step| match &step.question {
        Question::Outcome { kind, .. } => {
            matches!(kind, OutcomeKind::NotDone | OutcomeKind::NoVerdict)
        }
        _ => true,
    })
}
