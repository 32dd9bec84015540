//! The map as Graphviz DOT text.

use std::fmt::Write;

use super::{in_order, wording};
use crate::procedure::model::{Library, Procedure, Question, StepIndex};
use crate::procedure::ways;
use crate::rehearse::coverage::Coverage;

/// A text in DOT's double quotes.
fn quoted(text: &str) -> String {
    format!(
        "\"{}\"",
        text.replace('\\', "\\\\")
            .replace('"', "\\\"")
            .replace('\n', "\\n")
    )
}

/// A digraph with a cluster for each procedure.
#[must_use]
pub fn dot(library: &Library, root: &str, coverage: Option<&Coverage>) -> String {
    let mut text = format!(
        "digraph {} {{\n  node [shape=box, fontname=\"sans-serif\"];\n",
        quoted(root)
    );
    for procedure in in_order(library, root) {
        // writing to a String does not fail
        let _ = writeln!(
            text,
            "  subgraph {} {{",
            quoted(&format!("cluster {}", procedure.name))
        );
        let _ = writeln!(text, "    label={};", quoted(&procedure.title));
        for number in 0..procedure.steps.len() {
            step(&mut text, procedure, number, coverage);
        }
        text.push_str("  }\n");
        for (number, step) in procedure.steps.iter().enumerate() {
            if let Question::Call {
                procedure: called, ..
            } = &step.question
                && let Some(first) = library.procedures.get(called).and_then(|p| p.steps.first())
            {
                let to = quoted(&format!("{called}/{}", first.id));
                let _ = writeln!(
                    text,
                    "  {} -> {to} [style=dotted, label=\"calls\"];",
                    node(procedure, number)
                );
            }
        }
    }
    text + "}\n"
}

/// A step and the ways out of it.
fn step(
    text: &mut String,
    procedure: &Procedure<StepIndex>,
    number: usize,
    coverage: Option<&Coverage>,
) {
    let step = &procedure.steps[number];
    let node = |number: usize| node(procedure, number);
    let hazards = step.hazards.iter().map(|hazard| hazard.word.text());
    let mut lines = vec![step.id.clone()];
    lines.extend(hazards.map(str::to_owned));
    lines.extend(wording::work(step));
    lines.extend(wording::shortened(&wording::asked(&step.question), 34, 3));
    lines.extend(wording::vouched(step));
    let end = matches!(step.question, Question::Outcome { .. });
    let signed = !step.establishes.is_empty() || !step.restores.is_empty();
    let untested = coverage.is_some_and(|c| !c.has_step(&procedure.name, StepIndex(number)));
    let _ = writeln!(
        text,
        "    {} [label={}{}{}{}];",
        node(number),
        quoted(&lines.join("\n")),
        if end { ", shape=oval" } else { "" },
        if signed { ", penwidth=2" } else { "" },
        if untested { ", style=dashed" } else { "" }
    );
    for (way, to) in ways(step) {
        let told = wording::way(step, way);
        let untested =
            coverage.is_some_and(|c| !c.has_way(&procedure.name, StepIndex(number), way));
        let style = if untested { ", style=dashed" } else { "" };
        let _ = writeln!(
            text,
            "    {} -> {} [label={}{style}];",
            node(number),
            node(to),
            quoted(&told)
        );
    }
}

fn node(procedure: &Procedure<StepIndex>, number: usize) -> String {
    quoted(&format!(
        "{}/{}",
        procedure.name, procedure.steps[number].id
    ))
}
