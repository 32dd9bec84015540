//! Is everything that a procedure disables put back whichever way it ends?

use std::collections::{BTreeMap, BTreeSet};

use super::sets::{Bits, Edge, Graph, told};
use crate::procedure::edges::{self, Way};
use crate::procedure::library::Sheet;
use crate::procedure::model::{Question, Step, StepIndex};
use crate::procedure::nearest::{nearest, suggestion};
use crate::procedure::problem::Findings;

/// Report what is left disabled. Given back are the steps that ask until the answer is yes while something is disabled,
/// and restore nothing: that they go round for ever follows from what they lack.
pub(crate) fn check(sheet: &Sheet, findings: &mut Findings) -> Vec<usize> {
    let steps = &sheet.procedure.steps;
    let all = steps.iter().flat_map(|step| &step.disables);
    let items: BTreeSet<&str> = all.map(|disabled| disabled.item.0.as_str()).collect();
    let items: Vec<&str> = items.into_iter().collect();
    unknown(sheet, &items, findings);
    // the fact that is followed is "in place": it holds at first, ends on entering a step that
    // disables, holds again by the answer yes of one that restores
    let graph = graph(sheet, &items);
    let states = graph.holding(Bits::all(items.len()));
    let left = left(steps, &states, items.len());
    let lacking = lacking(steps, &states, &left);
    for (open, facts) in left {
        let Some(number) = open.first() else {
            continue;
        };
        let nodes = graph.way_without(*number, facts[0], true);
        let nodes = nodes.unwrap_or_default();
        let way = told(&nodes, |node| steps[node].id.as_str());
        let more = match open.len() - 1 {
            0 => String::new(),
            1 => " and at another outcome".to_owned(),
            more => format!(" and at {more} more outcomes"),
        };
        let names: Vec<&str> = facts.iter().map(|fact| items[*fact]).collect();
        let of_first = match names.len() {
            1 => "",
            _ => " with the first of them",
        };
        let (listed, end) = (names.join("`, `"), &steps[*number]);
        let message = format!(
            "`{listed}` can still be disabled at the outcome `{}`{more}",
            end.id
        );
        let why = format!("The shortest way there{of_first}: {way}");
        let restores = format!("`restores: [{}]`", names.join(", "));
        let cause = nodes.iter().rev().map(|(node, _)| *node);
        let Some(cause) = cause.into_iter().find(|node| lacking.contains(node)) else {
            let remedy = format!("On that way, ask a `confirm` step with {restores}.");
            findings.flaw(&end.position, message, &why, remedy);
            continue;
        };
        let step = &steps[cause];
        findings.flaw_of(
            &step.id,
            &sheet.places.of(cause, step, "confirm"),
            format!(
                "step `{}` asks until the answer is yes, and restores nothing",
                step.id
            ),
            &format!("So {message}. {why}"),
            format!(
                "If it puts that back, write {restores} in it. If not, bound it with `at-most`."
            ),
        );
    }
    lacking
}

/// The outcomes at which something can still be disabled, and what. A step back that one way leaves out leaves everything
/// disabled that it restores: told together.
fn left(
    steps: &[Step<StepIndex>],
    states: &[Option<Bits>],
    items: usize,
) -> BTreeMap<Vec<usize>, Vec<usize>> {
    let outcomes: Vec<(usize, &Bits)> = steps
        .iter()
        .enumerate()
        .filter(|(_, step)| matches!(step.question, Question::Outcome { .. }))
        .filter_map(|(number, _)| Some((number, states[number].as_ref()?)))
        .collect();
    let mut left: BTreeMap<Vec<usize>, Vec<usize>> = BTreeMap::new();
    for fact in 0..items {
        let open = outcomes.iter().filter(|(_, state)| !state.has(fact));
        let open: Vec<usize> = open.map(|(number, _)| *number).collect();
        left.entry(open).or_default().push(fact);
    }
    left
}

/// Steps that ask again after no, restore nothing and can be reached with something disabled that is left so.
fn lacking(
    steps: &[Step<StepIndex>],
    states: &[Option<Bits>],
    left: &BTreeMap<Vec<usize>, Vec<usize>>,
) -> Vec<usize> {
    let left = left.iter().filter(|(open, _)| !open.is_empty());
    let facts: Vec<usize> = left.flat_map(|(_, facts)| facts).copied().collect();
    let lacks = |number: &usize| {
        let step = &steps[*number];
        let again = matches!(&step.question, Question::Confirm { no, .. } if no.0 == *number);
        let open = states[*number].as_ref();
        let open = open.is_some_and(|state| facts.iter().any(|fact| !state.has(*fact)));
        again && open && step.restores.is_empty() && step.at_most.is_none()
    };
    (0..steps.len()).filter(lacks).collect()
}

fn unknown(sheet: &Sheet, items: &[&str], findings: &mut Findings) {
    for (number, step) in sheet.procedure.steps.iter().enumerate() {
        for item in &step.restores {
            if items.contains(&item.0.as_str()) {
                continue;
            }
            findings.flaw_of(
                &step.id,
                &sheet.places.of(number, step, &format!("restores/{item}")),
                format!(
                    "step `{}` restores `{item}`, which nothing here disables",
                    step.id
                ),
                "A procedure puts back what it disabled itself, under the same name.",
                suggestion(&item.0, items.iter().copied()),
            );
        }
    }
}

fn graph(sheet: &Sheet, items: &[&str]) -> Graph {
    // what is misspelt was told, and is followed as it was meant
    let place = |name: &str| items.iter().position(|item| *item == name);
    let number = |name: &str| place(name).or_else(|| place(nearest(name, items.iter().copied())?));
    let steps = sheet.procedure.steps.iter().map(|step| {
        let disabled = step.disables.iter();
        let disabled: Vec<usize> = disabled.filter_map(|d| number(&d.item.0)).collect();
        let restored: Vec<usize> = step.restores.iter().filter_map(|i| number(&i.0)).collect();
        let edge = |(way, to)| Edge {
            to,
            note: if way == Way::No { " (no)" } else { "" },
            drops: match way {
                Way::PassedOver => Vec::new(),
                _ => disabled.clone(),
            },
            adds: match way {
                Way::Yes => restored.clone(),
                _ => Vec::new(),
            },
        };
        edges::ways(step).into_iter().map(edge).collect()
    });
    Graph {
        edges: steps.collect(),
    }
}
