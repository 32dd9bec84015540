//! A job that another one names as what it is done in place of, looked at before anybody relies on that: when a note says
//! so, and when a lead decides.

use std::cmp::Ordering;

use crate::cli::one_job::report_page::page;
use crate::record::audit::{MORE_WRONG, named_in, only_revoked, same_vehicle, vehicle_key};
use crate::record::bundle::amendment::about;
use crate::record::bundle::model::Record;
use crate::record::bundle::signed::{self, Signed};
use crate::record::shop::Shop;
use crate::record::shop::roster::Roster;
use crate::run::computing::Claim;

/// The job that is done now.
pub(crate) struct New<'a> {
    pub(crate) job: &'a str,
    pub(crate) identity: Option<&'a str>,
    pub(crate) is_practice: bool,
}

/// What can be said of the old job.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Standing {
    Missing,
    NotBefore,
    Practice,
    NoPractice,
    OtherVehicle { old: String, new: String },
    MoreWrong,
    Revoked,
    NotRevoked,
}

impl Standing {
    /// Beside the job's number.
    pub(crate) fn told(&self) -> String {
        match self {
            Standing::Missing => {
                "which is not here or cannot be read: it does not count".to_owned()
            }
            Standing::NotBefore => {
                "which does not come before this one: it does not count".to_owned()
            }
            Standing::Practice => "which is practice: only a practice job counts for it".to_owned(),
            Standing::NoPractice => {
                "which is no practice, as this one is: it does not count".to_owned()
            }
            Standing::OtherVehicle { old, new } => {
                format!("another vehicle ({old:?}; this job is of {new:?}): it does not count")
            }
            Standing::MoreWrong => format!("{MORE_WRONG}: it does not count"),
            Standing::Revoked => "signed with a revoked key".to_owned(),
            Standing::NotRevoked => "which no revoked key signed".to_owned(),
        }
    }

    /// How whoever does the work can mend it; nothing where there is nothing to mend.
    fn remedy(&self) -> Option<&'static str> {
        match self {
            Standing::Revoked => None,
            Standing::MoreWrong => Some("`evenfire verify` of that job says what."),
            Standing::OtherVehicle { .. } => Some(
                "Where the identity is mistyped here, go back to it and type it anew; where the number is, note the right \
                 one.",
            ),
            _ => Some("Where the number is mistyped, note the right one."),
        }
    }
}

/// The old job's record, where it can be read, and what can be said of it.
pub(crate) fn look(
    shop: &Shop,
    roster: &Roster,
    number: &str,
    new: &New<'_>,
) -> (Option<Record>, Standing) {
    let found = shop.job(number).ok().and_then(|job| {
        let record = signed::record(&job)?;
        Some((Signed::read(&job, &record).ok()?, record, job))
    });
    // by their value: numbers may have more than four digits
    let value = |number: &str| number.parse::<u64>().unwrap_or(u64::MAX);
    let (signed, record, job) = match (value(number).cmp(&value(new.job)), found) {
        (Ordering::Equal, _) | (Ordering::Greater, Some(_)) => return (None, Standing::NotBefore),
        (_, None) => return (None, Standing::Missing),
        (Ordering::Less, Some(found)) => found,
    };
    let identity = about::identity(&record, &signed, roster);
    let keys = [identity.as_deref(), new.identity].map(|one| one.and_then(vehicle_key));
    let standing = match (record.is_practice(), new.is_practice) {
        (true, false) => Standing::Practice,
        (false, true) => Standing::NoPractice,
        _ if !same_vehicle(keys[0].as_deref(), keys[1].as_deref()) => Standing::OtherVehicle {
            old: identity.unwrap_or_default(),
            new: new.identity.unwrap_or_default().to_owned(),
        },
        _ if signed.by_revoked(roster).is_empty() => Standing::NotRevoked,
        // told as the audit will tell it, before anybody signs
        _ if !only_revoked(shop, &job, roster, &page) => Standing::MoreWrong,
        _ => Standing::Revoked,
    };
    (Some(record), standing)
}

/// What speaks against a job's claim while it is still open: a sentence with its remedy for each job that it names.
pub(crate) fn against(shop: &Shop, roster: &Roster, job: &str, claim: &Claim<'_>) -> Vec<String> {
    let new = New {
        job,
        identity: claim.identity.as_deref(),
        is_practice: claim.is_practice,
    };
    let named = named_in(claim.notes.iter().copied()).into_iter();
    let told = named.filter_map(|number| {
        let (_, standing) = look(shop, roster, &number, &new);
        let remedy = standing.remedy()?;
        Some(format!(
            "In place of job {number}, {}. {remedy}",
            standing.told()
        ))
    });
    told.collect()
}
