//! Jobs that a revoked key signed and that were done again. Their signatures count no more, for good; but a
//! later job that says in a note which one it stands for, and that a lead has accepted, answers for them.

use std::collections::BTreeMap;

use super::Looked;
use super::gather::status_name;
use super::line::JobLine;
use crate::record::bundle::model::Record;
use crate::record::shop;
use crate::record::verify::Status;

/// What a note says before the other job's number.
const PHRASE: &str = "instead of job ";

/// The jobs that a record's notes say it was done instead of.
pub(super) fn instead_of(record: &Record) -> Vec<String> {
    let texts = record.notes.iter().map(|note| note.text.to_lowercase());
    texts
        .flat_map(|text| {
            let numbers = text.split(PHRASE).skip(1).map(|rest| {
                let end = rest.find(|c: char| !c.is_ascii_digit());
                rest[..end.unwrap_or(rest.len())].parse().ok()
            });
            numbers.collect::<Vec<Option<u64>>>()
        })
        .flatten()
        .map(shop::written)
        .collect()
}

/// Jobs in which nothing is wrong but the revoked key, by number, each with the later one that answers for it.
pub(super) fn done(
    looked: &[Looked],
    faults: &BTreeMap<String, Vec<String>>,
) -> BTreeMap<String, String> {
    let whole = |line: &JobLine| !faults.contains_key(&line.job);
    let old = looked
        .iter()
        .filter(|old| old.only_revoked && whole(&old.line));
    old.filter_map(|old| {
        let new = looked.iter().find(|new| {
            whole(&new.line) && new.practice == old.practice && answers_for(&new.line, &old.line)
        })?;
        Some((old.line.job.clone(), new.line.job.clone()))
    })
    .collect()
}

fn answers_for(new: &JobLine, old: &JobLine) -> bool {
    let holds = [Status::Sound, Status::ReportStale]
        .map(status_name)
        .contains(&new.status.as_str());
    let nobody_else = JobLine::words(&new.findings).any(|kind| kind == "one_signature");
    let is_accepted = new.decision.as_deref() == Some("accepted") || nobody_else;
    let vehicles = new.vehicle_key.as_ref().zip(old.vehicle_key.as_ref());
    let number = |line: &JobLine| line.job.parse::<u64>().ok();
    holds
        && is_accepted
        && number(new) > number(old)
        && vehicles.is_none_or(|(new, old)| new == old)
        && JobLine::words(&new.instead_of).any(|job| job == old.job)
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
            only_revoked,
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
    }
}
