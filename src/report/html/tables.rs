//! What else the record holds: computed results, notes, what was put back, rules and cautions.

use maud::{Markup, html};

use crate::followup::escape;
use crate::procedure::computation::Computation;
use crate::record::bundle::model::{ComputedResult, Record};
use crate::report::text::time;
use crate::text::clean;

/// Results that were computed beside the captures'; nothing where there are none.
pub(super) fn computed(record: &Record) -> Markup {
    let leak_down = Computation::LeakDown.name();
    let tested_leakage = record.computed.iter().any(|r| r.computation == leak_down);
    let results: Vec<&ComputedResult> = record.computed.iter().filter(|r| !only_leads(r)).collect();
    if results.is_empty() {
        return html! {};
    }
    let after_captures = !record.captures.is_empty();
    html! {
        h3 { @if after_captures { "Follow-up tests and other results" } @else { "Results" } }
        @for result in results { (facts(result)) }
        @if tested_leakage {
            p.aside {
                "Loss is the share of the supply's gauge pressure that does not arrive in the cylinder; the flow ratio is the area of all leaks over that of the tester's restrictor. What the place of escape means is "
                (escape::BASIS) "."
            }
        }
    }
}

/// What only leads through a procedure and says nothing of the engine: the answers stand in the path taken.
fn only_leads(result: &ComputedResult) -> bool {
    let computation = Computation::parse(&result.computation);
    matches!(
        computation,
        Some(Computation::EngineKind | Computation::NextCylinder)
    )
}

fn facts(result: &ComputedResult) -> Markup {
    // in the order in which the computation gives them, which is the order of their weight
    let declared: Vec<&str> = Computation::parse(&result.computation)
        .map(|computation| computation.facts().iter().map(|fact| fact.name).collect())
        .unwrap_or_default();
    let first = declared
        .iter()
        .filter_map(|name| result.facts.get_key_value(*name));
    let rest = result
        .facts
        .iter()
        .filter(|(name, _)| !declared.contains(&name.as_str()));
    html! {
        div.keep {
            h4 {
                (clean(&result.computation)) ", step " (clean(&result.step)) ", " (time(&result.at))
                @if result.superseded { " (superseded)" }
            }
            dl.facts { @for (name, value) in first.chain(rest) { div {
                dt { (clean(name)) }
                dd { (clean(value)) }
            } } }
        }
    }
}

/// Notes made on the way.
pub(super) fn notes(record: &Record) -> Markup {
    html! {
        h3 { "Notes" }
        @if record.notes.is_empty() { p { "None." } } @else {
            table {
                thead { tr {
                    th scope="col" { "Time, UTC" }
                    th scope="col" { "Step" }
                    th scope="col" { "Note" }
                } }
                tbody { @for note in &record.notes { tr {
                    td.time { (time(&note.at)) }
                    td { (clean(&note.step)) }
                    td { (clean(&note.text)) }
                } } }
            }
        }
    }
}

/// What was disabled, and whether it is back.
pub(super) fn put_back(record: &Record) -> Markup {
    html! {
        h3 { "Disabled and put back" }
        @if record.put_back.is_empty() { p { "Nothing was disabled." } } @else {
            ul.columns { @for entry in &record.put_back { li {
                strong { (clean(&entry.item)) } ", disabled at step " (clean(&entry.disabled_by)) ": "
                @match &entry.restored_at {
                    Some(at) => { "put back " span.time { (time(at)) } },
                    None => strong { "NOT PUT BACK" },
                }
            } } }
        }
    }
}

/// The rule of decision, where one was applied, and what the methods that were used cannot do.
pub(super) fn rules(record: &Record) -> Markup {
    html! {
        @if !record.decision_rule.is_empty() {
            h3 { "Decision rule" }
            p { (clean(&record.decision_rule)) }
        }
        @if !record.cautions.is_empty() {
            h3 { "Cautions" }
            ul { @for caution in &record.cautions { li { (clean(caution)) } } }
        }
    }
}
