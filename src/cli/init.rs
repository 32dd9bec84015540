//! `evenfire init`: found a shop.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;

use crate::cli::one_job::interrupt::Watch;
use crate::cli::one_job::which_job::{self, from_here, shop_option};
use crate::cli::person::Person;
use crate::cli::person::passphrase::{PassphraseArguments, Passphrases};
use crate::cli::shipped;
use crate::cli::{Failure, fitted, say};
use crate::record::shop::Shop;
use crate::record::shop::check_free;
use crate::record::shop::founding::{KeySource, NewSigner, found, is_alike};
use crate::record::shop::policy::ShopName;
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
    let watch = Watch::begin("Nothing was made.".to_owned())?;
    let wanted = Wanted::of(arguments)?;
    let mut passphrases = Passphrases::new(&arguments.passphrase);
    let mut signer = |identity: &str, role: Role, own: Option<&Path>| -> Result<_, Failure> {
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
        Ok(NewSigner {
            identity: identity.to_owned(),
            key,
        })
    };
    let own = wanted.technician_key.as_deref();
    let technician = signer(&wanted.technician, Role::Technician, own)?;
    let own = wanted.lead_key.as_deref();
    let lead = wanted.lead.as_deref();
    let lead = lead.map(|name| signer(name, Role::Lead, own)).transpose()?;
    // from here on it is made as a whole
    watch.over();
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
        let mut person = match asking {
            true => Person::there("nothing was made"),
            false => None,
        };
        let dir = given_or(given.dir.as_ref(), person.as_mut(), free_folder)?;
        check_free(&dir)?;
        let name = given_or(given.name.as_ref(), person.as_mut(), shop_name)?;
        let technician = given_or(given.technician.as_ref(), person.as_mut(), |person| {
            let asked = "Who does the work and signs it (one word, as in jo.tarrow)";
            identity(person, asked, "")
        })?;
        let mut wanted = Wanted {
            dir,
            name,
            technician,
            technician_key: given.technician_key.clone(),
            lead: given.lead.clone(),
            lead_key: given.lead_key.clone(),
            procedures: given.with_procedures,
        };
        if let Some(person) = &mut person {
            wanted.ask_the_rest(given, person)?;
        }
        Ok(wanted)
    }

    /// What may be left out, where somebody is there to be asked.
    fn ask_the_rest(&mut self, given: &InitArguments, person: &mut Person) -> Result<(), Failure> {
        if self.lead.is_none() {
            let asked = "Who accepts the work (Enter: a shop of one)";
            self.lead = identity(person, asked, &self.technician)?;
        }
        if !given.practice_keys {
            if self.technician_key.is_none() {
                self.technician_key = public_key(person, &self.technician)?;
            }
            if let (Some(lead), None) = (&self.lead, &self.lead_key) {
                self.lead_key = public_key(person, lead)?;
            }
        }
        if !self.procedures {
            self.procedures = person.agrees("Put the shipped procedures into it?")?;
        }
        Ok(())
    }
}

/// What was given, or what the person says.
fn given_or<T: Clone>(
    given: Option<&T>,
    person: Option<&mut Person>,
    ask: impl Fn(&mut Person) -> Result<Option<T>, Failure>,
) -> Result<T, Failure> {
    match (given, person) {
        (Some(given), _) => Ok(given.clone()),
        (None, Some(person)) => person.needed(ask),
        (None, None) => {
            let told = "there is no terminal to ask at: name the folder, --name and --technician";
            Err(told.into())
        }
    }
}

/// A folder in which nothing lies yet; none where nothing was typed.
fn free_folder(person: &mut Person) -> Result<Option<PathBuf>, Failure> {
    loop {
        let Some(dir) = person.path("Folder of the new shop")? else {
            return Ok(None);
        };
        match check_free(&dir) {
            Ok(()) => return Ok(Some(dir)),
            Err(why) => say(&fitted(format!("{why}\n"))),
        }
    }
}

/// A name that a shop can have; none where nothing was typed.
fn shop_name(person: &mut Person) -> Result<Option<String>, Failure> {
    loop {
        let Some(name) = person.line("Name of the shop, as reports show it")? else {
            return Ok(None);
        };
        match ShopName::try_from(name) {
            Ok(name) => return Ok(Some(name.text().to_owned())),
            Err(why) => say(&fitted(format!("{why}\n"))),
        }
    }
}

/// An identity of somebody who is not the other one; none where nothing was typed.
fn identity(person: &mut Person, asked: &str, other: &str) -> Result<Option<String>, Failure> {
    loop {
        let Some(name) = person.line(asked)? else {
            return Ok(None);
        };
        if is_identity(&name) && !is_alike(&name, other) {
            return Ok(Some(name));
        }
        let why = if name == other {
            "already does the work; nobody accepts their own"
        } else if is_alike(&name, other) {
            "differs from the other name in capitals only; take one that is told from it"
        } else {
            "is not one word of letters, digits and ._@+-, as in jo.tarrow"
        };
        say(&fitted(format!("{name:?} {why}.\n")));
    }
}

/// The file of a public key that somebody has already; none where a new one is to be made.
fn public_key(person: &mut Person, who: &str) -> Result<Option<PathBuf>, Failure> {
    let asked = format!("{who}'s own public key, .pub, ssh-ed25519 (Enter: make one)");
    loop {
        let Some(file) = person.path(&asked)? else {
            return Ok(None);
        };
        match key::open_public(&file) {
            Ok(_) => return Ok(Some(file)),
            Err(why) => say(&fitted(format!("{why}\n"))),
        }
    }
}

fn tell(shop: &Shop, technician: &NewSigner, lead: Option<&NewSigner>) {
    say(&format!(
        "Shop {} is in {}.\n",
        shop.name(),
        shop.root().display()
    ));
    for (role, signer) in [(Role::Technician, Some(technician)), (Role::Lead, lead)] {
        let Some(signer) = signer else {
            say("No lead: jobs are signed and not countersigned.\n");
            continue;
        };
        let key = shop.key_file(role);
        let what = match signer.key {
            KeySource::Existing(_) => "signs with a key of their own".to_owned(),
            KeySource::New { .. } => format!(
                "signs with {}, to be kept where only they can read it",
                key.display()
            ),
            KeySource::Practice => format!("signs practice with {}", key.display()),
        };
        let told = format!("{}: {} {what}.\n", role.name(), signer.identity);
        say(&fitted(told));
    }
    say(&fitted(format!(
        "Who may sign stands in {}.\n",
        shop.roster_file().display()
    )));
}
