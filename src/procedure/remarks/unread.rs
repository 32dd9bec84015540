//! What is handed over or asked and that nothing reads: no mistake to any proof, yet mostly what is left of a step that
//! is gone.

use std::collections::BTreeSet;

use crate::procedure::check::uses;
use crate::procedure::edges::answered_ways;
use crate::procedure::model::{Library, Procedure, Question, Step, StepIndex};
use crate::procedure::problem::Problem;

/// A remark for each input that its procedure does not use, and for each choice whose answer leads one way, fills no
/// line of the record and is read by no step.
pub(super) fn remarks(library: &Library) -> Vec<Problem> {
    let procedures = library.procedures.values();
    procedures.flat_map(of_procedure).collect()
}

fn of_procedure(procedure: &Procedure<StepIndex>) -> Vec<Problem> {
    let handed = procedure.steps.iter().flat_map(uses).map(|(_, path)| path);
    let all = handed.chain(procedure.gives.values().cloned());
    let read: BTreeSet<String> = all.map(|path| path.of).collect();
    let inputs = procedure.takes.iter().filter(|name| !read.contains(*name));
    let inputs = inputs.map(|name| unread_input(procedure, name));
    let choices = procedure.steps.iter();
    let choices = choices.filter(|step| !read.contains(&step.id) && leads_one_way(step));
    inputs.chain(choices.map(unread_choice)).collect()
}

fn unread_input(procedure: &Procedure<StepIndex>, name: &str) -> Problem {
    let name_of = &procedure.name;
    Problem::new(
        &procedure.source.place_of_key("takes"),
        format!("`{name_of}` takes `{name}`, which nothing in it reads"),
        "Every caller must hand it over, for nothing.",
        format!(
            "Put `{{{name}}}` into a text or `{name}` under `with`, or take it out here and at the callers."
        ),
    )
}

fn leads_one_way(step: &Step<StepIndex>) -> bool {
    let ways = answered_ways(step);
    let targets: BTreeSet<usize> = ways.into_iter().map(|(_, target)| target).collect();
    matches!(step.question, Question::Choose { .. }) && targets.len() < 2 && step.fills.is_none()
}

fn unread_choice(step: &Step<StepIndex>) -> Problem {
    let id = &step.id;
    let remark = Problem::new(
        &step.position,
        format!("every answer to step `{id}` leads the same way, and nothing reads which it was"),
        "The question stands in the record and changes nothing; who notices answers at random.",
        format!(
            "Give the answers ways of their own, read it further on as `{{{id}}}`, or ask with `note` if the record is \
             all that it is for."
        ),
    );
    remark.of_step(id)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{library, placed};
    use super::remarks;

    fn told(text: &str) -> Vec<String> {
        placed(&remarks(&library("a", text)))
    }

    const ASKED: &str = "procedure: a\nrevision: 1\ntitle: t\npurpose: p\ntakes: [cylinder, fuel]\nsteps:\n  sky:\n    \
                         phase: p\n    ask: Which sky?\n    choose: {clear: Clear, dull: Dull}\n    then: end\n  end:\n    \
                         outcome: not-done\n    finding: Cylinder {cylinder}.\n";

    #[test]
    fn what_nothing_reads_is_remarked() {
        let fuel = "5: `a` takes `fuel`, which nothing in it reads";
        let sky =
            "7: every answer to step `sky` leads the same way, and nothing reads which it was";
        assert_eq!(told(ASKED), [fuel, sky]);
        let branched = "then: [{when: clear, go: end}, {when: dull, go: end}]";
        assert_eq!(told(&ASKED.replace("then: end", branched)), [fuel, sky]);
    }

    #[test]
    fn what_is_read_branched_on_or_given_is_not() {
        let fuel = ASKED.replace("Cylinder {cylinder}", "Cylinder {cylinder}, {fuel}");
        let ways = "then: [{when: clear, go: end}, {when: dull, go: other}]";
        let other = "  other:\n    outcome: not-done\n    finding: f\n";
        for sound in [
            fuel.replace("{fuel}", "{fuel} under a {sky} sky"),
            fuel.replace("takes:", "gives: {sky: sky}\ntakes:"),
            fuel.replace("then: end", ways) + other,
        ] {
            assert_eq!(told(&sound), [""; 0]);
        }
    }
}
