//! Page one, for the customer: what was asked, what was found, how sure that is, what to do.

use maud::{Markup, html};

use super::bars;
use crate::cranking::answer::{Analysis, Finding};
use crate::procedure::model::{OutcomeKind, RecordLine};
use crate::record::bundle::model::{CaptureResult, Record};
use crate::report::signatures::{Countersignature, Ruling, Signatures, Standing};
use crate::report::text::{measured, number};
use crate::report::wording::{self, Row};
use crate::text::{clean, counted, list};

/// Page one.
pub(super) fn section(record: &Record, signatures: &Signatures) -> Markup {
    let vehicle = record.vehicle().into_iter();
    let vehicle: Vec<String> = vehicle
        .map(|(name, value)| match signatures.corrects(record, name) {
            Some(Standing::Accepted) => format!("{} (corrected below)", clean(value)),
            Some(_) => format!("{} (a correction below is not accepted yet)", clean(value)),
            None => clean(value),
        })
        .collect();
    let deciding = record.deciding();
    html! {
        section.summary aria-labelledby="result" {
            h2 id="result" { "Result" }
            dl.answer {
                dt { "Vehicle" }
                dd { @if vehicle.is_empty() { "not recorded" } @else { (vehicle.join(" · ")) } }
                @if let Some(complaint) = complaint(record, signatures) {
                    dt { "Complaint" }
                    dd { (complaint) }
                }
                dt { "What was found" }
                dd {
                    @if let Some(told) = signatures.outdated(record) { p.open { (clean(&told)) } }
                    div.found { (wording::found(record)) }
                    @for told in wording::taken_back(record) { p.open { (clean(&told)) } }
                    div { (clean(&record.outcome.finding)) }
                }
                dt { "How sure that is" }
                dd {
                    @for sentence in how_sure(record, deciding, signatures) { p { (sentence) } }
                }
                (added(signatures))
                dt { "What to do" }
                dd {
                    (record.outcome.advice.as_ref().map_or("nothing further was advised".to_owned(), |text| clean(text)))
                }
            }
            @if let Some(analysis) = charted(record).and_then(|capture| capture.analysis.as_ref()) {
                (bars::figure(analysis, "summary"))
            }
            (still_open(record))
        }
    }
}

/// What the customer says; nothing where the procedure does not ask for it.
fn complaint(record: &Record, signatures: &Signatures) -> Option<String> {
    const LINE: &str = RecordLine::Complaint.name();
    if let Some(text) = record.lines.get(LINE) {
        return Some(clean(text));
    }
    if !record.untold.iter().any(|name| name == LINE) {
        return None;
    }
    // the step that fills the line bears its name in the procedures that ask for it
    let waived = signatures
        .waivers
        .iter()
        .find(|waiver| waiver.step.rsplit('/').next() == Some(LINE));
    Some(match waived {
        Some(waiver) => format!(
            "not recorded, waived by {}: {}",
            clean(&waiver.signature.identity),
            clean(&waiver.reason)
        ),
        None => "no complaint was recorded".to_owned(),
    })
}

/// The capture whose bars stand on page one: that which the result rests on, if it gave a verdict. A job
/// without a verdict rests on none, whatever each capture said by itself.
pub(super) fn charted(record: &Record) -> Option<&CaptureResult> {
    let judged = |capture: &&CaptureResult| capture.analysis.as_ref().is_some_and(wording::judged);
    record
        .deciding()
        .filter(|_| !without_result(record))
        .filter(judged)
}

/// Whether the job came to no result, whatever a capture said by itself.
fn without_result(record: &Record) -> bool {
    matches!(
        record.outcome.kind,
        OutcomeKind::NoVerdict | OutcomeKind::NotDone
    )
}

/// What a recording hinted at in a job that was not carried through; nothing where none gave a verdict.
fn hinted(record: &Record) -> Option<String> {
    if record.outcome.kind != OutcomeKind::NotDone {
        return None;
    }
    let judged: Vec<(usize, &Analysis)> = record.judged().collect();
    let (_, first) = judged.first()?;
    let low = judged
        .iter()
        .map(|(_, analysis)| wording::verdict(analysis));
    let low: Vec<String> = low
        .filter_map(|told| Some(told.strip_prefix("Low: ")?.to_owned()))
        .collect();
    let Some(named) = low.first() else {
        let (recordings, but) = match judged.len() {
            1 => ("One recording".to_owned(), "which nothing confirmed"),
            count => (
                format!("{count} recordings"),
                "and the work was stopped before its end",
            ),
        };
        return Some(format!(
            "{recordings} found none under {} %, {but}. Do not rely on it; test again.",
            measured(first.low_percent)
        ));
    };
    Some(match low.iter().all(|other| other == named) {
        true if low.len() > 1 => format!(
            "{} recordings hinted at {named}, and the work was stopped before anything else was tested. Confirm it before \
             anything is taken apart.",
            low.len()
        ),
        true => format!("One recording hinted at {named}; not confirmed. Do not act on it; test again."),
        false => "The recordings hinted at different cylinders; none is confirmed. Do not act on them; test again.".to_owned(),
    })
}

