//! What of a job an amendment is about, by its own words: lines of the record, steps on its way, files, or the job
//! as a whole. The words stay free text; whoever types them is told where nothing of that name is there.

use crate::procedure::model::RecordLine;
use crate::procedure::nearest::nearest;
use crate::record::bundle::decision::{self, Ruling};
use crate::record::bundle::manifest;
use crate::record::bundle::model::{PathEntry, Record};
use crate::record::bundle::signed::{Amended, Signed};
use crate::record::folder::JobFolder;
use crate::record::shop::roster::Roster;

/// What stands for the job as a whole.
pub const WHOLE_JOB: &str = "job";

/// Something of a job that an amendment names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Named {
    /// A line of the record.
    Line(String),
    /// A step on the way, by its whole name.
    Step(String),
    /// A file of the job.
    File(String),
    /// All of it.
    Job,
}

/// Everything that a text names, in its order; nothing where it names nothing that is there.
#[must_use]
pub fn named(record: &Record, job: &JobFolder, text: &str) -> Vec<Named> {
    parts(text)
        .filter_map(|part| one(record, job, &part))
        .collect()
}

/// Whether a text is names of what is there and nothing else: what goes on after a name may be a slip of the hand.
#[must_use]
pub fn is_exact(record: &Record, job: &JobFolder, text: &str) -> bool {
    parts(text).all(|part| match one(record, job, &part) {
        Some(Named::Line(name) | Named::Step(name)) => {
            part == name || short(&name) == Some(part.as_str())
        }
        Some(Named::File(_)) => true,
        Some(Named::Job) => part == WHOLE_JOB,
        None => false,
    })
}

/// What a part of a text names.
fn one(record: &Record, job: &JobFolder, part: &str) -> Option<Named> {
    let is_file = || {
        manifest::is_plain(part)
            && std::fs::symlink_metadata(job.file(part)).is_ok_and(|a| a.is_file())
    };
    if let Some(named) = in_record(record, part) {
        return Some(named);
    }
    if is_file() {
        return Some(Named::File(part.to_owned()));
    }
    begins(part, WHOLE_JOB).then_some(Named::Job)
}

/// The lines of a record that a text names, by themselves or by the steps that filled them.
#[must_use]
pub fn lines(record: &Record, text: &str) -> Vec<String> {
    let named = parts(text).filter_map(|part| in_record(record, &part));
    let line = named.filter_map(|named| match named {
        Named::Line(name) => Some(name),
        Named::Step(step) => filled(record, &step).map(str::to_owned),
        _ => None,
    });
    line.collect()
}

/// What the record says of it now: a line's value, or a step's last answer.
#[must_use]
pub fn value<'r>(record: &'r Record, named: &Named) -> Option<&'r str> {
    match named {
        Named::Line(name) => record.lines.get(name).map(String::as_str),
        Named::Step(step) => Some(last(record, step)?.answered.as_str()),
        Named::File(_) | Named::Job => None,
    }
}

/// The lines that a text names, and the steps that filled none.
fn subjects(record: &Record, text: &str) -> Vec<String> {
    let named = parts(text).filter_map(|part| in_record(record, &part));
    let subject = named.filter_map(|named| match named {
        Named::Line(name) => Some(name),
        Named::Step(step) => Some(filled(record, &step).map_or(step.clone(), str::to_owned)),
        _ => None,
    });
    subject.collect()
}

/// What accepted amendments say is to be read in place of a line, or of a step that filled none: only of those that are
/// about that alone.
#[must_use]
pub fn corrected(record: &Record, signed: &Signed, line: &str) -> Option<String> {
    read_instead(record, &accepted(&signed.amendments), line)
}

/// Those that a lead accepted. What was returned stays so, whatever is accepted later: what is right of it is added again.
fn accepted(amendments: &[Amended]) -> Vec<&Amended> {
    ruled(amendments, |ruling| ruling == Some(Ruling::Accepted))
}

/// Those that count once a lead accepts what nobody has decided on yet.
fn once_accepted(amendments: &[Amended]) -> Vec<&Amended> {
    ruled(amendments, |ruling| ruling != Some(Ruling::Returned))
}

/// Those about which such a decision was made, or none.
fn ruled(amendments: &[Amended], counts: impl Fn(Option<Ruling>) -> bool) -> Vec<&Amended> {
    let own = |one: &Amended| one.lead.as_ref().map(|(_, own)| own.decision);
    let numbered = amendments.iter().enumerate();
    let counting = numbered.filter(|(at, _)| counts(decision::about(amendments, *at, own)));
    counting.map(|(_, one)| one).collect()
}

/// The same by the roster as it is now: what a revoked key signed corrects nothing, and where nobody else could accept
/// what was added, the signature alone counts, as it does for the job itself.
#[must_use]
pub fn corrected_for_good(
    record: &Record,
    signed: &Signed,
    roster: &Roster,
    line: &str,
) -> Option<String> {
    let counting = signed.amendments_that_count(roster);
    let undecided = signed
        .amendments
        .last()
        .is_some_and(|one| one.lead.is_none());
    if undecided && !signed.others_can_decide(record, roster) {
        return read_instead(record, &once_accepted(&counting), line);
    }
    read_instead(record, &accepted(&counting), line)
}

