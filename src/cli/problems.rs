//! Problems of procedure files as they are told: to a person each mistake once with the lines it stands in, to
//! programs everything.

use std::collections::{BTreeMap, BTreeSet};

use crate::procedure::model::Position;
use crate::procedure::{Missing, Problem, together};
use crate::text::{counted, steers};

/// Problems told to a person at once; programs get them all.
const MOST_TOLD: usize = 300;

/// Problems with the lines that they stand in, and how many they are; nothing where there is none. A condition
/// that is missing is told once, at the first step that needs it; those of one step are told together.
pub(crate) fn listed(problems: &BTreeSet<Problem>, texts: &BTreeMap<String, String>) -> String {
    let mut firsts: BTreeMap<(&str, &str), (&Problem, &Missing)> = BTreeMap::new();
    let mut steps: BTreeMap<(&str, &str), BTreeSet<&str>> = BTreeMap::new();
    for problem in problems {
        let Some(missing) = &problem.missing else {
            continue;
        };
        let key = (missing.root.as_str(), missing.condition.as_str());
        steps.entry(key).or_default().insert(&missing.step);
        let first = firsts.entry(key).or_insert((problem, missing));
        if missing.distance < first.1.distance {
            *first = (problem, missing);
        }
    }
    let told = problems.iter().filter(|problem| {
        let first = |missing: &Missing| {
            let key = (missing.root.as_str(), missing.condition.as_str());
            firsts.get(&key).is_some_and(|(first, _)| first == problem)
        };
        problem.missing.as_ref().is_none_or(first)
    });
    let others = |missing: &Missing| {
        let key = (missing.root.as_str(), missing.condition.as_str());
        steps.get(&key).cloned().unwrap_or_default()
    };
    with_count(&blocks(told, &others, texts))
}

/// The same, with a missing condition told at every step that needs it.
pub(crate) fn listed_at_every_step(
    problems: &BTreeSet<Problem>,
    texts: &BTreeMap<String, String>,
) -> String {
    with_count(&blocks(problems.iter(), &|_| BTreeSet::new(), texts))
}

/// Each problem with its lines; conditions that are missing at one step in one. `others` are the steps that miss a
/// condition as well.
fn blocks<'a>(
    problems: impl Iterator<Item = &'a Problem>,
    others: &dyn Fn(&Missing) -> BTreeSet<&'a str>,
    texts: &BTreeMap<String, String>,
) -> Vec<String> {
    let mut groups: Vec<Vec<&Problem>> = Vec::new();
    let of_step = |problem: &Problem| {
        let missing = problem.missing.as_ref()?;
        let file = problem.position.file.clone();
        Some((missing.root.clone(), missing.step.clone(), file))
    };
    for problem in problems {
        let step = of_step(problem);
        let same = groups
            .iter_mut()
            .find(|group| step.is_some() && of_step(group[0]) == step);
        match same {
            Some(group) => group.push(problem),
            None => groups.push(vec![problem]),
        }
    }
    let told = groups.iter().filter_map(|group| {
        let missing = || group.iter().filter_map(|problem| problem.missing.as_ref());
        let mut also: BTreeSet<&str> = missing().flat_map(others).collect();
        missing().for_each(|missing| {
            also.remove(missing.step.as_str());
        });
        let problem = together(group)?;
        Some(one(
            &problem,
            &so_many_others(also.len(), group.len()),
            texts,
        ))
    });
    told.collect()
}

/// What is worth a look and no problem.
pub(crate) fn remarked(remarks: &BTreeSet<Problem>, texts: &BTreeMap<String, String>) -> String {
    let told = remarks.iter().map(|remark| {
        let mut remark = remark.clone();
        remark.message = format!("remark: {}", remark.message);
        one(&remark, "", texts)
    });
    let mut said: String = told.collect();
    if !remarks.is_empty() {
        said += &format!("{}.\n", counted(remarks.len(), "remark"));
    }
    said
}

fn so_many_others(steps: usize, conditions: usize) -> String {
    let (steps, need, name) = match steps {
        0 => return String::new(),
        1 => ("1 other step".to_owned(), "needs", "it"),
        _ => (format!("{steps} other steps"), "need", "them"),
    };
    let needed = if conditions > 1 { "some of that" } else { "it" };
    format!("  also: {steps} {need} {needed}; `evenfire check --every-step` names {name}\n")
}

fn one(problem: &Problem, also: &str, texts: &BTreeMap<String, String>) -> String {
    format!("{problem}\n{also}{}\n", excerpt(problem, texts))
}

fn with_count(said: &[String]) -> String {
    let mut text: String = said.iter().take(MOST_TOLD).map(String::as_str).collect();
    match said.len() {
        0 => {}
        count if count > MOST_TOLD => {
            text.push_str(&format!(
                "{count} problems; the first {MOST_TOLD} are told.\n"
            ));
        }
        count => text += &format!("{}.\n", counted(count, "problem")),
    }
    text
}

/// The line that a problem stands in, the ones around it, and a mark under the place. Nothing that
/// could steer the terminal is passed on.
fn excerpt(problem: &Problem, texts: &BTreeMap<String, String>) -> String {
    const WIDEST: usize = 160;
    let Position { file, line, column } = &problem.position;
    let Some(text) = texts.get(file) else {
        return String::new();
    };
    let mut shown = String::new();
    let lines = text.lines().enumerate().skip(line.saturating_sub(2));
    for (number, words) in lines.map(|(at, words)| (at + 1, words)) {
        if number > line + 1 {
            break;
        }
        let words = words.trim_start_matches('\u{feff}');
        let safe = |c: char| {
            if steers(c) { '·' } else { c }
        };
        let words: String = words.chars().take(WIDEST).map(safe).collect();
        shown.push_str(&format!("{number:>6} | {words}\n"));
        if number == *line && *column <= WIDEST {
            shown.push_str(&format!("       | {}^\n", " ".repeat(column - 1)));
        }
    }
    shown
}

/// A problem as programs read it.
pub(crate) fn as_json(problem: &Problem) -> serde_json::Value {
    let mut told = serde_json::json!({
        "file": problem.position.file,
        "line": problem.position.line,
        "column": problem.position.column,
        "message": problem.message,
        "why": problem.why,
        "remedy": problem.remedy,
    });
    if let Some(missing) = &problem.missing {
        told["missing"] = serde_json::json!({
            "procedure": missing.root,
            "condition": missing.condition,
            "step": missing.step,
            "file": missing.place.file,
            "line": missing.place.line,
            "column": missing.place.column,
        });
    }
    told
}
