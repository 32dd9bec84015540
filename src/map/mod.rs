//! A procedure as a picture: an SVG in a self-contained HTML page, Graphviz DOT, Mermaid, and a work
//! sheet for paper. It shows what the file says and decides nothing; where rehearsals are given, it marks
//! what they did not reach.

mod arrange;
mod chart;
mod dot;
mod mermaid;
mod page;
mod place;
mod sheet;
mod style;
mod svg;
mod wording;

#[cfg(test)]
mod tests;

pub use dot::dot;
pub use mermaid::mermaid;
pub use page::page;
pub use sheet::sheet;

use crate::procedure::model::{Library, Procedure, Question, StepIndex};

/// A procedure and those that it calls, each once, outermost first, in the order of their calls.
fn in_order<'l>(library: &'l Library, root: &str) -> Vec<&'l Procedure<StepIndex>> {
    let mut all: Vec<&Procedure<StepIndex>> = library.procedures.get(root).into_iter().collect();
    let mut next = 0;
    while let Some(procedure) = all.get(next).copied() {
        next += 1;
        for step in &procedure.steps {
            if let Question::Call { procedure, .. } = &step.question
                && let Some(called) = library.procedures.get(procedure)
                && !all.iter().any(|known| known.name == called.name)
            {
                all.push(called);
            }
        }
    }
    all
}
