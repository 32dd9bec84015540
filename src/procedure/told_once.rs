//! Each flaw told once, where it is written: one of a step shows again in the steps that are the same as it.

use std::collections::{BTreeMap, BTreeSet};

use super::library::Sheets;
use super::load::Named;
use super::model::Position;
use super::problem::Problem;

/// Steps that are named beside the one in which a flaw is written.
const MOST_NAMED: usize = 3;

/// Where the steps begin, by file and line.
pub(super) type Starts = BTreeMap<(String, usize), String>;

/// Where the steps of all files begin.
pub(super) fn starts(sheets: &Sheets<Named>) -> Starts {
    let steps = sheets.values().flat_map(|sheet| sheet.places.declared());
    let start = |position: &Position| (position.file.clone(), position.line);
    steps
        .map(|(id, position)| (start(position), id.clone()))
        .collect()
}

/// The problems in order of file and place. Those that one written line makes of several steps are one, told of the
/// step in which that line stands.
pub(super) fn told_once(mut problems: Vec<Problem>, starts: &Starts) -> Vec<Problem> {
    problems.sort();
    let mut groups: BTreeMap<_, Vec<Problem>> = BTreeMap::new();
    for problem in problems {
        let place = problem
            .missing
            .as_ref()
            .map(|missing| missing.place.clone());
        let (message, _) = parted(&problem.message);
        let key = (problem.position.clone(), message, place);
        groups.entry(key).or_default().push(problem);
    }
    let told = groups.into_values().filter_map(|group| one(group, starts));
    let told: BTreeSet<Problem> = told.collect();
    told.into_iter().collect()
}

fn one(group: Vec<Problem>, starts: &Starts) -> Option<Problem> {
    let ids: BTreeSet<String> = group.iter().filter_map(|p| parted(&p.message).1).collect();
    let place = &group.first()?.position;
    let before = starts
        .range(..=(place.file.clone(), place.line))
        .next_back();
    let owner = before.filter(|((file, _), id)| *file == place.file && ids.contains(*id));
    let owner = owner.map(|(_, id)| id.clone());
    let owned = |problem: &&Problem| owner.is_some() && parted(&problem.message).1 == owner;
    let told = group.iter().find(owned).or(group.first())?;
    let mut told = told.clone();
    let kept = parted(&told.message).1;
    let others = ids.iter().filter(|id| kept.as_ref() != Some(*id));
    let others: Vec<String> = others.map(|id| format!("`{id}`")).collect();
    let named = others.iter().take(MOST_NAMED).cloned();
    let named = named.collect::<Vec<_>>().join(", ");
    match others.len().saturating_sub(MOST_NAMED) {
        0 if others.is_empty() => {}
        0 => told.remedy += &format!(" That line holds for {named} too (`same-as`)."),
        more => {
            told.remedy +=
                &format!(" That line holds for {named} and {more} more too (`same-as`).");
        }
    }
    Some(told)
}

/// A message without the id of the step that it speaks of, and the id.
fn parted(message: &str) -> (String, Option<String>) {
    let parts = message.split_once("step `");
    let parts = parts.and_then(|(before, after)| Some((before, after.split_once('`')?)));
    match parts {
        Some((before, (id, after))) => (format!("{before}{after}"), Some(id.to_owned())),
        None => (message.to_owned(), None),
    }
}
