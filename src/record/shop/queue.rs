//! What a shop's sealed jobs wait for: the technician's signature, the lead's decision, a correction, or to be
//! done again because a revoked key signed them. By what lies there, in seconds also for many jobs; whether it holds is `verify`'s question.

use std::collections::BTreeMap;
use std::path::PathBuf;

use crate::record::audit::instead_of;
use crate::record::bundle::amendment::{Layer, about};
use crate::record::bundle::decision::Ruling;
use crate::record::bundle::model::{Outcome, Record, SCHEMA};
use crate::record::bundle::signed::{Signed, read_short};
use crate::record::bundle::versions;
use crate::record::error::RecordError;
use crate::record::folder::{self, JobFolder};
use crate::record::shop::Shop;
use crate::record::shop::roster::Roster;

/// What can be done about jobs that a revoked key signed, of which this is one.
#[must_use]
pub fn after_revocation(job: &str) -> String {
    format!(
        "What was signed with a revoked key stays unsound, and an amendment so signed corrects nothing. Do the work, or its check, again as a new job of the same vehicle with a note \
         that says `instead of job {job}`; once that is accepted, an audit holds job {job} against nobody."
    )
}

/// What a job waits for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wait {
    /// The technician has not signed.
    Signature,
    /// A lead has not decided about it.
    Decision(Layer),
    /// It was returned, and nothing was added since.
    Correction {
        /// What the lead said.
        reason: String,
    },
    /// A key that is revoked signed it; it stays unsound ([`after_revocation`]).
    Again {
        /// Whose signatures they are, by what the files say.
        signers: Vec<String>,
    },
    /// It cannot be read; `verify` says more.
    Unreadable(String),
}

/// A job that waits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Waiting {
    /// Job number.
    pub job: String,
    /// Who did it; empty where that cannot be read.
    pub technician: String,
    /// When it was sealed; empty where that cannot be read.
    pub sealed: String,
    /// Whether it is practice.
    pub practice: bool,
    /// The vehicle in one line; empty where that cannot be read.
    pub vehicle: String,
    /// How it ended; none where that cannot be read.
    pub outcome: Option<Outcome>,
    /// Where its report lies.
    pub report: PathBuf,
    /// What for.
    pub wait: Wait,
    /// The later accepted job that says it was done instead of it; by the files, whether it counts is the audit's question.
    pub done_by: Option<String>,
}

/// Everything that waits, in order of the numbers.
///
/// # Errors
/// Where the shop itself cannot be read.
pub fn waiting(shop: &Shop, roster: &Roster) -> Result<Vec<Waiting>, RecordError> {
    let jobs = shop.all_jobs()?;
    let mut done: BTreeMap<String, String> = BTreeMap::new();
    let mut all = Vec::new();
    for job in &jobs {
        let Some((waiting, instead_of)) = one(job, roster) else {
            continue;
        };
        done.extend(instead_of.into_iter().map(|old| (old, job.number())));
        all.extend(waiting);
    }
    for one in &mut all {
        if matches!(one.wait, Wait::Again { .. } | Wait::Correction { .. }) {
            one.done_by = done.remove(&one.job);
        }
    }
    Ok(all)
}

/// What a sealed job waits for, if it does, and the jobs that it says it was done instead of, where a lead accepted it.
fn one(job: &JobFolder, roster: &Roster) -> Option<(Option<Waiting>, Vec<String>)> {
    if !job.file(folder::MANIFEST).exists() {
        return None;
    }
    let read = record(job).and_then(|record| {
        let signed = Signed::read(job, &record).map_err(|fault| fault.to_string())?;
        Ok((record, signed))
    });
    let report = job.file(folder::REPORT);
    match read {
        Err(why) => {
            let waiting = Waiting {
                job: job.number(),
                technician: String::new(),
                sealed: String::new(),
                practice: false,
                vehicle: String::new(),
                outcome: None,
                report,
                wait: Wait::Unreadable(why),
                done_by: None,
            };
            Some((Some(waiting), Vec::new()))
        }
        Ok((record, signed)) => {
            let accepted = signed.last_decision().map(|own| own.decision) == Some(Ruling::Accepted);
            let instead_of = if accepted {
                instead_of(&record)
            } else {
                Vec::new()
            };
            let waiting = wait(&record, &signed, roster).map(|wait| Waiting {
                practice: record.is_practice(),
                vehicle: about::vehicle_text(&record, &signed),
                outcome: Some(record.outcome),
                report,
                job: record.job,
                technician: record.technician,
                sealed: record.sealed,
                wait,
                done_by: None,
            });
            Some((waiting, instead_of))
        }
    }
}

fn record(job: &JobFolder) -> Result<Record, String> {
    let bytes = read_short(&job.file(folder::RECORD), folder::LONGEST_TEXT)
        .map_err(|fault| fault.to_string())?;
    versions::known(&bytes, SCHEMA)?;
    serde_json::from_slice(&bytes).map_err(|fault| fault.to_string())
}

fn wait(record: &Record, signed: &Signed, roster: &Roster) -> Option<Wait> {
    let signers = signed.by_revoked(roster);
    if !signers.is_empty() {
        return Some(Wait::Again { signers });
    }
    let needs = record.needs_signatures();
    if signed.technician.is_none() {
        return needs.then_some(Wait::Signature);
    }
    match signed.last_decision() {
        Some(decision) if decision.decision == Ruling::Returned => Some(Wait::Correction {
            reason: decision.reason.clone().unwrap_or_default(),
        }),
        Some(_) => None,
        // Where nobody else could, the job ends with one signature.
        None if !needs || !signed.others_can_decide(record, roster) => None,
        None => {
            let number = u32::try_from(signed.amendments.len()).unwrap_or(u32::MAX);
            Some(Wait::Decision(Layer::amendment(number)))
        }
    }
}
