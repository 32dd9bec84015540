//! Does every condition that a step ends begin somewhere? One that nothing establishes is mostly another one misspelt,
//! and that other one never ends.

use std::collections::BTreeSet;

use crate::procedure::library::Sheets;
use crate::procedure::model::Step;
use crate::procedure::nearest::nearest;
use crate::procedure::problem::Findings;
use crate::procedure::work::{Condition, Work};

/// `sheets` is a procedure that is run by itself with all that it calls: what a caller establishes is among them.
pub(crate) fn check(sheets: &Sheets, findings: &mut Findings) {
    let steps = || sheets.values().flat_map(|sheet| &sheet.procedure.steps);
    let established: BTreeSet<&Condition> = steps().flat_map(|step| &step.establishes).collect();
    // where one is needed that nothing establishes, that is told at the step that needs it
    let needed: BTreeSet<&Condition> = steps().flat_map(|step| &step.needs).collect();
    let built_in: BTreeSet<Condition> = Work::ALL.into_iter().flat_map(Work::needs).collect();
    for sheet in sheets.values() {
        for (number, step) in sheet.procedure.steps.iter().enumerate() {
            let begins = |c: &&Condition| {
                established.contains(*c) || needed.contains(*c) || built_in.contains(*c)
            };
            for revoked in step.revokes.iter().filter(|c| !begins(c)) {
                if findings.misspelt.contains(&revoked.0) {
                    continue;
                }
                let known = established.iter().chain(&needed);
                let known = known
                    .map(|c| c.0.as_str())
                    .filter(|name| !is_revoked(step, name));
                let remedy = match nearest(&revoked.0, known) {
                    Some(near) => format!("Did you mean `{near}`?"),
                    None => format!(
                        "Write it as the step does that establishes it, or take `{revoked}` out."
                    ),
                };
                findings.flaw_of(
                    &step.id,
                    &sheet.places.of(number, step, &format!("revokes/{revoked}")),
                    format!(
                        "step `{}` revokes `{revoked}`, which no step establishes",
                        step.id
                    ),
                    "It ends nothing: whatever condition was meant holds on after this step.",
                    remedy,
                );
            }
        }
    }
}

fn is_revoked<T>(step: &Step<T>, name: &str) -> bool {
    step.revokes.iter().any(|c| c.0 == name)
}
