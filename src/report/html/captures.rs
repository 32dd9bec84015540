//! The captures of a job: pictures, results and checks of each.

use maud::{Markup, html};

use super::{bars, waveform};
use crate::cranking::answer::{Analysis, Check, Finding};
use crate::record::bundle::model::{CaptureResult, Record};
use crate::report::text::{number, time};
use crate::report::wording;
use crate::text::clean;

/// All of them, in order; nothing where there are none.
pub(super) fn section(record: &Record) -> Markup {
    let charted = super::summary::charted(record);
    html! {
        @if !record.captures.is_empty() { h3 { "Captures" } }
        @for (at, capture) in record.captures.iter().enumerate() {
            @let is_on_page_one = charted.is_some_and(|charted| std::ptr::eq(charted, capture));
            (one(capture, at + 1, is_on_page_one))
        }
    }
}

fn one(capture: &CaptureResult, number: usize, is_on_page_one: bool) -> Markup {
    let id = format!("capture-{number}");
    html! {
        h4 {
            "Capture " (number) ": " (clean(&capture.file.file))
            @if capture.superseded { " (superseded: the technician went back behind it)" }
        }
        p.aside {
            "Handed over " (time(&capture.at)) " at step " (clean(&capture.step)) " as "
            (clean(&capture.file.original)) ", " (capture.file.bytes) " bytes; set-up "
            (clean(&capture.file.setup)) "."
        }
        @if !capture.file.understood.is_empty() {
            p.aside {
                "How it was read:"
                @for line in &capture.file.understood { br; (clean(line)) }
            }
        }
        @match &capture.analysis {
            None => p { "No analysis was made of it." },
            Some(analysis) => {
                p { strong { (wording::verdict(analysis)) ". " } (clean(&analysis.verdict.why)) }
                p { (wording::basis(analysis)) }
                @if let Some(text) = wording::naming(analysis) { p { (text) } }
            }
        }
        @if let Some(drawing) = &capture.drawing {
            @let low = capture.analysis.as_ref().map(wording::low_rows).unwrap_or_default();
            @let name = capture.analysis.as_ref().map_or("Cylinder", wording::row_name);
            (waveform::figures(drawing, &low, name, &id))
        }
        @if let Some(analysis) = &capture.analysis { (results(analysis, &id, is_on_page_one)) }
    }
}

fn results(analysis: &Analysis, id: &str, is_on_page_one: bool) -> Markup {
    html! {
        @if wording::judged(analysis) && !is_on_page_one { (bars::figure(analysis, id)) }
        div.pair {
            @if wording::tells_rows(analysis) { (rows(analysis)) }
            (checks("Quality of the signal", &analysis.quality))
        }
        @for passed_over in &analysis.passed_over {
            (checks(&format!("Not used: {}", passed_over.source.name()), &passed_over.quality))
        }
        @if !analysis.remarks.is_empty() {
            ul { @for remark in &analysis.remarks { li { (clean(remark)) } } }
        }
    }
}

fn rows(analysis: &Analysis) -> Markup {
    let rows = wording::rows(analysis);
    html! {
        @if !rows.is_empty() {
            table.keep.narrow {
                caption { "Relative compression" }
                thead { tr {
                    th scope="col" { (wording::row_name(analysis)) }
                    th.number scope="col" { "Estimate" }
                    th.number scope="col" { "95 % interval" }
                    th scope="col" { "Finding" }
                } }
                tbody { @for row in &rows { tr {
                    th scope="row" { (row.which()) }
                    td.number { (number(row.percent, 1)) " %" }
                    td.number { (number(row.low, 1)) " – " (number(row.high, 1)) " %" }
                    td {
                        @let words = wording::finding(row.finding, analysis.low_percent);
                        @if row.finding == Finding::Low { strong { (words) } } @else { (words) }
                    }
                } } }
            }
        }
    }
}

fn checks(caption: &str, checks: &[Check]) -> Markup {
    let cause = wording::failed(checks).map(|(cause, _)| cause.check);
    let failed = cause.is_some();
    let to_do = |check: &Check| match cause {
        _ if check.passed => String::new(),
        Some(cause) if cause == check.check => clean(&check.advice),
        _ => wording::FOLLOWS.to_owned(),
    };
    html! {
        @if !checks.is_empty() {
            table {
                caption { (caption) }
                thead { tr {
                    th scope="col" { "Check" }
                    th scope="col" { "Result" }
                    th.number scope="col" { "Measured" }
                    th.number scope="col" { "Allowed" }
                    @if failed { th scope="col" { "What to do" } }
                } }
                tbody { @for check in checks { tr {
                    th scope="row" { (check.check.words()) }
                    td.word { @if check.passed { "passed" } @else { strong { "FAILED" } } }
                    td.number { (wording::check_measured(check)) }
                    td.number { (wording::check_limit(check)) }
                    @if failed { td { (to_do(check)) } }
                } } }
            }
        }
    }
}
