//! The map as Mermaid text, for places that draw it.

use std::fmt::Write;

use super::{in_order, wording};
use crate::procedure::model::{Library, Question, StepIndex};
use crate::procedure::ways;
use crate::rehearse::coverage::Coverage;

/// A text in Mermaid's double quotes, where quotes and signs are written as entities.
fn quoted(text: &str) -> String {
    let mut told = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => told.push_str("#quot;"),
            '<' => told.push_str("#lt;"),
            '>' => told.push_str("#gt;"),
            '#' => told.push_str("#35;"),
            '&' => told.push_str("#amp;"),
            c => told.push(c),
        }
    }
    told + "\""
}

/// A flowchart with a subgraph for each procedure.
#[must_use]
pub fn mermaid(library: &Library, root: &str, coverage: Option<&Coverage>) -> String {
    let mut text = String::from("flowchart TD\n");
    for (place, procedure) in in_order(library, root).into_iter().enumerate() {
        // writing to a String does not fail
        let _ = writeln!(text, "  subgraph p{place} [{}]", quoted(&procedure.title));
        for (number, step) in procedure.steps.iter().enumerate() {
            let hazards = step
                .hazards
                .iter()
                .map(|hazard| hazard.word.text().to_owned());
            let lines: Vec<String> = [step.id.clone()]
                .into_iter()
                .chain(hazards)
                .chain(wording::shortened(&wording::asked(&step.question), 34, 3))
                .map(|line| quoted(&line).trim_matches('"').to_owned())
                .collect();
            let label = lines.join("<br/>");
            let end = matches!(step.question, Question::Outcome { .. });
            let _ = if end {
                writeln!(text, "    p{place}s{number}([\"{label}\"])")
            } else {
                writeln!(text, "    p{place}s{number}[\"{label}\"]")
            };
            for (way, to) in ways(step) {
                let untested =
                    coverage.is_some_and(|c| !c.has_way(&procedure.name, StepIndex(number), way));
                let arrow = if untested { "-.->" } else { "-->" };
                let told = match wording::way(step, way) {
                    told if told.is_empty() => told,
                    told => format!("|{}|", quoted(&told)),
                };
                let _ = writeln!(text, "    p{place}s{number} {arrow}{told} p{place}s{to}");
            }
        }
        text.push_str("  end\n");
    }
    text
}
