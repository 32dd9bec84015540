//! What of a job an amendment is about, by its own words: lines of the record, steps on its way, files, or the job
//! as a whole. The words stay free text; whoever types them is told where nothing of that name is there.

use crate::procedure::model::RecordLine;
use crate::procedure::nearest::nearest;
use crate::record::bundle::decision::Ruling;
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
    read_instead(record, accepted(&signed.amendments), line)
}

/// What a lead accepted: a decision is about all that was added before it.
fn accepted(amendments: &[Amended]) -> &[Amended] {
    let accepted = |one: &Amended| {
        let lead = one.lead.as_ref();
        lead.is_some_and(|(_, own)| own.decision == Ruling::Accepted)
    };
    let last = amendments.iter().rposition(accepted);
    &amendments[..last.map_or(0, |last| last + 1)]
}

/// The same, as if a lead accepted all that was added.
#[must_use]
pub fn corrected_once_accepted(record: &Record, signed: &Signed, line: &str) -> Option<String> {
    read_instead(record, &signed.amendments, line)
}

fn read_instead(record: &Record, amendments: &[Amended], line: &str) -> Option<String> {
    let mut said = amendments.iter().rev().map(|one| &one.amendment);
    let own = said.find(|said| subjects(record, &said.corrects) == [line])?;
    Some(own.adds.clone())
}

/// The vehicle's identity by the record, or as an accepted amendment corrects it; where nobody else could accept, as an
/// amendment does. From the first that was signed or decided with a key that is revoked, none counts.
#[must_use]
pub fn identity(record: &Record, signed: &Signed, roster: &Roster) -> Option<String> {
    let line = RecordLine::VehicleIdentity.name();
    let trusted = signed.amendments.iter();
    let trusted = trusted.take_while(|one| !one.by_revoked(roster)).count();
    let trusted = &signed.amendments[..trusted];
    let counting = if signed.somebody_else_decides(record, roster) {
        accepted(trusted)
    } else {
        trusted
    };
    read_instead(record, counting, line).or_else(|| record.lines.get(line).cloned())
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
mod tests {
    use super::*;
    use crate::record::example;

    fn record() -> Record {
        let mut record = example::record();
        let odometer = record.lines["odometer"].clone();
        let mut entry = record.path[0].clone();
        entry.step = "intake/odometer".to_owned();
        entry.superseded = false;
        entry.answered = format!("{odometer} (typed: 92 088 miles)");
        record.path.push(entry);
        record.untold = vec!["complaint".to_owned()];
        record
    }

    #[test]
    fn a_line_is_named_by_itself_and_by_its_step() {
        let record = record();
        for text in [
            "odometer",
            "The odometer",
            "intake/odometer",
            "step intake/odometer, two digits",
        ] {
            assert_eq!(lines(&record, text), ["odometer"], "{text}");
        }
        let mut other = record.clone();
        other.path.last_mut().unwrap().step = "leak-test/which".to_owned();
        assert_eq!(
            lines(&other, "leak-test/which"),
            [""; 0],
            "the same number by chance"
        );
        let both = lines(&record, "vehicle identity and complaint");
        assert_eq!(both, ["vehicle identity", "complaint"]);
        for text in ["odometers", "odo", "gauge", "intake/odometer-2", "vehicles"] {
            assert_eq!(lines(&record, text), [""; 0], "{text}");
        }
    }

    #[test]
    fn what_is_not_there_is_not_named() {
        let record = record();
        let folder = tempfile::tempdir().unwrap();
        let job = JobFolder::at(folder.path());
        std::fs::create_dir(job.file("captures")).unwrap();
        std::fs::write(job.file("captures/1.csv"), "x").unwrap();
        let named = |text: &str| named(&record, &job, text);
        assert_eq!(
            named("captures/1.csv"),
            [Named::File("captures/1.csv".into())]
        );
        assert_eq!(named("the whole job"), [Named::Job]);
        assert_eq!(
            named("intake/odometer"),
            [Named::Step("intake/odometer".into())]
        );
        for text in ["captures/9.csv", "odo", "../x", "gauge", "jobs"] {
            assert_eq!(named(text), [], "{text}");
        }
        let odometer = record.lines["odometer"].as_str();
        assert_eq!(meant(&record, "odo"), Some(("odometer", Some(odometer))));
        assert_eq!(
            meant(&record, "odmeter"),
            Some(("odometer", Some(odometer)))
        );
        assert_eq!(meant(&record, "captures/9.csv"), None);
        let exact = |text: &str| is_exact(&record, &job, text);
        for text in [
            "odometer",
            "the whole job",
            "step intake/odometer",
            "captures/1.csv and odometer",
        ] {
            assert!(exact(text), "{text}");
        }
        for text in [
            "odometer nonsense",
            "odometer; evenfire amend",
            "intake/odometer x",
            "job 4",
            "",
        ] {
            assert!(!exact(text), "{text}");
        }
    }
}
