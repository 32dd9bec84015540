//! Which key signs: a private key file, or one that the ssh-agent keeps.

use std::path::{Path, PathBuf};

use chrono::Utc;
use clap::Args;
use ssh_key::public::KeyData;

use crate::cli::person::Person;
use crate::cli::person::passphrase::{PassphraseArguments, Passphrases, TRIES};
use crate::cli::{Failure, say};
use crate::record::shop::Shop;
use crate::record::shop::roster::{Role, Roster};
use crate::record::signing::agent::Agent;
use crate::record::signing::key;
use crate::record::signing::signer::Signer;

#[derive(Debug, Args)]
pub(crate) struct KeyArguments {
    /// The private key (OpenSSH, ssh-ed25519); with --agent the public half of the key to be used
    #[arg(long, value_name = "FILE")]
    key: Option<PathBuf>,
    /// Sign with a key that the ssh-agent keeps (SSH_AUTH_SOCK)
    #[arg(long)]
    agent: bool,
    /// Do not ask at the terminal before a key without a passphrase signs
    #[arg(long)]
    yes: bool,
    #[command(flatten)]
    passphrase: PassphraseArguments,
}

impl KeyArguments {
    /// Whether options say which key signs, so that nobody is asked.
    pub(crate) fn is_given(&self) -> bool {
        self.agent || self.key.is_some()
    }

    /// The key to sign with in a role, not opened yet. The shop's own is offered only where it is the key of somebody
    /// who `may` sign.
    pub(crate) fn choose(
        &self,
        (shop, roster): (&Shop, &Roster),
        role: Role,
        may: impl Fn(&str) -> bool,
    ) -> Result<Chosen<'_>, Failure> {
        let file = match &self.key {
            file if self.agent => {
                return Ok(Chosen::Kept(of_agent(file.as_deref(), roster, role)?));
            }
            Some(file) => file.clone(),
            None => return self.typed(offered(shop, roster, role, may), roster, role),
        };
        self.in_file(&file, roster)
    }

    /// The key that the person names.
    fn typed(
        &self,
        offered: Option<Offered>,
        roster: &Roster,
        role: Role,
    ) -> Result<Chosen<'_>, Failure> {
        let mut person = Person::there("nothing was signed")
            .ok_or("which key signs? Name it with --key FILE, or use --agent")?;
        let whose = role.name();
        let enter = offered.as_ref().map_or_else(String::new, |own| {
            format!(" (Enter: {}'s, in the shop)", own.owner)
        });
        let prompt = format!("The {whose}'s private key, as a path{enter}");
        let mut left = TRIES;
        loop {
            left -= 1;
            let file = person.needed(|person| {
                let typed = person.path(&prompt)?;
                Ok(typed.or_else(|| offered.as_ref().map(|own| own.file.clone())))
            })?;
            match self.in_file(&file, roster) {
                Err(why) if left > 0 => say(&format!("{why}\n")),
                chosen => return chosen,
            }
        }
    }

    fn in_file(&self, file: &Path, roster: &Roster) -> Result<Chosen<'_>, Failure> {
        let mut chosen = Chosen::of_file(file, &self.passphrase)?;
        if let Chosen::File { key, bare, .. } = &mut chosen
            && !self.yes
        {
            *bare = bare_signer(key, roster);
        }
        Ok(chosen)
    }
}

/// The key that was made with the shop.
struct Offered {
    file: PathBuf,
    owner: String,
}

/// The shop's key of a role, where it lies there and its owner may sign with it now: somebody else's is not offered.
fn offered(
    shop: &Shop,
    roster: &Roster,
    role: Role,
    may: impl Fn(&str) -> bool,
) -> Option<Offered> {
    let file = shop.key_file(role);
    let key = key::look(&file).ok()?;
    let owner = roster.owner(key.public()).filter(|owner| may(owner))?;
    roster.admits(owner, key.public(), role, Utc::now()).ok()?;
    let owner = owner.to_owned();
    Some(Offered { file, owner })
}

/// As whom a key without a passphrase signs, where what it signs counts.
pub(crate) fn bare_signer(key: &key::Locked, roster: &Roster) -> Option<String> {
    let mut entries = roster.entries().iter();
    let own = entries.find(|entry| entry.key.key_data() == key.public())?;
    (!key.has_passphrase() && !own.is_practice()).then(|| own.identity.clone())
}