/// The vehicle's identity as it is once a lead accepts all that was added.
#[must_use]
pub fn identity_once_accepted(record: &Record, signed: &Signed, roster: &Roster) -> Option<String> {
    let line = RecordLine::VehicleIdentity.name();
    let counting = signed.amendments_that_count(roster);
    let read = read_instead(record, &once_accepted(&counting), line);
    read.or_else(|| record.lines.get(line).cloned())
}

fn read_instead(record: &Record, amendments: &[&Amended], line: &str) -> Option<String> {
    let mut said = amendments.iter().rev().map(|one| &one.amendment);
    let own = said.find(|said| subjects(record, &said.corrects) == [line])?;
    Some(own.adds.clone())
}

/// The vehicle's identity by the record, or as an amendment corrects it that counts ([`corrected_for_good`]).
#[must_use]
pub fn identity(record: &Record, signed: &Signed, roster: &Roster) -> Option<String> {
    let line = RecordLine::VehicleIdentity.name();
    corrected_for_good(record, signed, roster, line).or_else(|| record.lines.get(line).cloned())
}

/// The vehicle in one line, as [`Record::vehicle_text`], with what was corrected beside it.
#[must_use]
pub fn vehicle_text(record: &Record, signed: &Signed) -> String {
    let told =
        record
            .vehicle()
            .into_iter()
            .map(|(line, value)| match corrected(record, signed, line) {
                Some(read) => format!("{value} (corrected: {read})"),
                None => value.to_owned(),
            });
    let told: Vec<String> = told.collect();
    if told.is_empty() {
        return record.vehicle_text();
    }
    told.join(" · ")
}

/// The name that was probably meant by a text which names nothing, with the value that it has.
#[must_use]
pub fn meant<'r>(record: &'r Record, text: &str) -> Option<(&'r str, Option<&'r str>)> {
    let text = text.trim().to_lowercase();
    let lines = record.lines.keys().chain(&record.untold);
    let steps = record.path.iter().map(|entry| &entry.step);
    let known: Vec<&str> = lines.chain(steps).map(String::as_str).collect();
    let begun = known
        .iter()
        .copied()
        .find(|name| !text.is_empty() && name.starts_with(&text));
    let name = begun.or_else(|| nearest(&text, known))?;
    let value = in_record(record, name).and_then(|named| value(record, &named));
    Some((name, value))
}

/// The names in a text, without the words before them.
fn parts(text: &str) -> impl Iterator<Item = String> {
    let text = text.to_lowercase().replace(" and ", ",");
    let parts: Vec<String> = text
        .split([',', ';'])
        .map(|part| {
            let mut part = part.trim();
            for word in ["the ", "whole ", "step ", "line ", "file "] {
                part = part.strip_prefix(word).unwrap_or(part).trim_start();
            }
            part.to_owned()
        })
        .collect();
    parts.into_iter()
}

/// Whether a text is a name, or goes on after it.
fn begins(text: &str, name: &str) -> bool {
    let rest = text.strip_prefix(name);
    rest.is_some_and(|rest| !rest.starts_with(|c: char| c.is_alphanumeric() || "-_/".contains(c)))
}

/// The line or step that a part is about: the longest name that it begins with.
fn in_record(record: &Record, part: &str) -> Option<Named> {
    // "vehicle identity" is not the vehicle, also where the record has none
    let known = RecordLine::ALL.map(RecordLine::name);
    let own = record
        .lines
        .keys()
        .chain(&record.untold)
        .map(String::as_str);
    let meant = known
        .into_iter()
        .chain(own)
        .filter(|name| begins(part, name));
    let line = meant.max_by_key(|name| name.len());
    let there = |line: &&str| {
        record.lines.contains_key(*line) || record.untold.iter().any(|one| one == line)
    };
    if let Some(line) = line.filter(there) {
        return Some(Named::Line(line.to_owned()));
    }
    let steps = record.path.iter().map(|entry| entry.step.as_str());
    let steps =
        steps.filter(|step| begins(part, step) || short(step).is_some_and(|own| begins(part, own)));
    let step = steps.max_by_key(|step| (begins(part, step), step.len()))?;
    Some(Named::Step(step.to_owned()))
}

/// A step's name in the procedure that holds it.
fn short(step: &str) -> Option<&str> {
    step.rsplit_once('/').map(|(_, own)| own)
}

fn last<'r>(record: &'r Record, step: &str) -> Option<&'r PathEntry> {
    let mut entries = record.path.iter().rev();
    entries.find(|entry| entry.step == step && !entry.superseded)
}

/// The line that a step filled, as far as the record tells: its answer is the line's, and its name has a word of the
/// line's, since "4" may be the cylinders or a cylinder. That of the same name comes first.
fn filled<'r>(record: &'r Record, step: &str) -> Option<&'r str> {
    let answered = &last(record, step)?.answered;
    let same = |value: &str| {
        let rest = answered.strip_prefix(value);
        // a number may be told as it was typed as well
        rest.is_some_and(|rest| {
            rest.is_empty() || rest.starts_with(" (typed") || rest.starts_with("; ")
        })
    };
    let lines = record.lines.iter().filter(|(_, value)| same(value));
    let lines: Vec<&str> = lines.map(|(name, _)| name.as_str()).collect();
    let own = short(step).unwrap_or(step).replace('-', " ");
    let shares = |name: &&&str| {
        name.split(' ')
            .any(|word| own.split(' ').any(|other| other == word))
    };
    let exact = lines.iter().find(|name| **name == own);
    exact.or_else(|| lines.iter().find(shares)).copied()
}

#[cfg(test)]
mod tests;
