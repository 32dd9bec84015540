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
mod sheet_blanks;
mod sheet_ends;
mod sheet_rest;
mod style;
mod svg;
mod visits;
mod wording;

#[cfg(test)]
mod tests;

pub use dot::dot;
pub use mermaid::mermaid;
pub use page::page;
pub use sheet::sheet;

use maud::Markup;

use crate::engine::starter_duty::StarterDuty;
use crate::followup::limits::ShopLimits;
use crate::procedure::model::{Library, Procedure, Question, StepIndex};
use crate::procedure::rules::Rules;
use crate::procedure::waiving::who_by;
use crate::text::html;

/// The shop that a map or sheet is for.
#[derive(Debug, Clone, Copy)]
pub struct ForShop<'h> {
    /// Its name.
    pub name: &'h str,
    /// Its limits.
    pub limits: ShopLimits,
    /// What it demands and who may waive.
    pub rules: &'h Rules,
}

impl ForShop<'_> {
    /// Who may waive a step, in words.
    fn who_may_waive(&self, procedure: &str, step: &str) -> Option<String> {
        who_by(self.rules, procedure, step)
    }
}

/// How long a starter may turn and must rest: by the shop's limit, else the usual one.
fn starter(shop: Option<&ForShop<'_>>) -> StarterDuty {
    shop.map_or_else(ShopLimits::default, |shop| shop.limits)
        .starter
}

/// What a page may do: show its own styles.
const CONTENT_SECURITY_POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'";

/// A page of its own.
fn document(title: &str, style: &str, body: &Markup) -> String {
    html::document(title, style, CONTENT_SECURITY_POLICY, body)
}

/// The title of the outermost of some procedures; its name where it is not among them.
fn title_of<'l>(all: &[&'l Procedure<StepIndex>], root: &'l str) -> &'l str {
    all.first()
        .map_or(root, |procedure| procedure.title.as_str())
}

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