/// What captures said that came to no verdict together; nothing where none said anything by itself.
fn not_together(record: &Record) -> Option<String> {
    let judged: Vec<(usize, &Analysis)> = record.judged().collect();
    let said: Vec<String> = judged
        .iter()
        .map(|(number, analysis)| format!("recording {number}: {}", wording::verdict(analysis)))
        .collect();
    judged.first()?;
    let told = if !record.is_disagreed() {
        let recordings = counted(judged.len() as u64, "recording");
        format!(
            "{recordings} of the turning engine gave a result, but not one that the job can rest on"
        )
    } else {
        format!(
            "The recordings of the turning engine do not agree ({}), so none of them counts",
            said.join("; ")
        )
    };
    Some(format!(
        "{told}. The numbers of each stand in the part for the technician."
    ))
}

/// What is to be read beside or instead of the rest; nothing where nothing was added.
pub(super) fn added(signatures: &Signatures) -> Markup {
    html! {
        @if !signatures.amendments.is_empty() {
            dt { "Added after signing" }
            dd { @for (at, amendment) in signatures.amendments.iter().enumerate() {
                p { (clean(&amendment.says)) " – " (decided(signatures.decided(at))) }
            } }
        }
    }
}

/// What a lead decided on an addition.
fn decided(decision: Option<&Countersignature>) -> String {
    let Some(decision) = decision else {
        return "no lead has decided on it".to_owned();
    };
    let who = clean(&decision.signature.identity);
    match (decision.ruling, &decision.reason) {
        (Ruling::Accepted, _) => format!("accepted by {who}"),
        (Ruling::Returned, Some(reason)) => format!("RETURNED by {who}: {}", clean(reason)),
        (Ruling::Returned, None) => format!("RETURNED by {who}"),
    }
}

fn how_sure(
    record: &Record,
    deciding: Option<&CaptureResult>,
    signatures: &Signatures,
) -> Vec<String> {
    let mut sentences = Vec::new();
    let is_undecided = record.outcome.kind == OutcomeKind::NoVerdict;
    let not_together = is_undecided.then(|| not_together(record)).flatten();
    let hinted = hinted(record);
    match deciding.and_then(|capture| capture.analysis.as_ref()) {
        _ if hinted.is_some() => sentences.extend(hinted),
        Some(_) if not_together.is_some() => sentences.extend(not_together),
        Some(analysis) => {
            sentences.push(measured_how(record, analysis));
            sentences.extend(low_rows(record, analysis));
            sentences.extend(undecided_rows(analysis));
            if !wording::judged(analysis) {
                sentences.push(clean(&analysis.verdict.why));
            }
            sentences.push(wording::COMMON_LOSS.to_owned());
        }
        None => sentences.extend(unanalysed(record)),
    }
    sentences.push(reviewed(record, signatures));
    sentences
}

/// What a result without an analysis rests on; a test that was not carried out has no result.
fn unanalysed(record: &Record) -> Option<String> {
    if record.outcome.kind == OutcomeKind::NotDone {
        return None;
    }
    let told = if record.captures.is_empty() {
        "It rests on what the technician read off, saw and entered, each listed under Path taken."
    } else {
        "The recordings were not analysed; it rests on what the technician read off, saw and entered, each listed under Path taken."
    };
    Some(told.to_owned())
}

fn measured_how(record: &Record, analysis: &Analysis) -> String {
    let judged: Vec<(usize, &Analysis)> = record.judged().collect();
    let recordings = match judged.len() {
        0 => "No recording of the turning engine was good enough for a verdict".to_owned(),
        1 => "One recording of the turning engine gave a verdict".to_owned(),
        count => format!("{count} recordings of the turning engine gave a verdict"),
    };
    let Some(cranking) = analysis.cranking else {
        return format!("{recordings}.");
    };
    let cycles = measured(cranking.cycles);
    match judged.last() {
        Some((number, _)) if judged.len() > 1 => format!(
            "{recordings}; the numbers here are of the last, recording {number}, which covers {cycles} engine cycles."
        ),
        Some(_) => format!("{recordings}; it covers {cycles} engine cycles."),
        None => format!("{recordings}; the last covers {cycles} engine cycles."),
    }
}

