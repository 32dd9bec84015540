//! `evenfire sign`: the technician signs a job.

use std::path::Path;
use std::process::ExitCode;

use chrono::Utc;
use clap::Args;

use crate::cli::one_job::report_page::{against, write_report};
use crate::cli::one_job::which_job::{self, ShopArgument, shop_option};
use crate::cli::person::passphrase::PassphraseArguments;
use crate::cli::person::signing_key::{Chosen, KeyArguments};
use crate::cli::{Failure, say};
use crate::record::bundle::model::Record;
use crate::record::folder::JobFolder;
use crate::record::shop::roster::{Role, Roster};
use crate::record::signing;

/// Sign a sealed job as the technician who did it
#[derive(Debug, Args)]
#[command(after_help = STATUSES)]
pub(crate) struct SignArguments {
    /// Number of the job, or its folder
    job: String,
    #[command(flatten)]
    shop: ShopArgument,
    #[command(flatten)]
    key: KeyArguments,
}

const STATUSES: &str = "\
Exit status:
  0  signed
  2  refused, or could not be done; nothing was signed, unless it says that only the report is to be made again";

pub(crate) fn run(arguments: &SignArguments) -> Result<ExitCode, Failure> {
    let shop = arguments.shop.open()?;
    let roster = Roster::of(&shop)?;
    let place = which_job::find(&shop, &arguments.job)?;
    let of = (&roster, place.number.as_deref());
    let key = arguments.key.choose(&shop, &roster, Role::Technician)?;
    let record = sign_with(&place.folder, of, key)?;
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