/// Whether a key without a passphrase shall sign: nothing else was asked of whoever is there.
pub(crate) fn agrees_to_bare(person: &mut Person, signer: &str) -> Result<bool, Failure> {
    say(&format!(
        "This key has no passphrase: whoever has its file signs as {signer} (`ssh-keygen -p -f FILE` gives it one).\n"
    ));
    person.agrees("Sign with it?")
}

/// Where nobody can be asked that.
fn nobody_agrees(signer: &str) -> String {
    format!(
        "this key has no passphrase: whoever has its file signs as {signer}; to sign with it all the same, where nobody is asked, \
         say --yes"
    )
}

/// A key that was chosen: whose it is can be told before its passphrase is asked for.
pub(crate) enum Chosen<'a> {
    /// In a file.
    File {
        prompt: String,
        key: Box<key::Locked>,
        passphrase: &'a PassphraseArguments,
        /// As whom it signs, where it has no passphrase and that is to be asked about.
        bare: Option<String>,
    },
    /// With the ssh-agent.
    Kept(Box<dyn Signer>),
}

impl<'a> Chosen<'a> {
    pub(crate) fn of_file(
        file: &Path,
        passphrase: &'a PassphraseArguments,
    ) -> Result<Chosen<'a>, Failure> {
        Ok(Chosen::File {
            prompt: format!("Passphrase for {}", file.display()),
            key: Box::new(key::look(file)?),
            passphrase,
            bare: None,
        })
    }

    /// The public half.
    pub(crate) fn public(&self) -> &KeyData {
        match self {
            Chosen::File { key, .. } => key.public(),
            Chosen::Kept(signer) => signer.key(),
        }
    }

    /// Open it; its passphrase is asked for where it has one.
    pub(crate) fn open(self) -> Result<Box<dyn Signer>, Failure> {
        match self {
            Chosen::Kept(signer) => Ok(signer),
            Chosen::File {
                prompt,
                key,
                passphrase,
                bare,
            } => {
                if let Some(signer) = bare {
                    let agreed = match Person::there("nothing was signed") {
                        Some(mut person) => agrees_to_bare(&mut person, &signer)?,
                        None => return Err(nobody_agrees(&signer).into()),
                    };
                    if !agreed {
                        return Err("nothing was signed".into());
                    }
                }
                Ok(Box::new(Passphrases::new(passphrase).open(&key, &prompt)?))
            }
        }
    }
}

fn of_agent(file: Option<&Path>, roster: &Roster, role: Role) -> Result<Box<dyn Signer>, Failure> {
    let socket = std::env::var_os("SSH_AUTH_SOCK")
        .filter(|socket| !socket.is_empty())
        .ok_or(
            "no ssh-agent is running: SSH_AUTH_SOCK is not set (start one, or leave --agent out)",
        )?;
    let agent = Agent::at(Path::new(&socket));
    let kept = agent.keys()?;
    let wanted = match file {
        Some(file) => {
            let public = key::open_public(file)?.key_data().clone();
            if !kept.contains(&public) {
                let told = format!(
                    "{}: the ssh-agent does not keep this key; add it with `ssh-add`",
                    file.display()
                );
                return Err(told.into());
            }
            public
        }
        None => only(&kept, roster, role)?,
    };
    Ok(Box::new(agent.with(wanted)))
}

/// The one key of the agent's that the roster has in a role.
fn only(kept: &[KeyData], roster: &Roster, role: Role) -> Result<KeyData, Failure> {
    let has = |key: &&KeyData| {
        let mut entries = roster.entries().iter();
        entries.any(|entry| entry.key.key_data() == *key && entry.has(role))
    };
    let fitting: Vec<&KeyData> = kept.iter().filter(has).collect();
    match fitting.as_slice() {
        [one] => Ok((*one).clone()),
        [] => {
            let told = format!(
                "the ssh-agent keeps no key that {} has as {}; add one with `ssh-add`",
                roster.file().display(),
                role.name()
            );
            Err(told.into())
        }
        _ => Err(
            "the ssh-agent keeps several keys that could sign; name one with --key FILE.pub".into(),
        ),
    }
}
