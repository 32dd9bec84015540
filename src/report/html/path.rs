//! The path taken: every question with its hazards and its answer, superseded ones included.

use maud::{Markup, html};

use crate::record::model::{PathEntry, Record};
use crate::report::text::{clean, time};

/// The table of the path.
pub(super) fn section(record: &Record) -> Markup {
    html! {
        h3 { "Path taken" }
        @if record.path.is_empty() { p { "No question was answered." } } @else {
            p.aside {
                "Procedure " (clean(&record.procedure))
                "; answers marked as superseded were given before the technician went back, and do not count."
            }
            table {
                thead { tr {
                    th scope="col" { "Line" }
                    th scope="col" { "Time, UTC" }
                    th scope="col" { "Step" }
                    th scope="col" { "Shown and asked" }
                    th scope="col" { "Answer" }
                } }
                tbody { @for entry in &record.path { (row(entry)) } }
            }
        }
    }
}

fn row(entry: &PathEntry) -> Markup {
    html! {
        tr.superseded[entry.superseded] {
            td.line { (entry.line) }
            td.time { (time(&entry.at)) }
            td.step { (clean(&entry.step)) br; span.aside { (clean(&entry.phase)) } }
            td.shown {
                @for hazard in &entry.hazards {
                    p.hazard { b { (hazard.word.text()) } " " (clean(&hazard.text)) }
                }
                @if let Some(action) = &entry.action { p { (clean(action)) } }
                @if !entry.asked.is_empty() { p { (clean(&entry.asked)) } }
            }
            td.reply {
                @if entry.superseded { "superseded: " }
                (clean(&entry.answered))
            }
        }
    }
}
