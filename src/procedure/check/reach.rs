//! Can every step be reached, and can every step come to an outcome?

use std::collections::VecDeque;

use crate::procedure::edges;
use crate::procedure::library::Sheet;
use crate::procedure::model::Question;
use crate::procedure::problem::Findings;

/// Steps that are named beside the first of a chain that no way leads to.
const MOST_NAMED: usize = 6;

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
    for (first, others) in chains(&reached, &onward, &backward) {
        let step = &steps[first];
        let others: Vec<&str> = others.iter().map(|n| steps[*n].id.as_str()).collect();
        findings.flaw_of(
            &step.id,
            &step.position,
            format!("no way leads to step `{}`{}", step.id, nor_to(&others)),
            "It would never be shown, and whoever wrote it thinks that it is.",
            "Let a step lead to it, or take it away.".to_owned(),
        );
    }
    for (number, step) in steps.iter().enumerate() {
        if reached[number] && !ending[number] {
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

/// The steps that no way leads to, each with those that are led to from it alone; of steps in a ring the first.
fn chains(
    reached: &[bool],
    onward: &[Vec<usize>],
    backward: &[Vec<usize>],
) -> Vec<(usize, Vec<usize>)> {
    let lost = || (0..reached.len()).filter(|n| !reached[*n]);
    let begins = |n: &usize| backward[*n].iter().all(|from| from == n);
    let mut told = vec![false; reached.len()];
    let mut chains = Vec::new();
    for first in lost().filter(begins).chain(lost()) {
        if told[first] {
            continue;
        }
        let behind = spread(onward, vec![first]);
        let behind: Vec<usize> = lost()
            .filter(|n| *n != first && behind[*n] && !told[*n])
            .collect();
        told[first] = true;
        behind.iter().for_each(|n| told[*n] = true);
        chains.push((first, behind));
    }
    chains
}

/// ", and so neither to `found`".
fn nor_to(others: &[&str]) -> String {
    let named: Vec<String> = others
        .iter()
        .take(MOST_NAMED)
        .map(|id| format!("`{id}`"))
        .collect();
    match others.len() {
        0 => String::new(),
        count if count > MOST_NAMED => format!(
            ", and so neither to {} and {} more",
            named.join(", "),
            count - MOST_NAMED
        ),
        _ => format!(", and so neither to {}", named.join(", ")),
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
