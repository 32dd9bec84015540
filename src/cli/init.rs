//! `evenfire init`: found a shop.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;

use super::Failure;
use super::passphrase::{PassphraseArguments, Passphrases};
use crate::record::founding::{KeySource, Person, found};
use crate::record::key;
use crate::record::roster::Role;
use crate::record::shop::Shop;
use crate::record::shop::check_free;

/// Make a shop: its folder, its people's signing keys, and the roster of who may sign
#[derive(Debug, Args)]
pub(crate) struct InitArguments {
    /// New or empty folder for the shop
    dir: PathBuf,
    /// Name of the shop, as reports show it
    #[arg(long)]
    name: String,
    /// Who does the work and signs it: one word, such as jo.tarrow
    #[arg(long, value_name = "NAME")]
    technician: String,
    /// Who accepts the work; left out in a shop of one
    #[arg(long, value_name = "NAME")]
    lead: Option<String>,
    /// The technician's own public key (.pub, ssh-ed25519) instead of a new one
    #[arg(long, value_name = "FILE")]
    technician_key: Option<PathBuf>,
    /// The lead's own public key instead of a new one
    #[arg(long, value_name = "FILE", requires = "lead")]
    lead_key: Option<PathBuf>,
    /// Make keys without passphrase; they sign practice only
    #[arg(long, conflicts_with_all = ["technician_key", "lead_key"])]
    practice_keys: bool,
    #[command(flatten)]
    passphrase: PassphraseArguments,
}

pub(crate) fn run(arguments: &InitArguments) -> Result<ExitCode, Failure> {
    check_free(&arguments.dir)?;
    let mut passphrases = Passphrases::new(&arguments.passphrase);
    let mut person = |identity: &str, role: Role, own: Option<&Path>| -> Result<Person, Failure> {
        let key = match own {
            Some(file) => KeySource::Existing(Box::new(key::open_public(file)?)),
            None if arguments.practice_keys => KeySource::Practice,
            None => {
                let prompt = format!("Passphrase for {identity}'s new key ({})", role.name());
                KeySource::New {
                    passphrase: passphrases.choose(&prompt)?,
                }
            }
        };
        Ok(Person {
            identity: identity.to_owned(),
            key,
        })
    };
    let own = arguments.technician_key.as_deref();
    let technician = person(&arguments.technician, Role::Technician, own)?;
    let own = arguments.lead_key.as_deref();
    let lead = match &arguments.lead {
        Some(name) => Some(person(name, Role::Lead, own)?),
        None => None,
    };
    let shop = found(&arguments.dir, &arguments.name, &technician, lead.as_ref())?;
    tell(&shop, &technician, lead.as_ref());
    Ok(ExitCode::SUCCESS)
}

fn tell(shop: &Shop, technician: &Person, lead: Option<&Person>) {
    println!("Shop {} is in {}.", shop.name(), shop.root().display());
    for (role, person) in [(Role::Technician, Some(technician)), (Role::Lead, lead)] {
        let Some(person) = person else {
            println!("No lead: jobs are signed and not countersigned.");
            continue;
        };
        let key = shop.key_file(role);
        let what = match person.key {
            KeySource::Existing(_) => "signs with a key of their own".to_owned(),
            KeySource::New { .. } => format!(
                "signs with {}, to be kept where only they can read it",
                key.display()
            ),
            KeySource::Practice => format!("signs practice with {}", key.display()),
        };
        println!("{}: {} {what}.", role.name(), person.identity);
    }
    println!("Who may sign stands in {}.", shop.roster_file().display());
}
