//! An end that can be come to with the engine running or the key in: nobody was asked for either since it was turned.

use std::collections::{BTreeSet, VecDeque};

use super::KEY_AWAY;
use crate::procedure::check::Flat;
use crate::procedure::model::{Question, Step, StepIndex};
use crate::procedure::problem::Problem;

/// A remark for the first outcome of the procedure itself that each step leads to so; those of called ones are their
/// callers' affair.
pub(super) fn remarks(flat: &Flat<'_>) -> Vec<Problem> {
    let mut told: BTreeSet<&str> = BTreeSet::new();
    let turns = |step: &Step<StepIndex>| step.work.iter().any(|work| work.turns_engine());
    let turning = (0..flat.places.len()).filter(|node| turns(flat.places[*node].step()));
    let mut found = Vec::new();
    for node in turning {
        let Some(end) = end_without_key_out(flat, node) else {
            continue;
        };
        let (step, end) = (flat.places[node].step(), flat.places[end].step());
        if told.insert(&end.id) {
            found.push(left_in(step, end));
        }
    }
    found
}

/// The nearest outcome on a way from a step on which nobody says that the key is away.
fn end_without_key_out(flat: &Flat<'_>, from: usize) -> Option<usize> {
    let key_away = flat.fact(KEY_AWAY);
    let mut seen = BTreeSet::from([from]);
    let mut queue = VecDeque::from([from]);
    while let Some(here) = queue.pop_front() {
        let place = &flat.places[here];
        let ends = matches!(place.step().question, Question::Outcome { .. });
        if ends && !place.path.contains('/') {
            return Some(here);
        }
        for edge in &flat.graph.edges[here] {
            let away = key_away.is_some_and(|fact| edge.adds.contains(&fact));
            // where it is passed over, nothing turns: only what is done has the key in
            let is_done = here != from || key_away.is_some_and(|fact| edge.drops.contains(&fact));
            if is_done && !away && seen.insert(edge.to) {
                queue.push_back(edge.to);
            }
        }
    }
    None
}

fn left_in(step: &Step<StepIndex>, end: &Step<StepIndex>) -> Problem {
    let message = format!(
        "outcome `{}` can be come to from `{}` with the engine running, or the key in",
        end.id, step.id
    );
    let why =
        "The next person takes a vehicle whose job is over for one that nobody is working on.";
    let remedy =
        "Ask on that way that the engine is off and the key away, with `establishes: [key away]`.";
    Problem::new(&end.position, message, why, remedy).of_step(&end.id)
}

#[cfg(test)]
mod tests {
    use crate::procedure::remarks::remarks;
    use crate::procedure::remarks::tests::{library, placed};
    use crate::procedure::scaffold::{Kind, sheet};
    use crate::procedure::work::Work;

    #[test]
    fn an_end_with_the_key_in_is_remarked() {
        let told = |text: &str| placed(&remarks("a", &library("a", text)));
        for kind in [Kind::Plain, Kind::Cranking, Kind::Running] {
            assert_eq!(told(&sheet(kind, "a")), [""; 0]);
        }
        let needs: Vec<String> = Work::RunEngine
            .needs()
            .iter()
            .map(|need| need.0.clone())
            .collect();
        let run = format!(
            "procedure: a\nrevision: 1\ntitle: t\npurpose: p\nsteps:\n  safe:\n    phase: p\n    warning: w\n    do: Look round.\n    \
                 work: none\n    confirm: All is clear.\n    establishes: [{}]\n    why: so\n    then: run\n    if-not: end\n  \
                 run:\n    danger: d\n    do: Let it run.\n    work: run engine\n    revokes: [key away]\n    confirm: It runs.\n    why: so\n    \
                 then: end\n    if-not: end\n  end:\n    outcome: nothing-found\n    finding: f\n",
            needs.join(", ")
        );
        let end = "outcome `end` can be come to from `run` with the engine running, or the key in";
        let told = told(&run);
        assert!(told.iter().any(|told| told.contains(end)), "{told:?}");
    }
}
