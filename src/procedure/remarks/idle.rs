//! Conditions that are established and that nothing needs: no mistake to any proof, yet mostly a misspelling or
//! what is left of a step that is gone.

use std::collections::BTreeSet;

use crate::procedure::model::Library;
use crate::procedure::problem::Problem;
use crate::procedure::work::{Condition, Work};

/// Every condition that a step of a library needs, the shop's own among them.
#[must_use]
pub fn needed(library: &Library) -> BTreeSet<Condition> {
    let steps = library.procedures.values().flat_map(|p| &p.steps);
    let needs = steps.flat_map(|step| {
        let of_work = step.work.iter().flat_map(|work| work.needs());
        of_work.chain(step.needs.iter().cloned())
    });
    needs.collect()
}

/// Whether several kinds of work need it, though none here: its name is right, and the way of its no protects. What one
/// kind alone needs is there for that kind, and where no step names it, the work mostly has a wrong name.
fn of_some_work(condition: &Condition) -> bool {
    kinds(condition).nth(1).is_some()
}

/// The kinds of work that need a condition.
fn kinds(condition: &Condition) -> impl Iterator<Item = Work> {
    let all = Work::ALL.into_iter();
    all.filter(|work| work.needs().contains(condition))
}

/// A remark for each condition that a procedure establishes and that is not among the needed nor any kind of
/// work's, at the first step that establishes it.
#[must_use]
pub fn remarks(library: &Library, needed: &BTreeSet<Condition>) -> Vec<Problem> {
    let mut remarks = Vec::new();
    for procedure in library.procedures.values() {
        let mut told: BTreeSet<&Condition> = BTreeSet::new();
        for step in &procedure.steps {
            let idle = step.establishes.iter();
            let idle = idle.filter(|c| !needed.contains(c) && !of_some_work(c));
            for condition in idle.filter(|condition| told.insert(condition)) {
                let message = format!(
                    "step `{}` establishes `{condition}`, which nothing needs",
                    step.id
                );
                let remedy = match kinds(condition).next() {
                    Some(work) => format!(
                        "Is there a step of that work? Write `work: {}` in it. Else take `{condition}` out.",
                        work.name()
                    ),
                    None => format!(
                        "Name `{condition}` under `needs` of the step that it is for, or take it out. What the kinds \
                         of work need stands in procedures/README.md."
                    ),
                };
                let why = "No step waits for it; only the way of its no leads elsewhere.";
                let remark = Problem::new(&step.position, message, why, remedy);
                remarks.push(remark.of_step(&step.id));
            }
        }
    }
    remarks
}
