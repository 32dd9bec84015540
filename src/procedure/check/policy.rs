//! Does a procedure meet what the shop's policy demands: revision, steps on the way to outcomes, and no
//! waiver of what protects? Further needs of work are proved with the others, in `conditions`.

use super::flat::{Flat, flatten};
use super::sets::{Bits, Edge, Graph, told};
use crate::procedure::library::{Sheet, Sheets};
use crate::procedure::model::{OutcomeKind, Position, Question, Step, StepIndex};
use crate::procedure::nearest::suggestion;
use crate::procedure::problem::Findings;
use crate::procedure::rules::{Ruled, Rules, StepsBefore, Waiving};
use crate::procedure::waiving;

/// Rules that look at single procedures and steps: least revisions, waivers, and steps before outcomes
/// of procedures that are called; those of the outermost are proved through its calls.
pub(crate) fn check_sheets(root: &str, sheets: &Sheets, rules: &Rules, findings: &mut Findings) {
    for (name, least) in &rules.revisions {
        let Some(sheet) = sheets.get(name) else {
            continue;
        };
        let revision = sheet.procedure.revision;
        if revision < least.revision {
            findings.flaw(
                &sheet.procedure.source.place_of_key("revision"),
                format!(
                    "`{name}` is revision {revision}; the shop works by revision {} or later",
                    least.revision
                ),
                &format!("So says its policy, {}.", least.position),
                "Take the later file, or have the lead change the policy.".to_owned(),
            );
        }
    }
    for rule in &rules.steps_before {
        if rule.procedure != root && sheets.contains_key(&rule.procedure) {
            check_called(sheets, rule, findings);
        }
    }
    for waiving in &rules.waivers {
        if let Some(sheet) = sheets.get(&waiving.procedure) {
            check_waiving(waiving, sheet, sheets, rules, findings);
        }
    }
}

fn check_waiving(
    waiving: &Waiving,
    sheet: &Sheet,
    sheets: &Sheets,
    rules: &Rules,
    findings: &mut Findings,
) {
    let steps = &sheet.procedure.steps;
    let Some(step) = steps.iter().find(|step| step.id == waiving.step) else {
        findings.flaw(
            &waiving.position,
            format!(
                "`{}` has no step `{}` to be waived",
                waiving.procedure, waiving.step
            ),
            "",
            suggestion(&waiving.step, steps.iter().map(|step| step.id.as_str())),
        );
        return;
    };
    if let Some(why) = indispensable(step, sheets, rules) {
        findings.flaw(
            &waiving.position,
            format!(
                "step `{}` of `{}` cannot be waived: {why}",
                step.id, waiving.procedure
            ),
            "What protects people, or what others rest on, is never waived.",
            "Take the line out of the policy.".to_owned(),
        );
    }
}

/// Why a step can be waived by nobody.
fn indispensable(step: &Step<StepIndex>, sheets: &Sheets, rules: &Rules) -> Option<String> {
    let needed = |condition: &crate::procedure::work::Condition| {
        let mut steps = sheets.values().flat_map(|sheet| &sheet.procedure.steps);
        steps.any(|other| {
            other.needs.contains(condition)
                || other
                    .work
                    .iter()
                    .any(|work| work.needs().contains(condition))
                || rules.needed(&other.work).any(|need| need == condition)
        })
    };
    waiving::indispensable(step, needed)
}

/// Steps that must stand on every path to an outcome, over all paths of the outermost procedure.
pub(crate) fn check_paths(root: &str, flat: &Flat<'_>, rules: &Rules, findings: &mut Findings) {
    let own = rules
        .steps_before
        .iter()
        .filter(|rule| rule.procedure == root);
    for rule in own {
        let outcomes = outcomes(flat, rule);
        if outcomes.is_empty() {
            let ids = flat.places.iter().filter(|place| is_outcome(place.step()));
            let kinds = OutcomeKind::ALL.iter().map(|kind| kind.name());
            let known: Vec<&str> = ids.map(|place| place.path.as_str()).chain(kinds).collect();
            findings.flaw(
                &rule.position,
                format!("`{root}` has no outcome `{}`", rule.outcome),
                "A rule about an outcome that never comes protects nobody.",
                suggestion(&rule.outcome, known),
            );
        }
        for wanted in &rule.steps {
            check_path(root, flat, rule, wanted, &outcomes, findings);
        }
    }
}

/// The same over all paths of one procedure that is called, or that takes values and is proved where it is called,
/// with what it calls itself written out: its steps are named as the rule names them.
fn check_called(sheets: &Sheets, rule: &StepsBefore, findings: &mut Findings) {
    let name = &rule.procedure;
    let Some(flat) = flatten(name, sheets, findings) else {
        return;
    };
    let outcomes = outcomes(&flat, rule);
    for wanted in &rule.steps {
        check_path(name, &flat, rule, wanted, &outcomes, findings);
    }
}

fn report(place: &Position, outcome: &str, wanted: &Ruled, way: &str, findings: &mut Findings) {
    findings.flaw(
        place,
        format!(
            "the outcome `{outcome}` can be reached without `{}`, which the shop's policy wants before it",
            wanted.name
        ),
        &format!("The policy: {}. The shortest way there: {way}", wanted.position),
        format!("Lead that way past `{}`, or to another outcome.", wanted.name),
    );
}

fn is_outcome(step: &Step<StepIndex>) -> bool {
    matches!(step.question, Question::Outcome { .. })
}

/// Nodes of the outcomes that a rule is about.
fn outcomes(flat: &Flat<'_>, rule: &StepsBefore) -> Vec<usize> {
    let meant = |node: &usize| {
        let place = &flat.places[*node];
        let Question::Outcome { kind, .. } = &place.step().question else {
            return false;
        };
        let outermost = !place.path.contains('/');
        outermost && (place.path == rule.outcome || kind.name() == rule.outcome)
    };
    (0..flat.places.len()).filter(meant).collect()
}

fn check_path(
    root: &str,
    flat: &Flat<'_>,
    rule: &StepsBefore,
    wanted: &Ruled,
    outcomes: &[usize],
    findings: &mut Findings,
) {
    let step = flat
        .places
        .iter()
        .position(|place| place.path == wanted.name);
    let Some(step) = step else {
        findings.flaw(
            &wanted.position,
            format!("`{root}` has no step `{}`", wanted.name),
            &format!("The policy wants it on every path to `{}`.", rule.outcome),
            suggestion(
                &wanted.name,
                flat.places.iter().map(|place| place.path.as_str()),
            ),
        );
        return;
    };
    let graph = passing(flat, step);
    let states = graph.holding(Bits::none(1));
    let open = outcomes
        .iter()
        .find(|node| states[**node].as_ref().is_some_and(|state| !state.has(0)));
    if let Some(node) = open {
        let way = graph.way_without(*node, 0, false).unwrap_or_default();
        let way = told(&way, |node| flat.places[node].path.as_str());
        let place = &flat.places[*node];
        report(&place.step().position, &place.path, wanted, &way, findings);
    }
}

/// The graph with the one fact that a step was passed: by yes where it confirms, by any answer else.
fn passing(flat: &Flat<'_>, step: usize) -> Graph {
    let edges = flat.graph.edges.iter().enumerate().map(|(node, edges)| {
        let edges = edges.iter().map(|edge| Edge {
            to: edge.to,
            note: edge.note,
            drops: Vec::new(),
            adds: if node == step && edge.note.is_empty() {
                vec![0]
            } else {
                Vec::new()
            },
        });
        edges.collect()
    });
    Graph {
        edges: edges.collect(),
    }
}
