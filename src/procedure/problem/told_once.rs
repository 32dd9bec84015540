//! Each flaw told once, where it is written: one of a step shows again in the steps that are the same as it.

use std::collections::{BTreeMap, BTreeSet};

use super::Problem;
use crate::procedure::library::Sheets;
use crate::procedure::load::Named;
use crate::procedure::model::Position;

/// Steps that are named beside the one in which a flaw is written.
const MOST_NAMED: usize = 3;

/// Where the steps begin, by file and line.
pub(in crate::procedure) type Starts = BTreeMap<(String, usize), String>;

/// Where the steps of all files begin.
pub(in crate::procedure) fn starts(sheets: &Sheets<Named>) -> Starts {
    let steps = sheets.values().flat_map(|sheet| sheet.places.declared());
    let start = |position: &Position| (position.file.clone(), position.line);
    steps
        .map(|(id, position)| (start(position), id.clone()))
        .collect()
}

/// The problems in order of file and place. Those that one written line makes of several steps are one, told of the
/// step in which that line stands.
pub(in crate::procedure) fn told_once(mut problems: Vec<Problem>, starts: &Starts) -> Vec<Problem> {
    problems.sort();
    let mut groups: BTreeMap<_, Vec<Problem>> = BTreeMap::new();
    for problem in problems {
        let place = problem
            .missing
            .as_ref()
            .map(|missing| missing.place.clone());
        let key = (problem.position.clone(), unnamed(&problem), place);
        groups.entry(key).or_default().push(problem);
    }
    let told = groups.into_values().filter_map(|group| one(group, starts));
    let told: BTreeSet<Problem> = told.collect();
    told.into_iter().collect()
}

fn one(group: Vec<Problem>, starts: &Starts) -> Option<Problem> {
    let ids: BTreeSet<&String> = group.iter().filter_map(|p| p.step.as_ref()).collect();
    let place = &group.first()?.position;
    let before = starts
        .range(..=(place.file.clone(), place.line))
        .next_back();
    let owner = before.filter(|((file, _), id)| *file == place.file && ids.contains(id));
    let owned = |problem: &&Problem| owner.is_some_and(|(_, id)| problem.step.as_ref() == Some(id));
    let mut told = group.iter().find(owned).or(group.first())?.clone();
    // one that names no step says the same of all of them
    let others = group.iter().filter(|other| other.message != told.message);
    let others: BTreeSet<&String> = others.filter_map(|other| other.step.as_ref()).collect();
    let others: Vec<String> = others.iter().map(|id| format!("`{id}`")).collect();
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

/// A message without the id of the step that it is about.
fn unnamed(problem: &Problem) -> String {
    match &problem.step {
        Some(id) => problem.message.replacen(&format!("`{id}`"), "``", 1),
        None => problem.message.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn problem(step: &str, message: &str) -> Problem {
        let position = Position {
            file: "a.yaml".to_owned(),
            line: 7,
            column: 5,
        };
        Problem::new(&position, message, "", "Mend it.").of_step(step)
    }

    /// One line of three steps: what names its step is told of the one in which the line stands, with the others
    /// named; what names another step, or none, is the same of all of them.
    #[test]
    fn what_a_shared_line_makes_of_several_steps_is_one_problem() {
        let start = (("a.yaml".to_owned(), 3), "crank".to_owned());
        let starts = Starts::from([start]);
        let told = |message: &dyn Fn(&str) -> String| {
            let of = |step| problem(step, &message(step));
            let found = ["again", "crank", "later"].map(of).to_vec();
            told_once(found, &starts)
        };
        let own = told(&|step| format!("step `{step}` is work that can hurt, without a hazard"));
        assert_eq!(own.len(), 1);
        assert!(own[0].message.starts_with("step `crank` is work"));
        assert_eq!(
            own[0].remedy,
            "Mend it. That line holds for `again`, `later` too (`same-as`)."
        );
        for same in ["step `held` has no value", "`none` stands beside another"] {
            let told = told(&|_| same.to_owned());
            assert_eq!(told.len(), 1);
            assert_eq!(
                (told[0].message.as_str(), told[0].remedy.as_str()),
                (same, "Mend it.")
            );
        }
    }
}
