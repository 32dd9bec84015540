//! Does every loop end? Once each step with `at-most` was visited as often as it may be, only its
//! `then` is left of it: what still goes round in that graph goes round for ever. A step that puts
//! something back may ask again until the answer is yes, because no job may end before.

use std::collections::VecDeque;

use crate::procedure::edges::{self, Way};
use crate::procedure::library::Sheet;
use crate::procedure::model::{Procedure, Question, Step, StepIndex};
use crate::procedure::problem::Findings;

/// Most loops reported of one procedure.
const MOST_REPORTED: usize = 10;

/// Report loops; `told` are steps of which it was told that they ask again without restoring anything.
pub(crate) fn check(sheet: &Sheet, told: &[usize], findings: &mut Findings) {
    let steps = &sheet.procedure.steps;
    let mut ways: Vec<Vec<usize>> = steps.iter().map(at_last).collect();
    for node in told {
        ways[*node].retain(|to| to != node);
    }
    for (node, on) in ways.iter_mut().enumerate() {
        if on.contains(&node) && puts_back(&sheet.procedure, node) {
            restores_nothing(sheet, node, findings);
            on.retain(|to| *to != node);
        }
    }
    for _ in 0..MOST_REPORTED {
        let left = in_loops(&ways);
        let Some(ring) = (0..steps.len()).find_map(|node| ring(&ways, &left, node)) else {
            return;
        };
        let names: Vec<&str> = ring.iter().map(|node| steps[*node].id.as_str()).collect();
        let first = &steps[ring[0]];
        let message = format!(
            "a loop without an end: {} → {}",
            names.join(" → "),
            names[0]
        );
        let why = "A person in a hurry could be sent round for ever.";
        findings.flaw(&first.position, message, why, mend(steps, &ring));
        for node in ring {
            ways[node].clear();
        }
    }
}

/// The heading under which procedures put back.
const PUT_BACK: &str = "put back";

/// Whether a step that asks the same once more is one that puts back: by its heading, or because nothing is measured or
/// called behind it any more.
fn puts_back(procedure: &Procedure<StepIndex>, node: usize) -> bool {
    let step = &procedure.steps[node];
    let asks = matches!(step.question, Question::Confirm { .. });
    let last = |at: &usize| edges::is_said(&procedure.steps[*at]);
    let behind = || edges::reached(procedure, node);
    asks && (step.phase == PUT_BACK || behind().iter().all(last))
}

/// Report a step of putting back that asks until yes. Told where its no leads: that line is the same for its family.
fn restores_nothing(sheet: &Sheet, node: usize, findings: &mut Findings) {
    let step = &sheet.procedure.steps[node];
    findings.flaw_of(
        &step.id,
        &sheet.places.of(node, step, "if-not"),
        format!("step `{}` asks until the answer is yes, and restores nothing", step.id),
        "Only what has to be put back before the job may end is asked for until it is.",
        "Write what it puts back under `restores`, and under `disables` in the step that takes it off. If it puts nothing \
         back, bound it: `at-most: {times: 3, then: ID}`, the id of the step where it goes on."
            .to_owned(),
    );
}

/// How a loop is mended: one that has a bound is left by it, unless the bound leads back into it.
fn mend(steps: &[Step<StepIndex>], ring: &[usize]) -> String {
    let bounds = ring.iter().filter_map(|node| {
        let step = &steps[*node];
        step.at_most
            .as_ref()
            .map(|bound| (&step.id, &steps[bound.then.0].id))
    });
    let bounds: Vec<String> = bounds
        .map(|(id, then)| {
            format!("The `at-most` of `{id}` leads to `{then}`, which goes round with it again.")
        })
        .collect();
    if !bounds.is_empty() {
        return format!(
            "{} Let its `then` lead out of the loop: to an outcome, or to putting back before one.",
            bounds.join(" ")
        );
    }
    "Give one of these steps a bound: `at-most: {times: 3, then: ID}`, the id of the step that puts back, or of an \
     outcome where nothing is off. Only a step with `restores` may ask until the answer is yes."
        .to_owned()
}

/// The ways that are left once a step was visited as often as it may be.
fn at_last(step: &Step<StepIndex>) -> Vec<usize> {
    if let Some(bound) = &step.at_most {
        return vec![bound.then.0];
    }
    let waits = !step.restores.is_empty();
    edges::answered_ways(step)
        .into_iter()
        .filter(|(way, _)| !(waits && *way == Way::No))
        .map(|(_, to)| to)
        .collect()
}

/// Steps that are left when those without a way in are taken away, again and again: the loops, and
/// what hangs on them.
fn in_loops(ways: &[Vec<usize>]) -> Vec<bool> {
    let mut into = vec![0_usize; ways.len()];
    for to in ways.iter().flatten() {
        into[*to] += 1;
    }
    let mut left = vec![true; ways.len()];
    let free = (0..ways.len()).filter(|node| into[*node] == 0);
    let mut queue: VecDeque<usize> = free.collect();
    while let Some(node) = queue.pop_front() {
        left[node] = false;
        for to in &ways[node] {
            into[*to] -= 1;
            if into[*to] == 0 {
                queue.push_back(*to);
            }
        }
    }
    left
}

/// The shortest ring through a node.
fn ring(ways: &[Vec<usize>], left: &[bool], start: usize) -> Option<Vec<usize>> {
    if !left[start] {
        return None;
    }
    let mut from: Vec<Option<usize>> = vec![None; ways.len()];
    let mut queue = VecDeque::from([start]);
    while let Some(node) = queue.pop_front() {
        for to in &ways[node] {
            if *to == start {
                let mut ring = vec![node];
                while let Some(before) = from[ring[ring.len() - 1]] {
                    ring.push(before);
                }
                ring.reverse();
                return Some(ring);
            }
            if from[*to].is_none() {
                from[*to] = Some(node);
                queue.push_back(*to);
            }
        }
    }
    None
}
