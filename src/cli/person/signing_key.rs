//! Which key signs: a private key file, or one that the ssh-agent keeps.

use std::path::{Path, PathBuf};

use clap::Args;
use ssh_key::public::KeyData;

use crate::cli::Failure;
use crate::cli::person::Person;
use crate::cli::person::passphrase::{PassphraseArguments, Passphrases};
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
    #[command(flatten)]
    passphrase: PassphraseArguments,
}

impl KeyArguments {
    /// The key to sign with in a role, not opened yet.
    pub(crate) fn choose(
        &self,
        shop: &Shop,
        roster: &Roster,
        role: Role,
    ) -> Result<Chosen<'_>, Failure> {
        match &self.key {
            None if !self.agent => {
                let mut person = Person::there("nothing was signed")
                    .ok_or("which key signs? Name it with --key FILE, or use --agent")?;
                let whose = role.name();
                let prompt = format!("The {whose}'s private key, as a path (nothing: the shop's)");
                let typed = person.path(&prompt)?;
                let file = typed.unwrap_or_else(|| shop.key_file(role));
                Chosen::of_file(&file, &self.passphrase)
            }
            Some(file) if !self.agent => Chosen::of_file(file, &self.passphrase),
            file => Ok(Chosen::Kept(of_agent(file.as_deref(), roster, role)?)),
        }
    }
}

/// A key that was chosen: whose it is can be told before its passphrase is asked for.
pub(crate) enum Chosen<'a> {
    /// In a file.
    File {
        prompt: String,
        key: Box<key::Locked>,
        passphrase: &'a PassphraseArguments,
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
            } => {
                let mut passphrases = Passphrases::new(passphrase);
                Ok(Box::new(key.open(&mut || passphrases.ask(&prompt))?))
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
