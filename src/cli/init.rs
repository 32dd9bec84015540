//! `evenfire init`: found a shop.

use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;

use crate::ask::keys::Keys;
use crate::cli::one_job::answering;
use crate::cli::one_job::keeping::as_typed;
use crate::cli::one_job::which_job::{self, from_here, shop_option};
use crate::cli::person::last_line;
use crate::cli::person::passphrase::{PassphraseArguments, Passphrases};
use crate::cli::shipped;
use crate::cli::{Failure, fitted, say, warn};
use crate::record::shop::Shop;
use crate::record::shop::check_free;
use crate::record::shop::founding::{KeySource, Person, found};
use crate::record::shop::roster::{Role, is_identity};
use crate::record::signing::key;

/// Make a shop: its folder, its people's signing keys, and the roster of who may sign
///
/// What is left out is asked for where somebody is at the terminal. With `--with-procedures` and no other option, a
/// shop that is there already gets those of the shipped procedures that it does not have.
#[derive(Debug, Args)]
pub(crate) struct InitArguments {
    /// New or empty folder for the shop, or the shop that gets the shipped procedures
    dir: Option<PathBuf>,
    /// Name of the shop, as reports show it
    #[arg(long)]
    name: Option<String>,
    /// Who does the work and signs it: one word, such as jo.tarrow
    #[arg(long, value_name = "NAME")]
    technician: Option<String>,
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
    /// Put the shipped procedures into the shop
    #[arg(long)]
    with_procedures: bool,
    #[command(flatten)]
    passphrase: PassphraseArguments,
}

pub(crate) fn run(arguments: &InitArguments) -> Result<ExitCode, Failure> {
    if let Some(shop) = arguments.shop_there()? {
        lay_into(&shop)?;
        return Ok(ExitCode::SUCCESS);
    }
    let wanted = Wanted::of(arguments)?;
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
    let own = wanted.technician_key.as_deref();
    let technician = person(&wanted.technician, Role::Technician, own)?;
    let own = wanted.lead_key.as_deref();
    let lead = match &wanted.lead {
        Some(name) => Some(person(name, Role::Lead, own)?),
        None => None,
    };
    let shop = found(&wanted.dir, &wanted.name, &technician, lead.as_ref())?;
    if wanted.procedures {
        shipped::lay(&shipped::PROCEDURES, &shop.procedures())?;
    }
    tell(&shop, &technician, lead.as_ref());
    if wanted.procedures {
        say(&format!(
            "Its procedures are in {}.\n",
            shop.procedures().display()
        ));
    }
    say(&format!("{}\n", next(&shop, wanted.procedures)));
    Ok(ExitCode::SUCCESS)
}

/// What comes after the founding.
fn next(shop: &Shop, has_procedures: bool) -> String {
    let root = shop.root();
    if has_procedures {
        let shop = shop_option(root);
        return format!("Next, a job:\n  evenfire run relative-compression{shop}");
    }
    format!(
        "It has no procedures yet. This puts the shipped ones into it:\n  evenfire init {} --with-procedures",
        from_here(root)
    )
}

/// Put those of the shipped procedures into a shop that it does not have yet.
fn lay_into(shop: &Shop) -> Result<(), Failure> {
    let own = shipped::lay(&shipped::PROCEDURES, &shop.procedures())?;
    say(&format!(
        "The shipped procedures are in {}.\n",
        shop.procedures().display()
    ));
    for file in own {
        say(&format!(
            "{} is the shop's own and stays.\n",
            file.display()
        ));
    }
    say(&format!("{}\n", next(shop, true)));
    Ok(())
}

impl InitArguments {
    /// The shop that is there, where nothing but its procedures is asked for.
    fn shop_there(&self) -> Result<Option<Shop>, Failure> {
        let founds = self.name.is_some() || self.technician.is_some() || self.lead.is_some();
        if founds || !self.with_procedures {
            return Ok(None);
        }
        let root = match &self.dir {
            Some(dir) => Some(dir.clone()),
            None => which_job::wanted(None)?,
        };
        match root.filter(|root| Shop::policy_file(root).is_file()) {
            Some(root) => Ok(Some(Shop::open(&root)?)),
            None => Ok(None),
        }
    }
}

/// What a shop is made of, given or asked for.
struct Wanted {
    dir: PathBuf,
    name: String,
    technician: String,
    technician_key: Option<PathBuf>,
    lead: Option<String>,
    lead_key: Option<PathBuf>,
    procedures: bool,
}

