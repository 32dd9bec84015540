//! `evenfire amend`: something is added to a signed job; nothing of it is changed.

mod asking;

use std::path::PathBuf;
use std::process::ExitCode;

use chrono::Utc;
use clap::Args;

use crate::cli::one_job::report_page::{against, write_report};
use crate::cli::one_job::shown_to_lead;
use crate::cli::one_job::waiving::caution;
use crate::cli::one_job::which_job::{self, ShopArgument, shop_option};
use crate::cli::person::Person;
use crate::cli::person::signing_key::KeyArguments;
use crate::cli::{Failure, fitted, say};
use crate::record::bundle::amendment::{amend, amendable, may_amend, stands};
use crate::record::bundle::manifest::shown;
use crate::record::bundle::model::Record;
use crate::record::shop::Shop;
use crate::record::shop::queue::{self, Wait};
use crate::record::shop::roster::{Role, Roster};

/// Add to a signed job, as a technician: what it corrects, what is to be read instead, and why
///
/// Nothing of the job is changed. A lead decides about it anew.
///
/// At a terminal, what no option gives is asked for.
#[derive(Debug, Args)]
#[command(after_help = STATUSES)]
pub(crate) struct AmendArguments {
    /// Number of the job, or its folder; without it, one that was returned
    job: Option<String>,
    #[command(flatten)]
    shop: ShopArgument,
    /// What it corrects or completes: a step, a line of the record, a file, or `job` for all of it
    #[arg(long, value_name = "TEXT")]
    corrects: Option<String>,
    /// What is to be read in its place or beside it
    #[arg(long, value_name = "TEXT")]
    adds: Option<String>,
    /// Why
    #[arg(long, value_name = "TEXT")]
    reason: Option<String>,
    /// A file to keep with it; may be given several times
    #[arg(long = "attach", value_name = "FILE")]
    attached: Vec<PathBuf>,
    #[command(flatten)]
    key: KeyArguments,
}

const STATUSES: &str = "\
Exit status:
  0  added and signed
  2  refused, or could not be done; nothing was signed, unless it says that only the report is to be made again";

pub(crate) fn run(arguments: &AmendArguments) -> Result<ExitCode, Failure> {
    let shop = arguments.shop.open()?;
    let roster = Roster::of(&shop)?;
    let mut person = Person::there("nothing was signed");
    if person.is_none() {
        asking::complete(arguments)?;
    }
    let Some(job) = job(arguments, (&shop, &roster), person.as_mut())? else {
        say("Nothing was signed.\n");
        return Ok(ExitCode::SUCCESS);
    };
    let place = which_job::find(&shop, &job)?;
    let folder = &place.folder;
    let against = against(&roster, place.number.as_deref());
    // nobody types a text, or a passphrase, for what would be refused anyway
    let record = stands(folder, &against)?;
    let of = (&shop, &roster);
    let choose = || arguments.key.choose(of, Role::Technician, |_| true);
    let key = arguments.key.is_given().then(choose).transpose()?;
    if let Some(key) = &key {
        amendable(folder, &against, key.public(), Utc::now())?;
    }
    if person.is_some() {
        let first = format!(
            "Job {} is added to; nothing of it is changed.\n",
            record.job
        );
        say(&format!(
            "{}\n",
            shown_to_lead::shown(folder, &record, first)?
        ));
    }
    let adding = asking::adding(arguments, (folder, &record), person.as_mut())?;
    for file in &arguments.attached {
        caution(file);
    }
    if let Some(person) = person
        .as_mut()
        .filter(|_| asking::asks(arguments, (folder, &record)))
    {
        say(&fitted(asking::summary(folder, &record, &adding)));
        if !person.agrees("Sign this?")? {
            say("Nothing was signed.\n");
            return Ok(ExitCode::SUCCESS);
        }
    }
    let key = key.map_or_else(choose, Ok)?;
    may_amend(folder, &against, key.public(), &adding, Utc::now())?;
    let key = key.open()?;
    let made = amend(folder, &against, key.as_ref(), adding, Utc::now())?;
    write_report(folder, &record)?;
    say(&format!(
        "Amendment {} of job {} is signed by {}.\n{}",
        made.number,
        made.job,
        made.name,
        next(&record, &made.name, &roster, &shop)
    ));
    Ok(ExitCode::SUCCESS)
}

/// What comes after an amendment.
fn next(record: &Record, name: &str, roster: &Roster, shop: &Shop) -> String {
    let now = Some(Utc::now());
    let all = [name, record.technician.as_str()];
    if !record.needs_signatures() || !all.iter().all(|who| roster.has_other_lead(who, now)) {
        return String::new();
    }
    format!(
        "Next a lead decides about it:\n  evenfire countersign {}{}\n",
        record.job,
        shop_option(shop.root())
    )
}

/// The job that was named; else the one that was returned and not corrected since. Whoever is there says which of
/// several, or none of them.
fn job(
    arguments: &AmendArguments,
    (shop, roster): (&Shop, &Roster),
    person: Option<&mut Person>,
) -> Result<Option<String>, Failure> {
    if let Some(job) = &arguments.job {
        return Ok(Some(job.clone()));
    }
    let waiting = queue::waiting(shop, roster)?;
    let jobs: Vec<(String, String)> = waiting
        .into_iter()
        .filter_map(|one| match one.wait {
            Wait::Correction { reason } => {
                let told = format!("{}  was returned: {}\n", one.job, shown(&reason));
                Some((one.job, told))
            }
            _ => None,
        })
        .collect();
    match (jobs.as_slice(), person) {
        ([(job, told)], _) => {
            say(&fitted(told.clone()));
            Ok(Some(job.clone()))
        }
        ([_, _, ..], Some(person)) => {
            say(&fitted(jobs.iter().map(|(_, told)| told.as_str()).collect()));
            let numbers: Vec<&str> = jobs.iter().map(|(job, _)| job.as_str()).collect();
            person.job("Number of the job to add to", ("Returned", &numbers))
        }
        _ => Err("no job was returned and waits for a correction; name the one that is to be added to by its number".into()),
    }
}
