//! Jobs that a revoked key signed, or that a lead returned, and that were done again: a later job that says in a note
//! which one it stands for, and that a lead has accepted, answers for them.

use std::collections::BTreeMap;

use super::flaw::Flaw;
use super::gather::status_name;
use super::line::JobLine;
use super::looked::Looked;
use crate::procedure::model::OutcomeKind;
use crate::record::bundle::model::Record;
use crate::record::shop;
use crate::record::verify::Status;

/// Why a job answers for none, where something is wrong with it itself.
#[must_use]
pub fn not_sound(new: &JobLine) -> Option<&'static str> {
    (new.status == status_name(Status::Unsound)).then_some("it is not sound itself")
}

/// What a note says before the other job's number.
const PHRASE: &str = "instead of job";

/// The jobs that a record's notes say it was done instead of: `instead of job 4`, `… and of job 5`, `instead of
/// jobs 4, 5 and 6`.
pub(crate) fn instead_of(record: &Record) -> Vec<String> {
    named_in(record.notes.iter().map(|note| note.text.as_str()))
}

/// The same of notes that stand in no record yet.
pub(crate) fn named_in<'n>(notes: impl Iterator<Item = &'n str>) -> Vec<String> {
    let mut numbers: Vec<String> = Vec::new();
    for note in notes {
        let text = note.to_lowercase();
        for number in text.split(PHRASE).skip(1).flat_map(listed) {
            let number = shop::written(number);
            if !numbers.contains(&number) {
                numbers.push(number);
            }
        }
    }
    numbers
}

/// The numbers that a text begins with, one after another.
fn listed(text: &str) -> Vec<u64> {
    let (several, mut rest) = match text.strip_prefix('s') {
        Some(rest) => (true, rest),
        None => (false, text),
    };
    let mut numbers = Vec::new();
    let mut is_job = true;
    loop {
        rest = rest.trim_start();
        let end = rest
            .find(|c: char| !c.is_ascii_digit())
            .unwrap_or(rest.len());
        // "instead of job 4, 2 cylinders of it": a bare number is a job's where jobs were announced
        let Some(number) = rest[..end].parse().ok().filter(|_| is_job || several) else {
            return numbers;
        };
        numbers.push(number);
        rest = rest[end..].trim_start();
        let before = rest;
        for word in [",", "and ", "of ", "instead of "] {
            rest = rest.strip_prefix(word).unwrap_or(rest).trim_start();
        }
        if rest == before {
            return numbers;
        }
        let job = ["jobs ", "job "]
            .iter()
            .find_map(|word| rest.strip_prefix(word));
        is_job = job.is_some();
        rest = job.unwrap_or(rest);
    }
}

/// Why one job can never stand for another, whatever is decided about it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Never {
    /// The other one is not there.
    Missing,
    /// The other one is practice, this one is not.
    Practice,
    /// This one is practice, the other one is not.
    NoPractice,
    /// They are of two vehicles.
    OtherVehicle,
    /// It does not come after the other one.
    NotAfter,
    /// It would take a fault that was found out of the register.
    MeasuredNothing,
}

/// What of a job decides whether it can stand for another, or the other way round.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Side<'a> {
    pub(crate) job: &'a str,
    pub(crate) practice: bool,
    pub(crate) vehicle_key: Option<&'a str>,
    pub(crate) measured_nothing: bool,
}

impl Never {
    /// In words that go on from "not counted: ".
    #[must_use]
    pub fn why(self) -> &'static str {
        match self {
            Never::Missing => "no such job is here",
            Never::Practice => "that is practice, and only a practice job answers for it",
            Never::NoPractice => "this is practice, and answers for practice only",
            Never::OtherVehicle => "another vehicle",
            Never::NotAfter => "it does not come after that one",
            Never::MeasuredNothing => {
                "it was turned away or stopped, so it measured nothing and finds out nothing anew"
            }
        }
    }

    /// What speaks against a job standing for an old one; `None` where nothing does.
    pub(crate) fn of(new: Side<'_>, old: Option<Side<'_>>) -> Option<Never> {
        let Some(old) = old else {
            return Some(Never::Missing);
        };
        // by their value: numbers may have more than four digits
        let value = |job: &str| job.parse::<u64>().ok();
        let all = [
            (old.practice && !new.practice, Never::Practice),
            (new.practice && !old.practice, Never::NoPractice),
            (
                !same_vehicle(new.vehicle_key, old.vehicle_key),
                Never::OtherVehicle,
            ),
            (value(new.job) <= value(old.job), Never::NotAfter),
            (new.measured_nothing, Never::MeasuredNothing),
        ];
        all.into_iter().find_map(|(is, never)| is.then_some(never))
    }
}