impl Wanted {
    fn of(given: &InitArguments) -> Result<Wanted, Failure> {
        let asking = given.dir.is_none() || given.name.is_none() || given.technician.is_none();
        if asking && !std::io::stdin().is_terminal() {
            let told = "there is no terminal to ask at: name the folder, --name and --technician";
            return Err(told.into());
        }
        let dir = match &given.dir {
            Some(dir) => dir.clone(),
            None => PathBuf::from(asked("Folder of the new shop", None)?),
        };
        check_free(&dir)?;
        let name = match &given.name {
            Some(name) => name.clone(),
            None => asked("Name of the shop, as reports show it", None)?,
        };
        let technician = match &given.technician {
            Some(name) => name.clone(),
            None => asked_for_person(
                "Who does the work and signs it (one word, as in jo.tarrow)",
                None,
                "",
            )?,
        };
        let mut wanted = Wanted {
            dir,
            name,
            technician,
            technician_key: given.technician_key.clone(),
            lead: given.lead.clone(),
            lead_key: given.lead_key.clone(),
            procedures: given.with_procedures,
        };
        if asking {
            wanted.ask_the_rest(given)?;
        }
        Ok(wanted)
    }

    /// What may be left out, where somebody is there to be asked.
    fn ask_the_rest(&mut self, given: &InitArguments) -> Result<(), Failure> {
        if self.lead.is_none() {
            let prompt = "Who accepts the work (Enter: a shop of one)";
            let lead = asked_for_person(prompt, Some(""), &self.technician)?;
            self.lead = Some(lead).filter(|lead| !lead.is_empty());
        }
        if !given.practice_keys {
            let key = |who: &str| -> Result<Option<PathBuf>, Failure> {
                let prompt = format!("{who}'s own public key, .pub, ssh-ed25519 (Enter: make one)");
                loop {
                    let path = asked(&prompt, Some(""))?;
                    if path.is_empty() {
                        return Ok(None);
                    }
                    let path = as_typed(&path);
                    match key::open_public(&path) {
                        Ok(_) => return Ok(Some(path)),
                        Err(why) => warn(&format!("{why}\n")),
                    }
                }
            };
            if self.technician_key.is_none() {
                self.technician_key = key(&self.technician)?;
            }
            if let (Some(lead), None) = (&self.lead, &self.lead_key) {
                self.lead_key = key(lead)?;
            }
        }
        if !self.procedures {
            self.procedures = agreed("Put the shipped procedures into it? yes or no")?;
        }
        Ok(())
    }
}

/// An identity from the person, who is not the other one.
fn asked_for_person(prompt: &str, usual: Option<&str>, other: &str) -> Result<String, Failure> {
    loop {
        let name = asked(prompt, usual)?;
        if name.is_empty() || (is_identity(&name) && name != other) {
            return Ok(name);
        }
        let why = if name == other {
            "already does the work; nobody accepts their own"
        } else {
            "is not one word of letters, digits and ._@+-, as in jo.tarrow"
        };
        warn(&format!("{name:?} {why}.\n"));
    }
}

/// A yes or a no; nothing is a yes.
fn agreed(prompt: &str) -> Result<bool, Failure> {
    loop {
        match asked(prompt, Some("yes"))?.to_lowercase().as_str() {
            "y" | "yes" => return Ok(true),
            "n" | "no" => return Ok(false),
            other => warn(&format!("{other:?} is neither; type yes or no.\n")),
        }
    }
}

/// A line from the person; `usual` is taken where nothing is typed.
fn asked(prompt: &str, usual: Option<&str>) -> Result<String, Failure> {
    let Some(mut keys) = answering::keys() else {
        return Err("nothing was made: there is no terminal to ask at".into());
    };
    let prompt = match usual {
        Some(usual) if !usual.is_empty() => format!("{prompt} [{usual}]"),
        _ => prompt.to_owned(),
    };
    loop {
        let line = keys.line(&last_line(&prompt));
        let line = line.map_err(|error| format!("nothing was made: {error}"))?;
        match (line.trim(), usual) {
            ("", None) => warn("This can't be left out; Ctrl-C leaves everything as it was.\n"),
            ("", Some(usual)) => return Ok(usual.to_owned()),
            (line, _) => return Ok(line.to_owned()),
        }
    }
}

fn tell(shop: &Shop, technician: &Person, lead: Option<&Person>) {
    say(&format!(
        "Shop {} is in {}.\n",
        shop.name(),
        shop.root().display()
    ));
    for (role, person) in [(Role::Technician, Some(technician)), (Role::Lead, lead)] {
        let Some(person) = person else {
            say("No lead: jobs are signed and not countersigned.\n");
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
        let told = format!("{}: {} {what}.\n", role.name(), person.identity);
        say(&fitted(told));
    }
    say(&fitted(format!(
        "Who may sign stands in {}.\n",
        shop.roster_file().display()
    )));
}
