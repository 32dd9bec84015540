//! What a lead is shown of a job before they decide about it.

use crate::cli::Failure;
use crate::cli::one_job::report_page::page;
use crate::record::bundle::amendment::Layer;
use crate::record::bundle::decision::{Decision, Ruling};
use crate::record::bundle::model::{Outcome, Record};
use crate::record::bundle::signed::{Amended, Signature, Signed};
use crate::record::folder::{self, JobFolder};
use crate::text::beside;

/// Columns of the text.
const COLUMNS: usize = 79;

/// Columns that the names of its lines take.
const NAMES: usize = 12;

/// The job as it stands: what it is about, what was found, what was added, waived and decided so far.
pub(crate) fn shown(job: &JobFolder, record: &Record, layer: Layer) -> Result<String, Failure> {
    let signed = Signed::read(job, record)?;
    let mut text = match layer.number() {
        0 => format!("Job {} awaits a decision.\n", record.job),
        number => format!(
            "Amendment {number} of job {} awaits a decision.\n",
            record.job
        ),
    };
    if !record.practice.is_empty() {
        text += &line("PRACTICE", &record.practice.join("; "));
    }
    text += &line("Vehicle", &record.vehicle_text());
    text += &line("Outcome", &outcome(&record.outcome));
    if let Some(advice) = &record.outcome.advice {
        text += &line("Advice", advice);
    }
    text += &line(
        "Done by",
        &format!("{}, sealed {}", record.technician, record.sealed),
    );
    for (_, waiver, signature) in &signed.waivers {
        let told = format!(
            "step {}, because {:?}; by {}",
            waiver.step, waiver.reason, signature.identity
        );
        text += &line("Waived", &told);
    }
    text += &decided(signed.lead.as_ref());
    for amended in &signed.amendments {
        text += &amendment(amended);
    }
    Ok(text + &report(job, record, &signed))
}

fn amendment(amended: &Amended) -> String {
    let said = &amended.amendment;
    let mut text = line(
        &format!("Added {}", said.number),
        &format!("by {}, {}", said.name, said.time),
    );
    for (name, told) in [
        ("  corrects", &said.corrects),
        ("  adds", &said.adds),
        ("  why", &said.reason),
    ] {
        text += &line(name, told);
    }
    text + &decided(amended.lead.as_ref())
}

fn decided(lead: Option<&(Signature, Decision)>) -> String {
    let Some((signature, decision)) = lead else {
        return String::new();
    };
    let name = match decision.decision {
        Ruling::Accepted => "Accepted",
        Ruling::Returned => "Returned",
    };
    let why = decision.reason.as_ref();
    let why = why.map_or_else(String::new, |reason| format!(": {reason}"));
    line(name, &format!("by {}{why}", signature.identity))
}

/// A path is never broken, so that it can be taken from the screen.
fn report(job: &JobFolder, record: &Record, signed: &Signed) -> String {
    let file = job.file(folder::REPORT);
    let mut text = format!("{:NAMES$}{}\n", "Report", file.display());
    let there = std::fs::read(&file).ok();
    if there.is_none_or(|bytes| bytes != page(record, signed).as_bytes()) {
        let told = format!(
            "is missing or is not the one that the signed files give; `evenfire report {}` makes it again",
            record.job
        );
        text += &line("", &told);
    }
    text
}

/// How a job ended, in its own words.
pub(crate) fn outcome(outcome: &Outcome) -> String {
    format!("{}: {}", outcome.kind.words(), outcome.finding)
}

/// A line with its name; what it says comes from the job, so nothing in it steers the terminal.
fn line(name: &str, told: &str) -> String {
    let told = beside(told, COLUMNS, NAMES);
    format!("{name:NAMES$}{told}\n")
}
