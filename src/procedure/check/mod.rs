//! The proofs that a procedure must pass before it can be run, one file per check. The local ones
//! look at one step each; those about paths are made only where the meaning of every file is clear.

mod braces;
mod branches;
mod conditions;
mod contrary;
mod fills;
mod flat;
mod grid;
mod handed;
mod kinds;
mod loops;
mod misfit;
mod never_held;
mod passing;
mod policy;
mod put_back;
mod reach;
mod revoking;
mod sets;
mod signatures;
mod spelling;
mod values;
mod work;

#[cfg(test)]
mod tests;

pub(crate) use flat::{Flat, branches_after_call, flatten};
pub(crate) use passing::passed_on_every_way;
pub(crate) use sets::{Bits, told};
pub(crate) use values::uses;

use super::library::Sheets;
use super::load::Named;
use super::problem::Findings;
use super::rules::Rules;

/// Check step by step. Targets may still be names: a misspelt one hides no other problem. Where
/// procedures call each other in a ring, values that they give each other have no kind.
pub(crate) fn check_steps(sheets: &Sheets<Named>, in_ring: bool, findings: &mut Findings) {
    for sheet in sheets.values() {
        work::check(sheet, findings);
        braces::check(sheet, findings);
        fills::check(sheet, findings);
        if !in_ring {
            branches::check(sheet, sheets, findings);
            signatures::check(sheet, sheets, findings);
        }
    }
    signatures::not_taken(sheets, findings);
    revoking::check(sheets, findings);
    spelling::check(sheets, findings);
}

/// Check the ways through the procedures, `root` being the outermost. It must be clear what every
/// file means, and no procedure may call itself.
pub(crate) fn check_ways(root: &str, sheets: &Sheets, rules: &Rules, findings: &mut Findings) {
    for sheet in sheets.values() {
        reach::check(sheet, findings);
        contrary::check(sheet, findings);
        let lacking = put_back::check(sheet, findings);
        loops::check(sheet, &lacking, findings);
    }
    values::check(sheets, findings);
    // the one whose paths are proved with its calls written out
    let outermost = sheets.get(root);
    let outermost = outermost.filter(|sheet| sheet.procedure.takes.is_empty());
    let proved = if outermost.is_some() { root } else { "" };
    policy::check_sheets(proved, sheets, rules, findings);
    // one that takes values cannot be run by itself: it is proved where it is called
    if outermost.is_some() {
        never_held::check(sheets, findings);
    }
    if outermost.is_some()
        && let Some(flat) = flat::flatten(root, sheets, findings)
    {
        conditions::check(&flat, rules, findings);
        policy::check_paths(root, &flat, rules, findings);
    }
}
