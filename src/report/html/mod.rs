//! The record as one HTML page: page one for the customer, the rest for technicians. It needs nothing
//! but itself: no script, no font, no picture from elsewhere, and a policy that forbids them.

mod bars;
mod captures;
pub mod compare;
mod identity;
mod path;
mod pictures;
mod signing;
mod style;
mod summary;
mod tables;
mod verification;
mod waveform;

#[cfg(test)]
mod tests;

use maud::{Markup, html};

use super::signatures::Signatures;
use super::text::time;
use crate::record::bundle::model::Record;
use crate::text;
use crate::text::clean;

/// Nothing may be loaded or run; styles stand in the page.
pub const CONTENT_SECURITY_POLICY: &str =
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:";

/// The page. The same record and signatures give the same bytes.
#[must_use]
pub fn page(record: &Record, signatures: &Signatures) -> String {
    let practice = record.is_practice();
    let mark = if practice { "PRACTICE: " } else { "" };
    let title = format!("{mark}{}", heading(record));
    let body = html! {
        (header(record))
        main {
            (practice_banner(record))
            (summary::section(record, signatures))
            (technician(record, signatures))
        }
        (footer(record))
    };
    document(&title, practice, &body)
}

/// What was done, and under which number.
fn heading(record: &Record) -> String {
    format!("{}, job {}", clean(record.title()), clean(&record.job))
}

/// A page of its own.
fn document(title: &str, practice: bool, body: &Markup) -> String {
    text::html::document(
        title,
        &style::sheet(practice),
        CONTENT_SECURITY_POLICY,
        body,
    )
}

fn header(record: &Record) -> Markup {
    html! {
        header {
            p.shop { (clean(&record.shop)) }
            h1 { (heading(record)) }
            p {
                "Done by " (clean(&record.technician)) ", " (time(&record.opened)) " to "
                (time(&record.sealed)) " UTC"
                @if record.simulated_clock { ", by a simulated clock" }
            }
        }
    }
}

fn practice_banner(record: &Record) -> Markup {
    html! {
        @if record.is_practice() {
            section.practice aria-labelledby="practice" {
                h2 id="practice" { "PRACTICE" }
                p { "This page shows an exercise. It says nothing about a customer's vehicle and counts for nothing:" }
                ul {
                    @for reason in &record.practice { li { (clean(reason)) } }
                }
            }
        }
    }
}

fn technician(record: &Record, signatures: &Signatures) -> Markup {
    html! {
        section.technician aria-labelledby="technician" {
            h2 id="technician" { "For the technician" }
            (identity::lines(record, signatures))
            (captures::section(record))
            (tables::computed(record))
            (path::section(record))
            (tables::notes(record))
            (tables::put_back(record))
            (signing::waivers(signatures))
            (tables::rules(record))
            (identity::files(record, signatures))
            (pictures::section(signatures))
            (signing::section(record, signatures))
            (verification::section(record, signatures))
        }
    }
}

fn footer(record: &Record) -> Markup {
    html! {
        footer {
            p {
                "This page is derived from the signed files beside it and is not signed itself; "
                code { "evenfire verify" }
                " renders it again and tells if it differs. Made by " (clean(&record.tool))
                ". Times are UTC."
            }
        }
    }
}
