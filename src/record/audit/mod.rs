//! The shop's register looked at as a whole: every bundle verified, the chain of jobs, the policy, and
//! figures over all of it. Jobs are looked at side by side; each leaves one flat line. How that is
//! printed is for `report`.

mod again;
mod chain;
pub mod figures;
mod flaw;
mod followed;
mod from_journal;
mod gather;
pub mod line;
mod list;
mod looked;
mod ruled;
mod seen;
mod stand_in;
mod strays;
pub mod trust;
mod waived;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;
use std::time::SystemTime;

use chrono::NaiveDate;
use rayon::prelude::*;

pub use self::again::{Never, NotCounted, not_sound};
pub(crate) use self::again::{Side, instead_of, named_in};
use self::chain::Link;
use self::figures::{Asked, Figures};
pub(crate) use self::gather::{status_name, vehicle_key};
use self::line::JobLine;
use self::looked::{Looked, look};
use self::seen::Seen;
pub use self::stand_in::{Counts, StandIn, stand_ins};
pub(crate) use self::stand_in::{Named, named};
use self::strays::Stray;
use self::trust::{Ground, Memory, Trusted};
use crate::record::bundle::model::Record;
use crate::record::bundle::signed::Signed;
use crate::record::error::RecordError;
use crate::record::shop::Shop;
use crate::record::shop::roster::Roster;
use crate::record::verify::Status;

/// The fields of the audit's lines, in words.
pub const FIELDS: &str = include_str!("README.md");

/// What an audit needs beside the shop.
pub struct Auditing<'a> {
    /// Who may sign.
    pub roster: &'a Roster,
    /// How a report is made.
    pub report: RenderReportAll<'a>,
    /// Whether practice is looked at, for exercise, and the jobs that count are left out.
    pub practice: bool,
    /// First day, UTC, of the jobs that are counted; none where all are. What is lost or unsound is told whenever it was.
    pub since: Option<NaiveDate>,
    /// Last day, UTC, of them.
    pub until: Option<NaiveDate>,
    /// What an earlier audit left; empty for one that trusts nothing.
    pub memory: Memory,
    /// The time, to tell what has changed too lately.
    pub now: SystemTime,
    /// Called after each job.
    pub done: &'a (dyn Fn() + Sync),
}

/// [`RenderReport`](crate::record::verify::RenderReport) that several threads may call.
pub type RenderReportAll<'a> = &'a (dyn Fn(&Record, &Signed) -> String + Sync);

/// What was found.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Audit {
    /// Whether these are practice jobs, and not those that count.
    pub practice: bool,
    /// The jobs that count, or those of practice, in order of their numbers.
    pub lines: Vec<Arc<JobLine>>,
    /// What is wrong: number of the job and a sentence, text from bundles in it made tame.
    pub wrong: Vec<(String, String)>,
    /// Jobs that a revoked key signed or a lead returned, each with the later one that was done instead: no longer held
    /// against the whole.
    pub done_again: BTreeMap<String, String>,
    /// Jobs whose notes say that they were done instead of another, and that cannot answer for it.
    pub not_counted: Vec<NotCounted>,
    /// Worth knowing of the register as a whole.
    pub remarks: Vec<String>,
    /// The figures.
    pub figures: Figures,
    /// Bundles that were read.
    pub read: u64,
    /// Bundles that were believed to be as the audit before found them.
    pub believed: u64,
    /// Whether numbers that an earlier audit saw may be forgotten, because its memory was damaged or is not there.
    pub memory_lost: bool,
    /// What the next audit may believe.
    pub(crate) trusted: Vec<Trusted>,
    /// What the next audit must not forget, beside what it may believe.
    pub(crate) seen: Vec<Seen>,
}

