//! The path taken: one line for every question with its time and answer, superseded ones included; and,
//! folded away, everything that was shown word for word.

use maud::{Markup, html};

use crate::procedure::model::Hazard;
use crate::record::bundle::model::{PathEntry, Record};
use crate::report::text::time;
use crate::text::clean;

/// The path.
pub(super) fn section(record: &Record) -> Markup {
    html! {
        h3 { "Path taken" }
        @if record.path.is_empty() { p { "No question was answered." } } @else {
            p.aside {
                "Procedure " (clean(&record.procedure)) ", begun " (time(&record.opened))
                ". Each line: time (UTC), step, what was asked, the answer. What is marked as superseded was answered before the technician went back, and does not count; what is carried over was answered before that and not asked anew. Signal words tell which hazards were shown before the step."
            }
            @for (phase, entries) in phases(&record.path) {
                div.phase {
                    @if !phase.is_empty() { h4 { (phase) } }
                    ol.path { @for entry in entries { (line(entry)) } }
                }
            }
            (word_for_word(record))
        }
    }
}

/// Entries that follow each other in one phase; one without a phase of its own goes with those before it.
fn phases(path: &[PathEntry]) -> Vec<(String, Vec<&PathEntry>)> {
    let mut runs: Vec<(String, Vec<&PathEntry>)> = Vec::new();
    for entry in path {
        let phase = clean(&entry.phase);
        match runs.last_mut() {
            Some((last, run)) if phase.is_empty() || phase == *last => run.push(entry),
            _ => runs.push((phase, vec![entry])),
        }
    }
    runs
}

fn line(entry: &PathEntry) -> Markup {
    html! {
        li.superseded[entry.superseded] {
            span.time { (of_day(&entry.at)) } " "
            code { (clean(&entry.step)) } " "
            @for word in words(&entry.hazards) { b.word { (word) } " " }
            @if !entry.asked.is_empty() { (clean(&entry.asked)) " " }
            strong {
                @if entry.superseded { "superseded: " }
                (clean(&entry.answered))
            }
            @if let Some(given) = &entry.carried_from { " (carried over from " (of_day(given)) ")" }
        }
    }
}

/// The time of day; a whole time where it is none.
fn of_day(at: &str) -> String {
    let whole = time(at);
    match whole.split_once(' ') {
        Some((_, of_day)) if of_day.len() == 8 => of_day.to_owned(),
        _ => whole,
    }
}

/// Each signal word once, in order.
fn words(hazards: &[Hazard]) -> Vec<&'static str> {
    let mut words: Vec<&'static str> = Vec::new();
    for hazard in hazards {
        let word = hazard.word.text();
        if !words.contains(&word) {
            words.push(word);
        }
    }
    words
}

/// Hazards and actions as they were shown: long, so that it is printed only where it is unfolded.
fn word_for_word(record: &Record) -> Markup {
    let shown = record
        .path
        .iter()
        .filter(|entry| !entry.hazards.is_empty() || entry.action.is_some());
    html! {
        details {
            summary { "Hazards and actions as they were shown, word for word (printed only if unfolded)" }
            table {
                thead { tr {
                    th scope="col" { "Step" }
                    th scope="col" { "Shown" }
                } }
                tbody { @for entry in shown { tr {
                    th scope="row" { (clean(&entry.step)) }
                    td {
                        @for hazard in &entry.hazards {
                            p.hazard { b { (hazard.word.text()) } " " (clean(&hazard.text)) }
                        }
                        @if let Some(action) = &entry.action { p { (clean(action)) } }
                        @if !entry.asked.is_empty() { p { (clean(&entry.asked)) } }
                    }
                } } }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::bundle::model::Record;
    use crate::report::example;

    #[test]
    fn a_phase_has_one_heading_until_the_next_begins() {
        let Record { path, .. } = example::record();
        let of = |phase: &str| PathEntry {
            phase: phase.to_owned(),
            ..path[0].clone()
        };
        // what a called procedure ends with has no phase
        let path = ["close", "put back", "", "put back", "", "close"].map(of);
        let headings = phases(&path);
        let headings: Vec<(&str, usize)> = headings
            .iter()
            .map(|(phase, run)| (phase.as_str(), run.len()))
            .collect();
        assert_eq!(headings, [("close", 1), ("put back", 4), ("close", 1)]);
    }
}
