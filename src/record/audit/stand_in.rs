//! The later jobs that say they were done instead of one that a revoked key signed, for whoever looks at that one alone.
//! Whether they count is decided as the audit decides it, but for the chain, which only a look at all jobs shows.

use std::collections::BTreeMap;

use super::again::{self, instead_of};
use super::flaw::Flaw;
use super::{Looked, RenderReportAll, looked};
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

/// What was done instead of a job of the shop; none where anything else than a revoked key is wrong with that job, or
/// nothing is: then no other one is asked for.
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
    if old.flaw != Flaw::Revoked {
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

/// Whether a revoked key is all that is wrong with a job, as an audit sees it, but for the chain.
pub fn only_revoked(
    shop: &Shop,
    job: &JobFolder,
    roster: &Roster,
    report: RenderReportAll<'_>,
) -> bool {
    looked(shop, job, roster, report).flaw == Flaw::Revoked
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
    {
        Some(why) => Counts::Never(why),
        None if again::done(pair, &BTreeMap::new()).contains_key(old) => Counts::Yes,
        None => Counts::NotYet,
    }
}