/// Audit a shop.
///
/// # Errors
/// Where the folder of jobs cannot be read.
pub fn audit(shop: &Shop, auditing: &Auditing<'_>) -> Result<Audit, RecordError> {
    let jobs = shop.all_jobs()?;
    let looked: Vec<Looked> = jobs
        .par_iter()
        .map(|job| {
            let looked = look(shop, job, auditing);
            (auditing.done)();
            looked
        })
        .collect();
    let mut audit = Audit {
        practice: auditing.practice,
        remarks: strays::numbers(&jobs, auditing.practice),
        ..Audit::default()
    };
    let today = chrono::DateTime::<chrono::Utc>::from(auditing.now).format("%Y-%m-%d");
    let strays = strays::of(shop, &jobs)?;
    let mut losses = seen::missed(&looked, &auditing.memory, &today.to_string());
    if auditing.practice && !losses.practice.is_empty() {
        audit.remarks.push(seen::practice_gone(&losses.practice));
    }
    for (job, sentence) in &mut losses.wrong {
        let renamed = strays.iter().find(|stray| stray.renamed_from(job));
        if let Some(stray) = renamed {
            *sentence = format!("{sentence}. {}", stray.told());
        }
    }
    audit.remarks.extend(strays.iter().map(Stray::told));
    (audit.wrong, audit.seen) = (losses.wrong, losses.seen);
    let faults = chained(&looked);
    let (aside, looked): (Vec<Looked>, Vec<Looked>) = looked.into_iter().partition(|job| {
        !auditing.practice
            && job.is_practice_of_refused_signer()
            && !faults.contains_key(&job.line.job)
    });
    audit.done_again = again::done(&looked, &faults);
    audit.not_counted = again::not_counted(&looked, &aside);
    // of the other kind only the number of jobs is told
    let of_kind = |job: &str| {
        let mut own = looked
            .iter()
            .filter(|own| own.practice == auditing.practice);
        own.any(|own| own.line.job == job)
    };
    audit.not_counted.retain(|one| of_kind(&one.new));
    let not_counted = audit.not_counted.iter();
    audit.remarks.extend(not_counted.map(NotCounted::told));
    let mut asked = Asked {
        practice: auditing.practice,
        since: auditing.since,
        until: auditing.until,
        ..Asked::default()
    };
    for job in looked {
        let faults = faults.get(&job.line.job).map_or(&[][..], Vec::as_slice);
        audit.take(job, faults, &mut asked);
    }
    audit.leave_out(&aside, &mut asked);
    audit.forget_twice_kept();
    audit.figures = Figures::of(audit.lines.iter().map(Arc::as_ref), asked);
    Ok(audit)
}

impl Audit {
    /// What it comes to, as `verify` has it for one job.
    #[must_use]
    pub fn status(&self) -> Status {
        let standing = || {
            self.lines
                .iter()
                .filter(|line| line.done_again_by.is_none())
        };
        let has = |status: Status| standing().any(|line| line.status == status_name(status));
        if !self.not_sound().is_empty() {
            Status::Unsound
        } else if has(Status::Open) {
            Status::Open
        } else if has(Status::ReportStale) {
            Status::ReportStale
        } else {
            Status::Sound
        }
    }

    /// Numbers of all that is held against the register: jobs that are wrong or missing, those done again not among them.
    #[must_use]
    pub fn not_sound(&self) -> BTreeSet<&String> {
        let wrong = self.wrong.iter().map(|(job, _)| job);
        wrong.chain(self.standing_unsound()).collect()
    }

    /// Jobs that are not sound and that no later job answers for.
    pub fn standing_unsound(&self) -> impl Iterator<Item = &String> {
        let unsound = self.figures.unsound.iter();
        unsound.filter(|job| !self.done_again.contains_key(*job))
    }

    /// Tell that an earlier audit's memory was damaged, and `where_kept`.
    pub fn memory_lost(&mut self, where_kept: &str) {
        self.memory_lost = true;
        self.remarks.push(format!(
            "an earlier audit's memory could not be read, or not all of it ({where_kept}): whether jobs were taken off \
             the end of the chain, or decisions or amendments removed, cannot be told. Hold the last number against the workshop's own list of work"
        ));
    }

