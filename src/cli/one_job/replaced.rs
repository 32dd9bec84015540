//! A job that another one names as what it is done in place of, looked at before anybody relies on that: when a note says
//! so, and when a lead decides.

use crate::cli::one_job::report_page::page;
use crate::record::audit::{Named, Never, Side, named, named_in, vehicle_key};
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
    pub(crate) measured_nothing: bool,
}

/// What can be said of the old job.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Standing {
    named: Named,
    /// The identity of the old vehicle and that of the new one, where both are known.
    vehicles: Option<(String, String)>,
}

impl Standing {
    /// Behind the job's number.
    pub(crate) fn told(&self) -> String {
        match (self.named, &self.vehicles) {
            (Named::Revoked, _) => "signed with a revoked key".to_owned(),
            (Named::Returned, _) => "which was returned".to_owned(),
            (Named::Sound, _) => "which no revoked key signed".to_owned(),
            (Named::MoreWrong, _) => {
                "not counted: more is wrong with it than a revoked key (`evenfire verify` says what), and nothing answers for \
                 that"
                    .to_owned()
            }
            (Named::Never(never @ Never::OtherVehicle), Some((old, new))) => {
                format!("not counted: {} ({old:?}; this job is of {new:?})", never.why())
            }
            (Named::Never(never), _) => format!("not counted: {}", never.why()),
        }
    }

    /// How whoever does the work can mend it; nothing where there is nothing to mend.
    fn remedy(&self) -> Option<&'static str> {
        match self.named {
            Named::Revoked | Named::Returned | Named::MoreWrong => None,
            Named::Never(Never::OtherVehicle) => Some(
                "Where the identity is mistyped here, go back to it and type it anew; where the number is, note the right \
                 one.",
            ),
            _ => Some("Where the number is mistyped, note the right one."),
        }
    }
}

/// The old job's record, where the new one may answer for it, and what can be said of it.
pub(crate) fn look(
    shop: &Shop,
    roster: &Roster,
    number: &str,
    new: &New<'_>,
) -> (Option<Record>, Standing) {
    let key = new.identity.and_then(vehicle_key);
    let side = Side {
        job: new.job,
        practice: new.is_practice,
        vehicle_key: key.as_deref(),
        measured_nothing: new.measured_nothing,
    };
    let named = named(shop, number, side, (roster, &page));
    let record = shop.job(number).ok().and_then(|job| {
        let record = signed::record(&job)?;
        Some((Signed::read(&job, &record).ok()?, record))
    });
    let identity = record
        .as_ref()
        .and_then(|(signed, record)| about::identity(record, signed, roster));
    let vehicles = identity.zip(new.identity.map(str::to_owned));
    let record = record.map(|(_, record)| record);
    let record = record.filter(|_| !matches!(named, Named::Never(_)));
    (record, Standing { named, vehicles })
}

/// What speaks against a job's claim while it is still open: a sentence with its remedy for each job that it names.
pub(crate) fn against(shop: &Shop, roster: &Roster, job: &str, claim: &Claim<'_>) -> Vec<String> {
    let new = New {
        job,
        identity: claim.identity.as_deref(),
        is_practice: claim.is_practice,
        measured_nothing: false,
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
