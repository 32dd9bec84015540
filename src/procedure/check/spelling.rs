//! Is a condition written in two ways? Two names that differ by a slip of the pen are two conditions
//! to the proofs, one to the reader.

use std::collections::BTreeMap;

use crate::procedure::library::Sheets;
use crate::procedure::model::{Position, Step};
use crate::procedure::nearest::distance;
use crate::procedure::problem::Findings;
use crate::procedure::work::{Condition, Work};

/// Letters by which two names may differ and still be one by a slip.
const SLIP: usize = 2;
/// Shorter names are too near to each other by nature.
const SHORTEST: usize = 6;
/// Beyond so many names, each is compared with the compiled-in ones only.
const MOST_COMPARED: usize = 300;

/// Where a name is written.
struct Use {
    first: Position,
    count: usize,
}

pub(crate) fn check<T>(sheets: &Sheets<T>, findings: &mut Findings) {
    let mut used: BTreeMap<&str, Use> = BTreeMap::new();
    for sheet in sheets.values() {
        for (number, step) in sheet.procedure.steps.iter().enumerate() {
            for (key, condition) in conditions(step) {
                let part = format!("{key}/{condition}");
                let first = sheet.places.of(number, step, &part);
                let entry = used.entry(condition.0.as_str());
                entry.or_insert(Use { first, count: 0 }).count += 1;
            }
        }
    }
    let compiled: Vec<String> = Work::ALL
        .into_iter()
        .flat_map(Work::needs)
        .map(|condition| condition.0)
        .collect();
    joined(sheets, &used, &compiled, findings);
    let is_compiled = |name: &str| compiled.iter().any(|known| known == name);
    for (name, place) in used.iter().filter(|(name, _)| !is_compiled(name)) {
        let others = used.iter().filter(|_| used.len() <= MOST_COMPARED);
        let others = others
            .filter(|(_, other)| (other.count, &place.first) > (place.count, &other.first))
            .map(|(other, _)| *other);
        let meant = compiled.iter().map(String::as_str).chain(others);
        let Some(meant) = meant.into_iter().find(|other| is_slip(name, other)) else {
            continue;
        };
        findings.misspelt.insert((*name).to_owned());
        findings.misspelt.insert(meant.to_owned());
        findings.flaw(
            &place.first,
            format!("the condition `{name}` is written nearly like `{meant}`"),
            "Two spellings are two conditions: what one establishes never meets what the other \
             needs.",
            format!("Write `{meant}`, or choose a name that cannot be taken for it."),
        );
    }
}

/// Report names that are several others with no comma between.
fn joined<T>(
    sheets: &Sheets<T>,
    used: &BTreeMap<&str, Use>,
    compiled: &[String],
    findings: &mut Findings,
) {
    let known = |name: &str| used.contains_key(name) || compiled.iter().any(|c| c == name);
    for sheet in sheets.values() {
        for (number, step) in sheet.procedure.steps.iter().enumerate() {
            for (key, condition) in conditions(step) {
                let Some(parts) = parts_of(&condition.0, &known) else {
                    continue;
                };
                findings.misspelt.insert(condition.0.clone());
                findings
                    .misspelt
                    .extend(parts.iter().map(|part| (*part).to_owned()));
                let count = if parts.len() == 2 { "two" } else { "several" };
                findings.flaw_of(
                    &step.id,
                    &sheet.places.of(number, step, &format!("{key}/{condition}")),
                    format!("under `{key}`, `{condition}` is {count} conditions without a comma"),
                    "As one it is a condition that nothing else names.",
                    format!("Write `[{}]`.", parts.join(", ")),
                );
            }
        }
    }
}

/// The names that a longer one is made of, at least two, where all of it is such names.
fn parts_of<'n>(name: &'n str, known: &dyn Fn(&str) -> bool) -> Option<Vec<&'n str>> {
    let blanks = name.match_indices(' ');
    blanks.rev().find_map(|(at, _)| {
        let (first, rest) = (&name[..at], &name[at + 1..]);
        let rest = match known(first) {
            true if known(rest) => vec![rest],
            true => parts_of(rest, known)?,
            false => return None,
        };
        Some([vec![first], rest].concat())
    })
}

fn conditions<T>(step: &Step<T>) -> impl Iterator<Item = (&'static str, &Condition)> {
    let needs = step.needs.iter().map(|c| ("needs", c));
    let establishes = step.establishes.iter().map(|c| ("establishes", c));
    let revokes = step.revokes.iter().map(|c| ("revokes", c));
    needs.chain(establishes).chain(revokes)
}

/// Names that differ in their digits only are meant to differ.
fn is_slip(one: &str, other: &str) -> bool {
    let letters = |name: &str| -> String { name.chars().filter(|c| !c.is_ascii_digit()).collect() };
    one != other
        && one.chars().count() >= SHORTEST
        && one.chars().count().abs_diff(other.chars().count()) <= SLIP
        && letters(one) != letters(other)
        && distance(one, other) <= SLIP
}