    /// Tell that no earlier audit left a memory: there was none, or it was taken away.
    pub fn memory_missing(&mut self) {
        self.memory_lost = true;
        if !self.practice {
            self.remarks.push(
                "No earlier audit is remembered here: whether jobs were taken off the end of the chain, or \
                 decisions or amendments removed, cannot be told. That is so at a shop's first audit; at a later one, hold the last number against the \
                 workshop's own list of work"
                    .to_owned(),
            );
        }
    }

    /// Leave behind what the next audit may believe.
    ///
    /// # Errors
    /// Where the file cannot be written.
    pub fn remember(&self, file: &Path, ground: &Ground) -> Result<(), RecordError> {
        trust::write(file, ground, self.trusted.iter(), self.seen.iter())
    }

    /// A number whose line is remembered as it stands needs no second one.
    fn forget_twice_kept(&mut self) {
        let kept = self.trusted.iter().map(Trusted::seen);
        let kept: BTreeMap<String, Seen> = kept.map(|one| (one.seen.clone(), one)).collect();
        self.seen.retain(|one| kept.get(&one.seen) != Some(one));
    }

    /// Practice in which nothing is wrong but who signed it is left out as other practice is.
    fn leave_out(&mut self, aside: &[Looked], asked: &mut Asked) {
        self.read += aside.len() as u64;
        let in_period =
            |line: &JobLine| !line.is_before(asked.since) && !line.is_after(asked.until);
        let left_out = aside.iter().filter(|job| in_period(&job.line)).count();
        asked.left_out += left_out as u64;
        if !aside.is_empty() {
            self.remarks.push(strays::refused_practice(aside));
        }
    }

    fn take(&mut self, job: Looked, faults: &[String], asked: &mut Asked) {
        let Looked {
            practice: is_practice,
            mut line,
            wrong,
            believed,
            mark,
            ..
        } = job;
        if believed {
            self.believed += 1;
        } else {
            self.read += 1;
        }
        // what is not sound is read again every time; the chain is looked at every time anyway
        if let Some(mark) = mark
            && line.status != status_name(Status::Unsound)
            && !seen::is_blank(&line)
        {
            self.trusted.push(Trusted {
                mark,
                practice: is_practice,
                line: Arc::clone(&line),
            });
        }
        let answered_by = self.done_again.get(&line.job).cloned();
        let is_held_against = answered_by.is_none();
        for sentence in wrong.iter().chain(faults).filter(|_| is_held_against) {
            self.wrong.push((line.job.clone(), sentence.clone()));
        }
        if answered_by.is_some() {
            // the other job's merit, not this bundle's: no audit remembers it
            Arc::make_mut(&mut line).done_again_by = answered_by;
        }
        if !faults.is_empty() {
            // what the next audit may believe is the bundle's own, without the chain's faults
            let line = Arc::make_mut(&mut line);
            line.status = status_name(Status::Unsound).to_owned();
            let apart = if line.findings.is_empty() { "" } else { " " };
            line.findings = format!("{}{apart}chain_broken", line.findings);
        }
        let is_other = is_practice != self.practice;
        let is_earlier = line.is_before(asked.since);
        let is_later = line.is_after(asked.until);
        asked.left_out += u64::from(is_other && !is_earlier && !is_later);
        // that a bundle is not sound is told among those that count even where it says that it is practice
        let unsound = line.status == status_name(Status::Unsound);
        if (is_earlier || is_later) && !unsound {
            asked.earlier += u64::from(!is_other && is_earlier);
            asked.later += u64::from(!is_other && is_later);
        } else if !is_other || (unsound && !self.practice) {
            self.lines.push(line);
        }
    }
}

fn chained(looked: &[Looked]) -> BTreeMap<String, Vec<String>> {
    let links: Vec<Link<'_>> = looked
        .iter()
        .filter_map(|job| {
            Some(Link {
                job: &job.line.job,
                own: job.line.manifest.as_deref()?,
                previous: job.line.previous.as_deref(),
                practice: job.practice,
            })
        })
        .collect();
    let mut faults: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for fault in chain::faults(&links) {
        faults.entry(fault.job).or_default().push(fault.sentence);
    }
    faults
}
