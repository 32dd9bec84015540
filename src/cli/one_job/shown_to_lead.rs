//! What a lead is shown of a job before they decide about it.

use crate::cli::Failure;
use crate::cli::one_job::replaced::{self, New};
use crate::cli::one_job::report_page::page;
use crate::procedure::model::OutcomeKind;
use crate::record::audit::instead_of;
use crate::record::bundle::amendment::{Layer, about, naming};
use crate::record::bundle::decision::{Decision, Ruling};
use crate::record::bundle::model::{Outcome, Record};
use crate::record::bundle::signed::{Amended, Signature, Signed};
use crate::record::folder::{self, JobFolder};
use crate::record::shop::Shop;
use crate::record::shop::roster::Roster;
use crate::report::wording::{found, taken_back};
use crate::text::beside;

/// Columns of the text.
const COLUMNS: usize = 79;

/// Most notes that are shown, and letters of each.
const NOTES: usize = 4;
const LONGEST_NOTE: usize = 160;

/// Columns that the names of its lines take.
const NAMES: usize = 12;

/// The first line, where a decision is awaited.
pub(crate) fn awaiting(record: &Record, layer: Layer) -> String {
    match layer.number() {
        0 => format!("Job {} awaits a decision.\n", record.job),
        number => format!(
            "Amendment {number} of job {} awaits a decision.\n",
            record.job
        ),
    }
}

/// The job as it stands, below a first line: what it is about, what was found, what was added, waived and decided
/// so far.
pub(crate) fn shown(job: &JobFolder, record: &Record, first: String) -> Result<String, Failure> {
    let signed = Signed::read(job, record)?;
    let mut text = first;
    if record.is_practice() {
        text += &line("PRACTICE", &record.practice.join("; "));
    }
    text += &line("Vehicle", &about::vehicle_text(record, &signed));
    let told = format!("{}: {}", found(record), record.outcome.finding);
    text += &line("Outcome", &told);
    let corrects = signed.amendments.iter();
    let corrects = corrects.map(|one| one.amendment.corrects.as_str());
    if let Some(told) = naming::outdated(record, &corrects.collect::<Vec<&str>>()) {
        text += &line("BUT", &told);
    }
    for told in taken_back(record) {
        text += &line("BUT", &told);
    }
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
    text += &notes(record);
    text += &decided(signed.lead.as_ref());
    for amended in &signed.amendments {
        text += &amendment(amended);
    }
    Ok(text + &report(job, record, &signed))
}

/// Notes that were made on the way, each shortly.
fn notes(record: &Record) -> String {
    let mut text = String::new();
    for note in record.notes.iter().take(NOTES) {
        let mut said: String = note.text.chars().take(LONGEST_NOTE).collect();
        if said.len() < note.text.len() {
            said.push('…');
        }
        text += &line("Note", &format!("{}: {said}", note.step));
    }
    if record.notes.len() > NOTES {
        let more = record.notes.len() - NOTES;
        text += &line("", &format!("and {more} more, in the report"));
    }
    text
}

/// What a job is done in place of, by its notes, as a lead should know before they accept it, with all that was added.
pub(crate) fn in_place_of(
    shop: &Shop,
    roster: &Roster,
    job: &JobFolder,
    record: &Record,
) -> Result<String, Failure> {
    let signed = Signed::read(job, record)?;
    let identity = about::identity_once_accepted(record, &signed, roster);
    let new = New {
        job: &record.job,
        identity: identity.as_deref(),
        is_practice: record.is_practice(),
        measured_nothing: record.outcome.kind == OutcomeKind::NotDone,
    };
    let told = instead_of(record).into_iter().map(|number| {
        let (old, standing) = replaced::look(shop, roster, &number, &new);
        let what = format!("job {number}, {}", standing.told());
        let mut text = line("In place of", &what);
        if let Some(old) = &old {
            text += &line("  was", &ended(old));
            text += &line("  is now", &ended(record));
        }
        text
    });
    Ok(told.collect())
}

/// What was run and how it ended: two jobs are compared by it.
fn ended(record: &Record) -> String {
    format!("{}; {}", record.title(), outcome(&record.outcome))
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
