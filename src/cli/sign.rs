//! `evenfire sign`: the technician signs a job.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;
use ssh_key::PrivateKey;

use super::Failure;
use super::judging::{against, write_report};
use super::passphrase::{PassphraseArguments, Passphrases};
use super::place::{self, ShopArgument};
use crate::record::key;
use crate::record::roster::Roster;
use crate::record::signing;

/// Sign a sealed job as the technician who did it
#[derive(Debug, Args)]
pub(crate) struct SignArguments {
    /// Number of the job, or its folder
    job: String,
    #[command(flatten)]
    shop: ShopArgument,
    /// The technician's private key (OpenSSH, ssh-ed25519)
    #[arg(long, value_name = "FILE")]
    key: PathBuf,
    #[command(flatten)]
    passphrase: PassphraseArguments,
}

pub(crate) fn run(arguments: &SignArguments) -> Result<ExitCode, Failure> {
    let shop = arguments.shop.open()?;
    let roster = Roster::of(&shop)?;
    let place = place::find(&shop, &arguments.job)?;
    let key = open_key(&arguments.key, &arguments.passphrase)?;
    let against = against(&roster, place.number.as_deref());
    let record = signing::sign(&place.folder, &against, &key)?;
    write_report(&place.folder, &record)?;
    println!("Job {} is signed by {}.", record.job, record.technician);
    Ok(ExitCode::SUCCESS)
}

/// Open a private key; its passphrase is asked for where it has one.
pub(crate) fn open_key(file: &Path, from: &PassphraseArguments) -> Result<PrivateKey, Failure> {
    let mut passphrases = Passphrases::new(from);
    let prompt = format!("Passphrase for {}", file.display());
    Ok(key::open(file, &mut || passphrases.ask(&prompt))?)
}
