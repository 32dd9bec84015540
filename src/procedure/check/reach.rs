//! Can every step be reached, and can every step come to an outcome?

use std::collections::VecDeque;

use crate::procedure::edges;
use crate::procedure::library::Sheet;
use crate::procedure::model::Question;
use crate::procedure::problem::Findings;

pub(crate) fn check(sheet: &Sheet, findings: &mut Findings) {
    let steps = &sheet.procedure.steps;
    let onward: Vec<Vec<usize>> = steps
        .iter()
        .map(|step| edges::ways(step).into_iter().map(|(_, to)| to).collect())
        .collect();
    let mut backward = vec![Vec::new(); steps.len()];
    for (from, targets) in onward.iter().enumerate() {
        for to in targets {
            backward[*to].push(from);
        }
    }
    let is_outcome = |n: &usize| matches!(steps[*n].question, Question::Outcome { .. });
    let reached = spread(&onward, (0..steps.len().min(1)).collect());
    let ending = spread(&backward, (0..steps.len()).filter(is_outcome).collect());
    for (number, step) in steps.iter().enumerate() {
        if !reached[number] {
            findings.flaw_of(
                &step.id,
                &step.position,
                format!("no way leads to step `{}`", step.id),
                "It would never be shown, and whoever wrote it thinks that it is.",
                "Let a step lead to it, or take it away.".to_owned(),
            );
        } else if !ending[number] {
            findings.flaw_of(
                &step.id,
                &step.position,
                format!("from step `{}` no outcome can be reached", step.id),
                "The job could never be closed.",
                "Let a way lead from there to a step with `outcome`.".to_owned(),
            );
        }
    }
}

/// All nodes that can be reached from some.
fn spread(ways: &[Vec<usize>], from: Vec<usize>) -> Vec<bool> {
    let mut reached = vec![false; ways.len()];
    for node in &from {
        reached[*node] = true;
    }
    let mut queue = VecDeque::from(from);
    while let Some(node) = queue.pop_front() {
        for to in &ways[node] {
            if !reached[*to] {
                reached[*to] = true;
                queue.push_back(*to);
            }
        }
    }
    reached
}
