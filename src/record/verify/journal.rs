//! What a sealed job's journal says, held against its record: who, what, when, the captures and the
//! outcome. The whole record is not derived anew: that would need the version of the program that made
//! it.

use crate::record::bundle::model::{Outcome, Record};
use crate::run::event::{Answer, CaptureFile, Event, Opening};
use crate::run::journal::line::{Reading, read};
use crate::run::state::State;

/// Everything in which a journal is not what it must be under this record, each a sentence; an error
/// where the journal itself does not hold.
pub(in crate::record) fn disagreements(
    record: &Record,
    bytes: &[u8],
) -> Result<Vec<String>, String> {
    let reading = read(bytes).map_err(|fault| fault.to_string())?;
    let opening = ended(&reading)?;
    let lines = reading.lines.len() as u64;
    let state = State::fold(reading.lines.iter().map(|line| &line.event));
    Ok([
        (record.job != opening.job, "job numbers"),
        (record.shop != opening.shop, "shops"),
        (record.technician != opening.technician, "technicians"),
        (
            record.practice != state.practice(),
            "reasons for being practice",
        ),
        (record.simulated_clock != state.simulated_clock(), "clocks"),
        (record.procedure != opening.procedure, "procedures"),
        (record.procedures != opening.procedures, "procedure files"),
        (
            record.low_percent.to_bits() != opening.low_percent.to_bits(),
            "limits",
        ),
        (record.journal_lines != lines, "numbers of lines"),
        (
            record.journal_head != reading.head(),
            "hashes of the last line",
        ),
        (
            Some(record.sealed.as_str()) != time_of_last(&reading),
            "sealing times",
        ),
        (
            Some(&record.outcome) != outcome(&reading).as_ref(),
            "outcomes",
        ),
        (files(record) != handed_over(&reading), "captures"),
    ]
    .into_iter()
    .filter(|(differs, _)| *differs)
    .map(|(_, what)| format!("record.json and journal.jsonl give different {what}"))
    .collect())
}

/// The opening of a journal that is whole from `opened` to `sealed`.
fn ended(reading: &Reading) -> Result<&Opening, String> {
    if reading.torn.is_some() {
        return Err("journal.jsonl has a torn last line, which a sealed job cannot have".into());
    }
    let sealed = |event: &Event| *event == Event::Sealed;
    let last = reading.lines.last();
    if !last.is_some_and(|line| sealed(&line.event.event)) {
        return Err("journal.jsonl does not end with `sealed`, as a sealed job's must".into());
    }
    let before = &reading.lines[..reading.lines.len() - 1];
    if let Some(early) = before.iter().find(|line| sealed(&line.event.event)) {
        let n = early.n;
        return Err(format!("journal.jsonl line {n}: it goes on after `sealed`"));
    }
    match before.first().map(|line| &line.event.event) {
        Some(Event::Opened(opening)) => Ok(opening),
        _ => Err("journal.jsonl line 1: a job begins with `opened`".into()),
    }
}

/// How the job ended, by its journal.
fn outcome(reading: &Reading) -> Option<Outcome> {
    let mut events = reading.lines.iter().rev().map(|line| &line.event.event);
    events.find_map(Outcome::of)
}

/// Step and file of each capture in the record; those that were gone back behind are among them.
fn files(record: &Record) -> Vec<(&str, &CaptureFile)> {
    let captures = record.captures.iter();
    captures
        .map(|capture| (capture.step.as_str(), &capture.file))
        .collect()
}

/// The same by the journal.
fn handed_over(reading: &Reading) -> Vec<(&str, &CaptureFile)> {
    let answered = reading.lines.iter().map(|line| &line.event.event);
    answered
        .filter_map(|event| match event {
            Event::Answered {
                step,
                answer: Answer::Capture(file),
            } => Some((step.as_str(), file)),
            _ => None,
        })
        .collect()
}

fn time_of_last(reading: &Reading) -> Option<&str> {
    reading.lines.last().map(|line| line.event.at.as_str())
}