impl Looked {
    /// Whether another job may answer for it: nothing is wrong but the revoked key, or nothing is open but what a lead
    /// returned it for.
    pub(super) fn may_be_answered_for(&self) -> bool {
        let is_returned = JobLine::words(&self.line.findings).any(|kind| kind == "returned")
            && self.line.status == status_name(Status::Open);
        self.flaw == Flaw::Revoked || (self.flaw == Flaw::None && is_returned)
    }

    /// What decides whether it can stand for another.
    pub(super) fn side(&self) -> Side<'_> {
        Side {
            job: &self.line.job,
            practice: self.practice,
            vehicle_key: self.line.vehicle_key.as_deref(),
            measured_nothing: self.line.outcome.as_deref() == Some(OutcomeKind::NotDone.name()),
        }
    }
}

/// A job that cannot stand for another one, whatever is decided about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotCounted {
    /// The job whose note says so.
    pub new: String,
    /// The job that it names.
    pub old: String,
    /// Why.
    pub why: &'static str,
}

impl NotCounted {
    /// As it stands among the remarks.
    pub(super) fn told(&self) -> String {
        let NotCounted { new, old, why } = self;
        format!("{new} says `instead of job {old}`; not counted: {why}")
    }
}

/// What notes say of jobs for which another one cannot stand: worth knowing, where somebody counts on it. `aside` are
/// practice jobs that are left out.
pub(super) fn not_counted(looked: &[Looked], aside: &[Looked]) -> Vec<NotCounted> {
    let mut told = Vec::new();
    for new in looked {
        for job in JobLine::words(&new.line.instead_of) {
            let mut all = looked.iter().chain(aside);
            let old = all.find(|old| old.line.job == job).map(Looked::side);
            let Some(never) = Never::of(new.side(), old) else {
                continue;
            };
            told.push(NotCounted {
                new: new.line.job.clone(),
                old: job.to_owned(),
                why: never.why(),
            });
        }
    }
    told
}

/// Whether two jobs are of one vehicle, by their keys; one that is not known speaks against none.
pub(crate) fn same_vehicle(one: Option<&str>, other: Option<&str>) -> bool {
    one.zip(other).is_none_or(|(one, other)| one == other)
}

/// Jobs that may be answered for, by number, each with the later one that does.
pub(super) fn done(
    looked: &[Looked],
    faults: &BTreeMap<String, Vec<String>>,
) -> BTreeMap<String, String> {
    let whole = |line: &JobLine| !faults.contains_key(&line.job);
    // few say so, and any number may have been returned
    let claim = |new: &&Looked| !new.line.instead_of.is_empty() && whole(&new.line);
    let claiming: Vec<&Looked> = looked.iter().filter(claim).collect();
    let old = looked
        .iter()
        .filter(|old| old.may_be_answered_for() && whole(&old.line));
    old.filter_map(|old| {
        let new = claiming.iter().find(|new| answers_for(new, old))?;
        Some((old.line.job.clone(), new.line.job.clone()))
    })
    .collect()
}

