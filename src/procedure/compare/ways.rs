//! What changed about whole paths: outcomes, and the steps that every path to an outcome passes.

use std::collections::{BTreeMap, BTreeSet};

use super::{About, Found};
use crate::procedure::model::{Procedure, StepIndex};

pub(super) fn compare(
    before: &Procedure<StepIndex>,
    after: &Procedure<StepIndex>,
    found: &mut Found,
) {
    let name = &before.name;
    let (was, is) = (passed(before), passed(after));
    for (outcome, steps) in &was {
        let Some(now) = is.get(outcome) else {
            let told = format!("the outcome `{outcome}` is gone");
            found.add(name, None, About::Path, false, told);
            continue;
        };
        let still = |step: &&String| after.steps.iter().any(|known| known.id == **step);
        let lost = steps.difference(now).filter(still);
        let lost: Vec<&str> = lost.map(String::as_str).collect();
        if !lost.is_empty() {
            let told = format!(
                "`{outcome}` can now be reached without: {}",
                lost.join(", ")
            );
            found.add(name, None, About::Path, true, told);
        }
        let known = |step: &&String| before.steps.iter().any(|known| known.id == **step);
        let gained: Vec<&str> = now
            .difference(steps)
            .filter(known)
            .map(String::as_str)
            .collect();
        if !gained.is_empty() {
            let told = format!(
                "every path to `{outcome}` now passes: {}",
                gained.join(", ")
            );
            found.add(name, None, About::Path, false, told);
        }
    }
    for outcome in is.keys().filter(|outcome| !was.contains_key(*outcome)) {
        found.add(
            name,
            None,
            About::Path,
            false,
            format!("new outcome `{outcome}`"),
        );
    }
}

/// For each outcome, the steps that every path to it passes.
fn passed(procedure: &Procedure<StepIndex>) -> BTreeMap<String, BTreeSet<String>> {
    let steps = &procedure.steps;
    let named = |numbers: Vec<usize>| numbers.into_iter().map(|n| steps[n].id.clone()).collect();
    let all = crate::procedure::check::passed_on_every_way(procedure);
    all.into_iter()
        .map(|(outcome, numbers)| (steps[outcome].id.clone(), named(numbers)))
        .collect()
}
