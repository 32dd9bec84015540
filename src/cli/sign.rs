//! `evenfire sign`: the technician signs a job.

use std::path::Path;
use std::process::ExitCode;

use chrono::Utc;
use clap::Args;

use crate::cli::countersign;
use crate::cli::one_job::report_page::{against, write_report};
use crate::cli::one_job::shown_to_lead;
use crate::cli::one_job::which_job::{self, ShopArgument, shop_option};
use crate::cli::person::Person;
use crate::cli::person::passphrase::PassphraseArguments;
use crate::cli::person::signing_key::{Chosen, KeyArguments};
use crate::cli::{Failure, say};
use crate::record::bundle::model::Record;
use crate::record::bundle::signed;
use crate::record::folder::JobFolder;
use crate::record::shop::Shop;
use crate::record::shop::queue::{self, Wait};
use crate::record::shop::roster::{Role, Roster};
use crate::record::signing;

/// Sign a sealed job as the technician who did it; without a job, list what awaits a signature
///
/// What is signed is shown first; the passphrase is asked for after it.
#[derive(Debug, Args)]
#[command(after_help = STATUSES)]
pub(crate) struct SignArguments {
    /// Number of the job, or its folder; without it, what awaits a signature is listed
    job: Option<String>,
    #[command(flatten)]
    shop: ShopArgument,
    #[command(flatten)]
    key: KeyArguments,
}

const STATUSES: &str = "\
Exit status:
  0  signed; without a job: the list was made
  2  refused, or could not be done; nothing was signed, unless it says that only the report is to be made again";

pub(crate) fn run(arguments: &SignArguments) -> Result<ExitCode, Failure> {
    let shop = arguments.shop.open()?;
    let roster = Roster::of(&shop)?;
    let Some(job) = job(arguments, (&shop, &roster))? else {
        return Ok(ExitCode::SUCCESS);
    };
    let place = which_job::find(&shop, &job)?;
    let (folder, number) = (&place.folder, place.number.as_deref());
    let technician = signed::record(folder).map(|record| record.technician);
    let may = |who: &str| technician.as_deref() == Some(who);
    let of = (&shop, &roster);
    let key = arguments.key.choose(of, Role::Technician, may)?;
    let record = signing::may_sign(folder, &against(&roster, number), key.public())?;
    let first = format!("Job {} awaits the technician's signature.\n", record.job);
    say(&format!(
        "{}\n",
        shown_to_lead::shown(folder, &record, first)?
    ));
    let record = sign_with(folder, (&roster, number), key)?;
    let (job, technician) = (&record.job, &record.technician);
    say(&format!("Job {job} is signed by {technician}.\n"));
    let shop = shop_option(shop.root());
    if !record.needs_signatures() {
        say("Nobody need decide about an exercise.\n");
    } else if roster.has_other_lead(technician, Some(Utc::now())) {
        say(&format!(
            "Next a lead decides about it:\n  evenfire countersign {job}{shop}\n"
        ));
    } else {
        say(&format!(
            "Nobody else is a lead by the roster, so this signature ends it:\n  evenfire verify {job}{shop}\n"
        ));
    }
    Ok(ExitCode::SUCCESS)
}

/// The job that was named; else what awaits a signature is listed, and whoever is there may take one from it.
fn job(
    arguments: &SignArguments,
    (shop, roster): (&Shop, &Roster),
) -> Result<Option<String>, Failure> {
    if let Some(job) = &arguments.job {
        return Ok(Some(job.clone()));
    }
    let mut waiting = queue::waiting(shop, roster)?;
    waiting.retain(|one| one.wait == Wait::Signature);
    if waiting.is_empty() {
        say("Nothing awaits a technician's signature.\n");
        return Ok(None);
    }
    say(&waiting.iter().map(countersign::line).collect::<String>());
    let Some(mut person) = Person::there("nothing was signed") else {
        return Ok(None);
    };
    let jobs: Vec<&str> = waiting.iter().map(|one| one.job.as_str()).collect();
    person.job("Number of the job to sign", ("Awaiting a signature", &jobs))
}

/// Sign a job by the roster of the shop in which it has that number, and write its report anew.
pub(crate) fn sign_job(
    job: &JobFolder,
    of: (&Roster, Option<&str>),
    key: &Path,
    passphrase: &PassphraseArguments,
) -> Result<Record, Failure> {
    sign_with(job, of, Chosen::of_file(key, passphrase)?)
}

fn sign_with(
    job: &JobFolder,
    (roster, number): (&Roster, Option<&str>),
    key: Chosen<'_>,
) -> Result<Record, Failure> {
    let against = against(roster, number);
    // nobody types a passphrase for what would be refused anyway
    signing::may_sign(job, &against, key.public())?;
    let record = signing::sign(job, &against, key.open()?.as_ref())?;
    write_report(job, &record)?;
    Ok(record)
}
