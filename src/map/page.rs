//! The map as a page of its own: nothing is fetched, nothing runs.

use maud::{Markup, PreEscaped, html};

use super::chart::Chart;
use super::{ForShop, document, in_order, style, svg, title_of};
use crate::procedure::model::{Library, Procedure, StepIndex};
use crate::rehearse::coverage::Coverage;

/// The page of a procedure and all that it calls. What `coverage` did not reach is marked, and what may be
/// waived in a shop.
#[must_use]
pub fn page(
    library: &Library,
    root: &str,
    coverage: Option<&Coverage>,
    shop: Option<&ForShop<'_>>,
) -> String {
    let all = in_order(library, root);
    let title = format!("Map: {}", title_of(&all, root));
    let body = html! {
        @for (number, procedure) in all.iter().enumerate() {
            (one(procedure, number == 0, coverage, shop))
        }
    };
    document(&title, style::MAP, &body)
}

/// What is said of waivers as a whole.
fn waivers(shop: Option<&ForShop<'_>>) -> String {
    match shop {
        None => "Which steps may be waived is in a shop's policy: make the map inside a shop, or with --shop.".to_owned(),
        Some(shop) if shop.rules.waivers.is_empty() => {
            format!("By the policy of {} no step may be waived.", shop.name)
        }
        Some(shop) => format!(
            "By the policy of {} a step that says so may be waived, signed by those whom it names; all others by nobody.",
            shop.name
        ),
    }
}

fn one(
    procedure: &Procedure<StepIndex>,
    first: bool,
    coverage: Option<&Coverage>,
    shop: Option<&ForShop<'_>>,
) -> Markup {
    let mut chart = Chart::of(procedure, coverage);
    if let Some(shop) = shop {
        chart.waivable(|step| shop.who_may_waive(&procedure.name, step));
    }
    let picture = svg::svg(&procedure.name, &procedure.title, &chart);
    html! {
        @if first {
            h1 { (procedure.title) }
        } @else {
            h2 { (procedure.title) }
        }
        p.aside {
            (procedure.name) ", revision " (procedure.revision) ", " (procedure.steps.len()) " steps"
            @if let Some(coverage) = coverage {
                @let reached = coverage.of(procedure);
                ". Rehearsed: " (reached.steps) " steps, " (reached.ways) " ways, "
                (reached.outcomes) " ends"
            }
            "."
        }
        @if first {
            p { (procedure.purpose) }
            p.aside.key {
                span.k-signed { "thick frame" } "its yes makes something hold, or says that it is back. "
                span { "→ name" } "last in a box: a way to a step further off; follow it by clicking. "
                @if coverage.is_some() {
                    span.k-untested { "dashed, ⚑" } "no scenario went there. "
                }
                span { "WARNING 3" } "the third hazard of the list below the picture. "
                "Point at a box for all of its text."
            }
            p.aside { (waivers(shop)) }
        }
        div.frame { (PreEscaped(picture)) }
        @if !chart.hazards.is_empty() {
            h3 { "Hazards by number" }
            ol.hazards { @for hazard in &chart.hazards {
                li { b class=(svg::class_of(hazard.word)) { (hazard.word.text()) } " " (hazard.text) }
            } }
        }
    }
}