fn answers_for(new: &Looked, old: &Looked) -> bool {
    let line = &new.line;
    let holds = [Status::Sound, Status::ReportStale]
        .map(status_name)
        .contains(&line.status.as_str());
    let nobody_else = JobLine::words(&line.findings).any(|kind| kind == "one_signature");
    let is_accepted = line.decision.as_deref() == Some("accepted") || nobody_else;
    holds
        && is_accepted
        && JobLine::words(&line.instead_of).any(|job| job == old.line.job)
        && Never::of(new.side(), Some(old.side())).is_none()
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::record::bundle::model::Note;
    use crate::record::example;

    fn looked(job: &str, only_revoked: bool, edit: impl Fn(&mut JobLine)) -> Looked {
        let mut line = JobLine {
            job: job.to_owned(),
            status: if only_revoked { "unsound" } else { "sound" }.to_owned(),
            decision: Some("accepted".to_owned()),
            vehicle_key: Some("A".to_owned()),
            ..JobLine::default()
        };
        edit(&mut line);
        Looked {
            practice: false,
            line: Arc::new(line),
            wrong: Vec::new(),
            believed: false,
            mark: None,
            flaw: if only_revoked {
                Flaw::Revoked
            } else {
                Flaw::None
            },
        }
    }

    #[test]
    fn only_a_later_accepted_job_of_that_vehicle_answers() {
        let answered = |edit: &dyn Fn(&mut JobLine)| {
            let named = |line: &mut JobLine| {
                line.instead_of = "0004".to_owned();
                edit(line);
            };
            let jobs = [looked("0004", true, |_| ()), looked("0009", false, named)];
            done(&jobs, &BTreeMap::new()).remove("0004")
        };
        assert_eq!(answered(&|_| ()).as_deref(), Some("0009"));
        assert!(answered(&|new| new.instead_of = "0005".to_owned()).is_none());
        assert!(answered(&|new| new.decision = None).is_none());
        let outcome = |kind: OutcomeKind| {
            answered(&|new: &mut JobLine| new.outcome = Some(kind.name().to_owned()))
        };
        assert!(outcome(OutcomeKind::NotDone).is_none());
        assert!(outcome(OutcomeKind::NothingFound).is_some());
        assert!(answered(&|new| new.decision = Some("returned".to_owned())).is_none());
        assert!(answered(&|new| new.status = "open".to_owned()).is_none());
        assert!(answered(&|new| new.vehicle_key = Some("B".to_owned())).is_none());
        assert!(answered(&|new| new.job = "0003".to_owned()).is_none());
        let alone = |new: &mut JobLine| {
            new.decision = None;
            new.findings = "one_signature".to_owned();
        };
        assert!(answered(&alone).is_some());
        let jobs = [
            looked("0004", true, |_| ()),
            looked("0009", false, |new| new.instead_of = "0004".to_owned()),
        ];
        let broken = BTreeMap::from([("0004".to_owned(), vec!["not here".to_owned()])]);
        assert!(done(&jobs, &broken).is_empty());
    }

    /// A job that a lead returned is answered for like one that a revoked key signed; any other open one is not.
    #[test]
    fn a_returned_job_may_be_done_again() {
        let answered = |findings: &str| {
            let old = looked("0004", false, |line| {
                (line.status, line.findings) = ("open".to_owned(), findings.to_owned());
            });
            let new = looked("0009", false, |line| line.instead_of = "0004".to_owned());
            done(&[old, new], &BTreeMap::new()).remove("0004")
        };
        assert_eq!(answered("amended returned").as_deref(), Some("0009"));
        for other in [
            "not_countersigned",
            "not_signed not_countersigned",
            "not_sealed",
        ] {
            assert!(answered(other).is_none(), "{other}");
        }
    }

    #[test]
    fn a_note_says_which_job_it_stands_for() {
        let mut record = example::record();
        record.notes = vec![
            Note {
                at: String::new(),
                step: String::new(),
                text: "Instead of job 4, whose key was stolen; also instead of job 0012."
                    .to_owned(),
            },
            Note {
                at: String::new(),
                step: String::new(),
                text: "as in job 7; instead of job x".to_owned(),
            },
        ];
        assert_eq!(instead_of(&record), ["0004", "0012"]);
        for (text, jobs) in [
            (
                "instead of job 0002 and of job 0003, 4 cylinders",
                &["0002", "0003"][..],
            ),
            ("Instead of jobs 2, 3 and 4.", &["0002", "0003", "0004"]),
            ("instead of job 2, 3 of 4 cylinders again", &["0002"]),
            ("instead of job 2 and instead of job 5", &["0002", "0005"]),
            ("instead of jobbing", &[]),
        ] {
            record.notes.truncate(1);
            record.notes[0].text = text.to_owned();
            assert_eq!(instead_of(&record), jobs, "{text}");
        }
    }

    #[test]
    fn what_cannot_stand_for_another_is_told() {
        let told = |looked: &[Looked], aside: &[Looked]| -> Vec<String> {
            let those = not_counted(looked, aside).into_iter();
            those.map(|one| one.told()).collect()
        };
        let says = |job: &str, vehicle: &str, instead: &str| {
            looked(job, false, |line| {
                line.vehicle_key = Some(vehicle.to_owned());
                line.instead_of = instead.to_owned();
            })
        };
        let jobs = [
            looked("0003", true, |_| ()),
            looked("0005", true, |_| ()),
            says("0004", "A", "0005 0003"),
            says("0007", "B", "0003 0099"),
            looked("0008", false, |line| {
                line.instead_of = "0005".to_owned();
                line.outcome = Some("not-done".to_owned());
            }),
        ];
        assert_eq!(
            told(&jobs, &[]),
            [
                "0004 says `instead of job 0005`; not counted: it does not come after that one",
                "0007 says `instead of job 0003`; not counted: another vehicle",
                "0007 says `instead of job 0099`; not counted: no such job is here",
                "0008 says `instead of job 0005`; not counted: it was turned away or stopped, so it measured nothing and \
                 finds out nothing anew",
            ]
        );
        let mut practice = looked("0003", true, |_| ());
        practice.practice = true;
        assert_eq!(
            told(&[says("0007", "A", "0003")], &[practice]),
            [
                "0007 says `instead of job 0003`; not counted: that is practice, and only a practice job answers for it"
            ]
        );
    }
}
