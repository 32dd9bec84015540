//! The ways that lead out of a step.

use std::collections::BTreeSet;

use super::model::{Next, OutcomeKind, Procedure, Question, Step, StepIndex};

/// Why a way is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Way {
    /// There is no other.
    Only,
    /// A confirm's yes.
    Yes,
    /// A confirm's no.
    No,
    /// The branch of that number.
    Branch(usize),
    /// The step was visited as often as it may be.
    PassedOver,
}

/// All ways out of a step, that of `at-most` included, each with the number of the step that it leads to.
#[must_use]
pub fn ways(step: &Step<StepIndex>) -> Vec<(Way, usize)> {
    let mut ways = answered_ways(step);
    if let Some(bound) = &step.at_most {
        ways.push((Way::PassedOver, bound.then.0));
    }
    ways
}

/// The ways out of a step that was not passed over.
pub(crate) fn answered_ways(step: &Step<StepIndex>) -> Vec<(Way, usize)> {
    match &step.question {
        Question::Confirm { yes, no, .. } => vec![(Way::Yes, yes.0), (Way::No, no.0)],
        Question::Outcome { .. } => Vec::new(),
        _ => match next(step) {
            Some(Next::Always(target)) => vec![(Way::Only, target.0)],
            Some(Next::When(branches)) => branches
                .iter()
                .enumerate()
                .map(|(number, branch)| (Way::Branch(number), branch.target.0))
                .collect(),
            None => Vec::new(),
        },
    }
}

/// A step and all that can come after it.
pub(crate) fn reached(procedure: &Procedure<StepIndex>, from: usize) -> BTreeSet<usize> {
    let mut seen = BTreeSet::from([from]);
    let mut open = vec![from];
    while let Some(step) = open.pop().and_then(|at| procedure.steps.get(at)) {
        let on = ways(step).into_iter().map(|(_, target)| target);
        open.extend(on.filter(|target| seen.insert(*target)));
    }
    seen
}

/// Whether nothing is done for a step but to say that something is so, or it is an outcome.
pub(crate) fn is_said(step: &Step<StepIndex>) -> bool {
    matches!(
        step.question,
        Question::Confirm { .. } | Question::Outcome { .. }
    )
}

/// The kinds of the outcomes that the step of that number can come to.
pub(crate) fn ends(procedure: &Procedure<StepIndex>, from: usize) -> BTreeSet<OutcomeKind> {
    let reached = reached(procedure, from).into_iter();
    let steps = reached.filter_map(|at| procedure.steps.get(at));
    steps
        .filter_map(|step| match &step.question {
            Question::Outcome { kind, .. } => Some(*kind),
            _ => None,
        })
        .collect()
}

/// The `then` of a step, where its question has one with branches.
pub(crate) fn next<T>(step: &Step<T>) -> Option<&Next<T>> {
    leads(&step.question)
}

/// The `then` of a question, where it has one that can have branches.
pub fn leads<T>(question: &Question<T>) -> Option<&Next<T>> {
    match question {
        Question::Choose { next, .. }
        | Question::Measure { next, .. }
        | Question::Capture { next, .. }
        | Question::Note { next, .. }
        | Question::Compute { next, .. }
        | Question::Call { next, .. } => Some(next),
        Question::Confirm { .. } | Question::Outcome { .. } => None,
    }
}

/// A way in words: "yes", "no", "< 12.20", "visited as often as it may be".
#[must_use]
pub fn way_told(question: &Question<StepIndex>, way: Way) -> String {
    match way {
        Way::Only => "on".to_owned(),
        Way::Yes => "yes".to_owned(),
        Way::No => "no".to_owned(),
        Way::PassedOver => "visited as often as it may be".to_owned(),
        Way::Branch(number) => branch_written(question, number).unwrap_or_default(),
    }
}

fn branch_written(question: &Question<StepIndex>, number: usize) -> Option<String> {
    match leads(question)? {
        Next::When(branches) => branches.get(number).map(|branch| branch.written.clone()),
        Next::Always(_) => None,
    }
}
