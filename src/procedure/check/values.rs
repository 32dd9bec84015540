//! Does a value exist, whichever way was taken, where it is used?

use std::collections::{BTreeMap, BTreeSet};

use super::braces;
use super::flat::branches_after_call;
use super::sets::{Bits, Edge, Graph, told};
use crate::procedure::edges::{self, Way};
use crate::procedure::library::{Sheet, Sheets};
use crate::procedure::model::{Procedure, Question, Step, StepIndex, ValuePath};
use crate::procedure::problem::Findings;

/// Uses that are reported with their shortest way: each costs a walk through the whole graph.
const MOST_EXPLAINED: usize = 100;

/// For each outcome of a procedure, by its id: the given values that exist there.
type Given = BTreeMap<String, BTreeSet<String>>;

pub(crate) fn check(sheets: &Sheets, findings: &mut Findings) {
    let mut given: BTreeMap<String, Given> = BTreeMap::new();
    let mut waiting: Vec<&str> = sheets.keys().map(String::as_str).collect();
    // a procedure after those that it calls; rings were refused before, so this ends
    while let Some(name) = waiting.last().copied() {
        let Some(sheet) = sheets.get(name).filter(|_| !given.contains_key(name)) else {
            waiting.pop();
            continue;
        };
        let missing: Vec<&str> = callees(&sheet.procedure)
            .filter(|callee| !given.contains_key(*callee) && sheets.contains_key(*callee))
            .collect();
        if missing.is_empty() {
            let own = check_one(sheet, &given, findings);
            given.insert(name.to_owned(), own);
        }
        waiting.extend(missing);
    }
}

fn callees(procedure: &Procedure<StepIndex>) -> impl Iterator<Item = &str> {
    procedure
        .steps
        .iter()
        .filter_map(|step| match &step.question {
            Question::Call { procedure, .. } => Some(procedure.as_str()),
            _ => None,
        })
}

/// What is followed: a step's value, or one that a call gave (the outcome always exists).
fn key(path: &ValuePath, procedure: &Procedure<StepIndex>) -> String {
    let called = procedure
        .steps
        .iter()
        .any(|step| step.id == path.of && matches!(step.question, Question::Call { .. }));
    if called {
        path.to_string()
    } else {
        path.of.clone()
    }
}

/// Where a step uses values.
pub(crate) fn uses(step: &Step<StepIndex>) -> Vec<(String, ValuePath)> {
    let shown = braces::shown(step).into_iter();
    let mut uses: Vec<_> = shown.map(|(part, path)| (part.to_owned(), path)).collect();
    if let Question::Compute { with, .. } | Question::Call { with, .. } = &step.question {
        let handed = with.iter();
        uses.extend(handed.map(|(name, path)| (format!("with/{name}"), path.clone())));
    }
    uses
}

fn check_one(sheet: &Sheet, given: &BTreeMap<String, Given>, findings: &mut Findings) -> Given {
    let procedure = &sheet.procedure;
    let is_own = |path: &ValuePath| !procedure.takes.contains(&path.of);
    let used = procedure.steps.iter().flat_map(uses).map(|(_, path)| path);
    let all = used.chain(procedure.gives.values().cloned());
    let facts: BTreeSet<String> = all
        .filter(is_own)
        .map(|path| key(&path, procedure))
        .collect();
    let facts: Vec<String> = facts.into_iter().collect();
    let number = |name: &str| facts.iter().position(|fact| fact == name);
    let graph = graph(procedure, &facts, given);
    let states = graph.holding(Bits::none(facts.len()));
    let mut own = Given::new();
    for (at, step) in procedure.steps.iter().enumerate() {
        let Some(state) = &states[at] else {
            continue;
        };
        let exists = |path: &ValuePath| {
            !is_own(path) || number(&key(path, procedure)).is_some_and(|fact| state.has(fact))
        };
        for (part, path) in uses(step).into_iter().filter(|(_, path)| !exists(path)) {
            let fact = number(&key(&path, procedure)).unwrap_or_default();
            let explained = findings.list.len() <= MOST_EXPLAINED;
            let way = explained.then(|| graph.way_without(at, fact, false));
            let way = way.flatten().unwrap_or_default();
            let remedy = remedy(&path, &way, procedure);
            let way = told(&way, |node| procedure.steps[node].id.as_str());
            findings.flaw_of(
                &step.id,
                &braces::place(sheet, at, &part, &path, findings.list.len()),
                format!(
                    "step `{}` uses `{path}`, which does not exist on every way to it",
                    step.id
                ),
                &format!("The shortest way to it without: {way}"),
                remedy,
            );
        }
        if matches!(step.question, Question::Outcome { .. }) {
            let gives = procedure.gives.iter().filter(|(_, path)| exists(path));
            let names = gives.map(|(name, _)| name.clone()).collect();
            own.insert(step.id.clone(), names);
        }
    }
    own
}

/// What mends a use; `way` is the shortest one on which the value does not exist.
fn remedy(path: &ValuePath, way: &[(usize, &str)], procedure: &Procedure<StepIndex>) -> String {
    let passed = way
        .iter()
        .any(|(node, _)| procedure.steps[*node].id == path.of);
    match &path.fact {
        Some(fact) if passed => format!(
            "On that way `{}` comes to an outcome that has no `{fact}`: lead on from that outcome to a step that does \
             without the value.",
            path.of
        ),
        _ => format!(
            "Lead that way past `{}`, or do without the value here.",
            path.of
        ),
    }
}

fn graph(
    procedure: &Procedure<StepIndex>,
    facts: &[String],
    given: &BTreeMap<String, Given>,
) -> Graph {
    let number = |name: &str| facts.iter().position(|fact| fact == name);
    let steps = procedure.steps.iter().map(|step| {
        let own: Vec<usize> = number(&step.id).into_iter().collect();
        let edge = |(way, to): (Way, usize)| Edge {
            to,
            note: if way == Way::No { " (no)" } else { "" },
            drops: Vec::new(),
            adds: match (&step.question, way) {
                (Question::Call { procedure, .. }, Way::Only | Way::Branch(_)) => {
                    let called = given.get(procedure);
                    let names = called.map(|called| after(step, way, called));
                    let names = names.unwrap_or_default();
                    let paths = names.iter().map(|name| format!("{}.{name}", step.id));
                    paths.filter_map(|path| number(&path)).collect()
                }
                _ => own.clone(),
            },
        };
        edges::ways(step).into_iter().map(edge).collect()
    });
    Graph {
        edges: steps.collect(),
    }
}

/// The values that a call gave at every outcome that leads this way, and the outcome itself.
fn after(step: &Step<StepIndex>, way: Way, called: &Given) -> BTreeSet<String> {
    let wanted = match way {
        Way::Branch(number) => number,
        _ => 0,
    };
    let leading = called.iter().filter(|(outcome, _)| {
        let branches = branches_after_call(step, outcome);
        branches.iter().any(|(number, _)| *number == wanted)
    });
    let common = leading
        .map(|(_, names)| names.clone())
        .reduce(|one, other| &one & &other);
    let mut common = common.unwrap_or_default();
    common.insert(super::kinds::OUTCOME.to_owned());
    common
}
