//! `evenfire countersign`: the lead accepts a job or returns it.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{ArgGroup, Args};

use super::Failure;
use super::judging::{against, write_report};
use super::passphrase::PassphraseArguments;
use super::place::{self, ShopArgument};
use super::sign::open_key;
use crate::record::decision::Ruling;
use crate::record::roster::Roster;
use crate::record::signing;

/// Accept or return a signed job as a lead who did not do it
#[derive(Debug, Args)]
#[command(group = ArgGroup::new("ruling").required(true))]
pub(crate) struct CountersignArguments {
    /// Number of the job, or its folder
    job: String,
    #[command(flatten)]
    shop: ShopArgument,
    /// The lead's private key (OpenSSH, ssh-ed25519)
    #[arg(long, value_name = "FILE")]
    key: PathBuf,
    /// The job stands as it is
    #[arg(long, group = "ruling")]
    accept: bool,
    /// The job must be corrected
    #[arg(long = "return", group = "ruling", requires = "reason")]
    give_back: bool,
    /// Why
    #[arg(long, value_name = "TEXT")]
    reason: Option<String>,
    #[command(flatten)]
    passphrase: PassphraseArguments,
}

pub(crate) fn run(arguments: &CountersignArguments) -> Result<ExitCode, Failure> {
    let shop = arguments.shop.open()?;
    let roster = Roster::of(&shop)?;
    let place = place::find(&shop, &arguments.job)?;
    let key = open_key(&arguments.key, &arguments.passphrase)?;
    let (ruling, word) = if arguments.give_back {
        (Ruling::Returned, "returned")
    } else {
        (Ruling::Accepted, "accepted")
    };
    let against = against(&roster, place.number.as_deref());
    let ruling = (ruling, arguments.reason.as_deref());
    let now = chrono::Utc::now();
    let (record, decision) = signing::countersign(&place.folder, &against, &key, ruling, now)?;
    write_report(&place.folder, &record)?;
    println!("Job {} is {word} by {}.", record.job, decision.name);
    Ok(ExitCode::SUCCESS)
}
