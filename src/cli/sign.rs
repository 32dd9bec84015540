//! `evenfire sign`: the technician signs a job.

use std::path::Path;
use std::process::ExitCode;

use clap::Args;
use ssh_key::PrivateKey;

use super::Failure;
use super::judging::{against, write_report};
use super::passphrase::{PassphraseArguments, Passphrases};
use super::place::{self, ShopArgument};
use super::signing_key::KeyArguments;
use crate::record::folder::JobFolder;
use crate::record::key;
use crate::record::model::Record;
use crate::record::roster::{Role, Roster};
use crate::record::signer::Signer;
use crate::record::signing;

/// Sign a sealed job as the technician who did it
#[derive(Debug, Args)]
pub(crate) struct SignArguments {
    /// Number of the job, or its folder
    job: String,
    #[command(flatten)]
    shop: ShopArgument,
    #[command(flatten)]
    key: KeyArguments,
}

pub(crate) fn run(arguments: &SignArguments) -> Result<ExitCode, Failure> {
    let shop = arguments.shop.open()?;
    let roster = Roster::of(&shop)?;
    let place = place::find(&shop, &arguments.job)?;
    let of = (&roster, place.number.as_deref());
    let key = arguments.key.open(&roster, Role::Technician)?;
    let record = sign_with(&place.folder, of, key.as_ref())?;
    println!("Job {} is signed by {}.", record.job, record.technician);
    Ok(ExitCode::SUCCESS)
}

/// Sign a job by the roster of the shop in which it has that number, and write its report anew.
pub(crate) fn sign_job(
    job: &JobFolder,
    (roster, number): (&Roster, Option<&str>),
    key: &Path,
    passphrase: &PassphraseArguments,
) -> Result<Record, Failure> {
    let key = open_key(key, passphrase)?;
    sign_with(job, (roster, number), &key)
}

fn sign_with(
    job: &JobFolder,
    (roster, number): (&Roster, Option<&str>),
    key: &dyn Signer,
) -> Result<Record, Failure> {
    let record = signing::sign(job, &against(roster, number), key)?;
    write_report(job, &record)?;
    Ok(record)
}

/// Open a private key; its passphrase is asked for where it has one.
pub(crate) fn open_key(file: &Path, from: &PassphraseArguments) -> Result<PrivateKey, Failure> {
    let mut passphrases = Passphrases::new(from);
    let prompt = format!("Passphrase for {}", file.display());
    Ok(key::open(file, &mut || passphrases.ask(&prompt))?)
}
