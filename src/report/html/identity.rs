//! What was tested with what: vehicle, engine, instruments; and the files that the record rests on.

use maud::{Markup, html};

use crate::procedure::model::RecordLine;
use crate::record::bundle::model::Record;
use crate::report::signatures::{Attachment, Signatures, Standing};
use crate::text::clean;
use crate::text::list;

/// The lines of the record, and which were asked for and not told.
pub(super) fn lines(record: &Record, signatures: &Signatures) -> Markup {
    let known = RecordLine::ALL.map(RecordLine::name);
    let present = known
        .iter()
        .filter_map(|name| record.lines.get_key_value(*name));
    let others = record
        .lines
        .iter()
        .filter(|(name, _)| !known.contains(&name.as_str()));
    let untold: Vec<String> = record.untold.iter().map(|name| clean(name)).collect();
    if record.lines.is_empty() && untold.is_empty() {
        return html! {};
    }
    html! {
        h3 { "Vehicle, engine, instruments" }
        dl.facts { @for (name, value) in present.chain(others) { div {
            dt { (clean(name)) }
            dd {
                (clean(value))
                @match signatures.corrects(record, name) {
                    Some(Standing::Accepted) => " (corrected, see page one)",
                    Some(_) => " (a correction on page one is not accepted yet)",
                    None => "",
                }
            }
        } } }
        @if !untold.is_empty() { p.aside { "Not recorded: " (list(&untold)) "." } }
        @if record.captures.iter().any(|capture| capture.analysis.is_some()) {
            p.aside {
                "Results are named by the firing order and cylinder numbering above. If either is wrong, the wrong cylinder is named and nothing else shows it."
            }
        }
    }
}

/// Procedures, captures, attachments, journal and the job before, with their hashes.
pub(super) fn files(record: &Record, signatures: &Signatures) -> Markup {
    html! {
        h3 { "What the record rests on" }
        table.files {
            thead { tr {
                th scope="col" { "File" }
                th scope="col" { "What it is" }
                th scope="col" { "SHA-256" }
            } }
            tbody {
                @for file in &record.procedures {
                    (row(&file.file, &format!("{}, revision {}", file.title, file.revision), &file.sha256))
                }
                @for capture in &record.captures {
                    (row(&capture.file.file, "capture as handed over", &capture.file.sha256))
                    (row(&capture.file.setup, "its set-up", &capture.file.setup_sha256))
                }
                @for attachment in &signatures.attachments {
                    (row(&attachment.file, &attached(attachment), &attachment.sha256))
                }
                (row("journal.jsonl", &format!("journal of {} lines; hash of the last", record.journal_lines), &record.journal_head))
                @if let Some(previous) = &record.previous {
                    (row("MANIFEST.sha256", "of the job that the workshop sealed before this one", previous))
                }
            }
        }
        @if record.is_practice() {
            p.aside { "Practice stands in no chain of the workshop's jobs." }
        } @else if record.previous.is_none() {
            p.aside { "No job of this workshop was sealed before this one." }
        }
    }
}

fn attached(attachment: &Attachment) -> String {
    let shown = if attachment.picture.is_some() {
        "picture, shown below"
    } else {
        "file as handed over, not shown here"
    };
    format!("{shown}; {} bytes", attachment.bytes)
}

fn row(file: &str, what: &str, hash: &str) -> Markup {
    html! {
        tr {
            th scope="row" { (clean(file)) }
            td { (clean(what)) }
            td { code { (clean(hash)) } }
        }
    }
}
