//! The later jobs that say they were done instead of one that a revoked key signed, for whoever looks at that one alone.
//! Whether they count is decided as the audit decides it, but for the chain, which only a look at all jobs shows.

use std::collections::BTreeMap;

use super::RenderReportAll;
use super::again::{self, Never, Side, instead_of};
use super::flaw::Flaw;
use super::looked::{Looked, looked};
use crate::record::bundle::signed;
use crate::record::error::RecordError;
use crate::record::folder::JobFolder;
use crate::record::shop::Shop;
use crate::record::shop::roster::Roster;

/// A job that says it was done instead of another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StandIn {
    /// Its number.
    pub job: String,
    /// Whether it answers for the other one.
    pub counts: Counts,
}

/// Whether a job answers for another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counts {
    /// It is sound and accepted.
    Yes,
    /// Not before it is sound and accepted.
    NotYet,
    /// It cannot, and why.
    Never(&'static str),
}

/// What can be said of a job that another one names as what it is done in place of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Named {
    /// Nothing but a revoked key is wrong with it: the other one answers for it, once that is sound and accepted.
    Revoked,
    /// A lead returned it, and nothing is wrong with it else.
    Returned,
    /// Nothing is wrong with it.
    Sound,
    /// More is wrong with it than a revoked key: nothing answers for that.
    MoreWrong,
    /// The other one cannot stand for it.
    Never(Never),
}

/// Look at the job of that number as the audit does, for one that names it.
pub(crate) fn named(
    shop: &Shop,
    number: &str,
    new: Side<'_>,
    (roster, report): (&Roster, RenderReportAll<'_>),
) -> Named {
    let old = shop.job(number).ok();
    let old = old.map(|job| looked(shop, &job, roster, report));
    match (Never::of(new, old.as_ref().map(Looked::side)), old) {
        (Some(never), _) => Named::Never(never),
        (None, Some(old)) if old.flaw == Flaw::Revoked => Named::Revoked,
        (None, Some(old)) if old.may_be_answered_for() => Named::Returned,
        (None, Some(old)) if old.flaw == Flaw::None => Named::Sound,
        _ => Named::MoreWrong,
    }
}

/// What was done instead of a job of the shop; none where anything else is wrong with that job than that a revoked key
/// signed it or a lead returned it, or nothing is: then no other one is asked for.
///
/// # Errors
/// Where the shop's jobs cannot be listed.
pub fn stand_ins(
    shop: &Shop,
    number: &str,
    roster: &Roster,
    report: RenderReportAll<'_>,
) -> Result<Option<Vec<StandIn>>, RecordError> {
    let old = looked(shop, &shop.job(number)?, roster, report);
    if !old.may_be_answered_for() {
        return Ok(None);
    }
    let mut claiming = shop.all_jobs()?;
    claiming.retain(|job| job.number() != old.line.job && claims(job, &old.line.job));
    let mut pair = vec![old];
    let mut found = Vec::new();
    for job in claiming {
        pair.truncate(1);
        pair.push(looked(shop, &job, roster, report));
        found.push(StandIn {
            job: job.number(),
            counts: counts(&pair),
        });
    }
    Ok(Some(found))
}

fn claims(job: &JobFolder, number: &str) -> bool {
    signed::record(job).is_some_and(|record| instead_of(&record).iter().any(|one| one == number))
}

/// By the old job and the new one.
fn counts(pair: &[Looked]) -> Counts {
    let old = &pair[0].line.job;
    let never = again::not_counted(pair, &[]).into_iter();
    match never
        .filter(|one| one.old == *old)
        .map(|one| one.why)
        .next()
        .or_else(|| again::not_sound(&pair[1].line))
    {
        Some(why) => Counts::Never(why),
        None if again::done(pair, &BTreeMap::new()).contains_key(old) => Counts::Yes,
        None => Counts::NotYet,
    }
}