fn low_rows(record: &Record, analysis: &Analysis) -> Option<String> {
    let name = wording::row_name(analysis);
    let rows = wording::rows(analysis).into_iter();
    let low = rows.filter(|row| row.finding == Finding::Low);
    let low: Vec<String> = low
        .map(|row| low_row(&row, name) + &in_each(record, &row, name))
        .collect();
    if low.is_empty() {
        return None;
    }
    Some(format!(
        "{}; under {} % counts as low. The ranges hold the true value 95 times in 100.",
        list(&low),
        measured(analysis.low_percent)
    ))
}

/// What each recording says of that row, where several gave a verdict: two numbers of one cylinder are told apart.
/// Places in the firing sequence are counted from another start in each.
fn in_each(record: &Record, row: &Row, name: &str) -> String {
    let judged: Vec<(usize, &Analysis)> = record.judged().collect();
    let (Some(((last, _), before)), "Cylinder") = (judged.split_last(), name) else {
        return String::new();
    };
    let same = |analysis: &Analysis| {
        let named = wording::row_name(analysis) == name;
        let mut rows = wording::rows(analysis).into_iter();
        rows.find(|other| named && other.number == row.number)
    };
    let others = before.iter().filter_map(|(number, analysis)| {
        let percent = crate::report::text::number(same(analysis)?.percent, 0);
        Some(format!("recording {number}: {percent} %"))
    });
    let others: Vec<String> = others.collect();
    match others.is_empty() {
        true => String::new(),
        false => format!(" in recording {last} ({})", others.join(", ")),
    }
}

/// Cylinders that a verdict leaves open; nothing where it leaves none.
fn undecided_rows(analysis: &Analysis) -> Option<String> {
    if !wording::judged(analysis) {
        return None;
    }
    let rows = wording::rows(analysis);
    let open = rows
        .iter()
        .filter(|row| row.finding == Finding::Uncertain)
        .map(|row| {
            let (name, which) = (wording::row_name(analysis), row.which());
            let (low, high) = (number(row.low, 0), number(row.high, 0));
            format!("{name} {which} ({low} to {high} %)")
        });
    let open: Vec<String> = open.collect();
    (!open.is_empty()).then(|| format!("{} could not be decided.", list(&open)))
}

fn low_row(row: &Row, name: &str) -> String {
    format!(
        "{name} {}: {} % of the good ones (between {} and {} %)",
        row.which(),
        number(row.percent, 0),
        number(row.low, 0),
        number(row.high, 0)
    )
}

/// Who vouches for the job as it stands, in a sentence: everybody who signed, in order.
pub(super) fn reviewed(record: &Record, signatures: &Signatures) -> String {
    let Some(technician) = &signatures.technician else {
        let told = match record.needs_signatures() {
            true => "Nobody has signed this job yet.",
            false => "Nobody has signed this exercise, and nobody need.",
        };
        return told.to_owned();
    };
    let mut told = format!("Signed by {}", clean(&technician.identity));
    let mut decided = signatures.countersign.as_ref();
    let mut adding: Vec<String> = Vec::new();
    for amendment in &signatures.amendments {
        if let Some(countersign) = decided {
            told += &added_by(&mut adding);
            told += &format!("; {}", ruled(countersign));
        }
        let by = clean(&amendment.signature.identity);
        if !adding.contains(&by) {
            adding.push(by);
        }
        decided = amendment.countersign.as_ref();
    }
    told += &added_by(&mut adding);
    let last = match decided {
        Some(countersign) => ruled(countersign),
        None if signatures.amendments.is_empty() => "nobody else has reviewed it".to_owned(),
        None => "nobody else has reviewed it since".to_owned(),
    };
    format!("{told}; {last}.")
}

/// Who added since the last decision; nobody is told twice.
fn added_by(adding: &mut Vec<String>) -> String {
    let those = std::mem::take(adding);
    if those.is_empty() {
        return String::new();
    }
    format!("; added to later by {}", list(&those))
}

fn ruled(countersign: &Countersignature) -> String {
    let by = clean(&countersign.signature.identity);
    match countersign.ruling {
        Ruling::Accepted => format!("reviewed and accepted by {by}"),
        Ruling::Returned => format!("reviewed by {by} and RETURNED for correction"),
    }
}

/// What was taken off and is not known to be back on concerns the customer most of all.
fn still_open(record: &Record) -> Markup {
    let open: Vec<String> = record
        .put_back
        .iter()
        .filter(|entry| entry.restored_at.is_none())
        .map(|entry| clean(&entry.item))
        .collect();
    html! {
        @if !open.is_empty() {
            p.open { "Not put back when the job was closed: " (list(&open)) "." }
        }
    }
}
