//! What lies among the jobs under a name that is no number. A job whose folder was renamed, as a file
//! manager does with a copy, says itself which it is.

use std::collections::BTreeSet;

use super::{Looked, from_journal};
use crate::record::bundle::manifest::shown;
use crate::record::bundle::signed::read_short;
use crate::record::error::RecordError;
use crate::record::folder::{self, JobFolder};
use crate::record::shop::{self, Shop};
use crate::text::counted;

/// One of them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Stray {
    /// Name of its entry, made tame.
    name: String,
    /// The number that it gives itself.
    job: Option<String>,
    /// Whether a folder of that number is there.
    is_there: bool,
}

impl Stray {
    /// Whether it is that job, which is not there otherwise.
    pub(super) fn renamed_from(&self, job: &str) -> bool {
        !self.is_there && self.job.as_deref() == Some(job)
    }

    /// In a sentence, with what to do.
    pub(super) fn told(&self) -> String {
        let name = &self.name;
        match &self.job {
            None => format!("{name} lies among the jobs and is none"),
            Some(job) if self.is_there => format!(
                "{name} lies among the jobs and says that it is job {job}, which is there as well: move the copy elsewhere"
            ),
            Some(job) => {
                format!("{name} among the jobs says that it is job {job}: rename it back to {job}")
            }
        }
    }
}

/// All of them, by name.
///
/// # Errors
/// Where the folder of jobs cannot be read.
pub(super) fn of(shop: &Shop, jobs: &[JobFolder]) -> Result<Vec<Stray>, RecordError> {
    let numbers: BTreeSet<String> = jobs.iter().map(JobFolder::number).collect();
    let mut strays = Vec::new();
    for entry in fs_err::read_dir(shop.jobs())? {
        let entry = entry?;
        let name = entry.file_name();
        let name = name.to_string_lossy();
        if name.starts_with('.') || numbers.contains(name.as_ref()) {
            continue;
        }
        // not through a link: that would lead out of the shop
        let is_folder = entry.file_type().is_ok_and(|kind| kind.is_dir());
        let job = is_folder.then(|| own_number(&JobFolder::at(entry.path())));
        let job = job.flatten();
        let is_there = job.as_ref().is_some_and(|job| numbers.contains(job));
        let name = shown(&name);
        strays.push(Stray {
            name,
            job,
            is_there,
        });
    }
    strays.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(strays)
}

/// The number that a job's record or journal gives, where it is one.
fn own_number(job: &JobFolder) -> Option<String> {
    #[derive(serde::Deserialize)]
    struct Numbered {
        job: String,
    }
    let bytes = read_short(&job.file(folder::RECORD), folder::LONGEST_TEXT);
    let record = bytes
        .ok()
        .and_then(|bytes| serde_json::from_slice::<Numbered>(&bytes).ok());
    let number = record.map(|record| record.job);
    let number = number.or_else(|| Some(from_journal::read(job).opening?.job))?;
    shop::number(&number).is_some().then_some(number)
}

/// How many numbers a remark names.
pub(super) const NAMED: usize = 10;

/// Numbers that were given out and have no folder.
pub(super) fn numbers(jobs: &[JobFolder], practice: bool) -> Vec<String> {
    let numbers = jobs
        .iter()
        .filter_map(|job| job.number().parse::<u64>().ok());
    let mut missing: Vec<u64> = Vec::new();
    let (mut next, mut count) = (1, 0);
    for number in numbers {
        count += number - next;
        missing.extend((next..number).take(NAMED - missing.len()));
        next = number + 1;
    }
    if count == 0 {
        return Vec::new();
    }
    let named: Vec<String> = missing
        .iter()
        .map(|number| format!("{number:04}"))
        .collect();
    let more = if count > NAMED as u64 { ", …" } else { "" };
    let told = match practice {
        true => "the chain does not tell whether practice was among them",
        false => {
            "a sealed job that counts, if one is among them, is missed by the job sealed after it; practice is not"
        }
    };
    vec![format!(
        "{} without a folder ({}{more}): {told}",
        counted(count, "job number"),
        named.join(", ")
    )]
}

/// Practice that is left out although it is not sound, because nothing is wrong with it but who signed it.
pub(super) fn refused_practice(aside: &[Looked]) -> String {
    let named: Vec<&str> = aside
        .iter()
        .take(NAMED)
        .map(|job| job.line.job.as_str())
        .collect();
    let more = if aside.len() > NAMED { ", …" } else { "" };
    format!(
        "{} left out that a revoked key, or somebody whom the roster does not let, signed ({}{more}); `audit \
         --practice` tells more",
        counted(aside.len() as u64, "practice job"),
        named.join(", ")
    )
}
