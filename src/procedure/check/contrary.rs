//! Does a verdict lead to an end that says the same? A branch that is written beside the wrong value calls a cylinder
//! that is low sound, or accuses one that is not.

use crate::procedure::edges;
use crate::procedure::library::Sheet;
use crate::procedure::model::{Branch, Next, OutcomeKind, Procedure, Question, StepIndex};
use crate::procedure::problem::Findings;
use crate::procedure::unary::{self, Tested};

/// Values of an analysis' facts that say what was found, each with the ends that deny it where nothing else is reached.
const CONTRARY: [(&str, &str, &[OutcomeKind]); 10] = [
    ("verdict", "even", &[OutcomeKind::FaultFound]),
    ("verdict", "low", &[OutcomeKind::NothingFound]),
    ("verdict", "inconclusive", &UNDECIDED),
    ("result", "even", &[OutcomeKind::FaultFound]),
    ("result", "one", &[OutcomeKind::NothingFound]),
    ("result", "neighbours", &[OutcomeKind::NothingFound]),
    ("result", "companions", &[OutcomeKind::NothingFound]),
    ("result", "several", &[OutcomeKind::NothingFound]),
    ("result", "unclear", &UNDECIDED),
    ("result", "running", &UNDECIDED),
];

/// What a capture without a verdict finds: neither.
const UNDECIDED: [OutcomeKind; 2] = [OutcomeKind::NothingFound, OutcomeKind::FaultFound];

pub(crate) fn check(sheet: &Sheet, findings: &mut Findings) {
    let procedure = &sheet.procedure;
    for (number, step) in procedure.steps.iter().enumerate() {
        let Question::Compute {
            tested: Some(tested),
            next: Next::When(branches),
            ..
        } = &step.question
        else {
            continue;
        };
        for (at, branch) in branches.iter().enumerate() {
            let Some((value, kind)) = denied(procedure, (tested, branches), branch) else {
                continue;
            };
            let end = procedure.steps.get(branch.target.0);
            let end = end.map_or("", |step| step.id.as_str());
            findings.flaw_of(
                &step.id,
                &sheet.places.of(number, step, &format!("then/{at}")),
                format!("`{value}` leads by `{end}` to nothing but `{}`", kind.name()),
                "The record would say the contrary of what was measured, and somebody would believe it.",
                format!("Let `{value}` lead to where it is said, or correct the kind of the outcome."),
            );
        }
    }
}

/// The first value that takes a branch and that its only end denies, with that end.
fn denied(
    procedure: &Procedure<StepIndex>,
    (tested, branches): (&str, &[Branch<StepIndex>]),
    branch: &Branch<StepIndex>,
) -> Option<(&'static str, OutcomeKind)> {
    let taken = |value| unary::takes(branches, branch, Tested::Name(value));
    let values = CONTRARY.into_iter();
    let mut values = values
        .filter(|(fact, value, _)| *fact == tested && taken(value))
        .peekable();
    values.peek()?;
    let end = only_end(procedure, branch.target.0)?;
    let (_, value, _) = values.find(|(.., contrary)| contrary.contains(&end))?;
    Some((value, end))
}

/// The one kind of end that a step can come to, but for work that was left; none where there are more, or where another
/// capture can find something else.
fn only_end(procedure: &Procedure<StepIndex>, from: usize) -> Option<OutcomeKind> {
    let captures = |at: usize| matches!(procedure.steps[at].question, Question::Capture { .. });
    if edges::reached(procedure, from).into_iter().any(captures) {
        return None;
    }
    let mut ends = edges::ends(procedure, from);
    ends.remove(&OutcomeKind::NotDone);
    ends.first().copied().filter(|_| ends.len() == 1)
}
