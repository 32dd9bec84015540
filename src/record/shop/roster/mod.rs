//! Who may sign, in which role and when: `allowed_signers` in OpenSSH's format, and `revoked`, a list
//! of public keys. A strict subset is read, so that whatever passes here passes `ssh-keygen` as well.
//! Always the shop's own files, never anything from inside a bundle.

pub mod line;
mod reading;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use chrono::{DateTime, Utc};
use ssh_key::public::KeyData;

pub use self::line::{Entry, PRACTICE_MARK, is_identity};
use crate::record::bundle::signed;
use crate::record::error::RecordError;
use crate::record::moment;
use crate::record::shop::{REVOKED, ROSTER, Shop};

/// In which role somebody signs; each has a namespace of its own, so that a signature given in one
/// can never stand for the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Did the work.
    Technician,
    /// Accepts or returns it.
    Lead,
}

/// Every role.
pub const ROLES: [Role; 2] = [Role::Technician, Role::Lead];

impl Role {
    /// The namespace of the role's signatures.
    #[must_use]
    pub fn namespace(self) -> &'static str {
        match self {
            Role::Technician => "technician@evenfire",
            Role::Lead => "lead@evenfire",
        }
    }

    /// As it stands in sentences.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Role::Technician => "technician",
            Role::Lead => "lead",
        }
    }
}

/// The people who may sign, and the keys that no longer count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Roster {
    file: PathBuf,
    entries: Vec<Entry>,
    revoked: Vec<KeyData>,
}

fn of(owner: Option<&str>) -> String {
    owner.map_or_else(String::new, |owner| format!(", {owner}'s,"))
}

/// Why a key may not sign.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// No line with that key.
    #[error("the key {key} is not in the roster")]
    Unknown {
        /// Fingerprint.
        key: String,
    },
    /// The key belongs to somebody else.
    #[error("the key {key} is {owner}'s in the roster, not {claimed}'s")]
    SomebodyElse {
        /// Fingerprint.
        key: String,
        /// Whose it is.
        owner: String,
        /// Whose it was said to be.
        claimed: String,
    },
    /// The key may not sign in that role.
    #[error(
        "the roster does not let {identity}'s key sign as {}: its line has no namespaces=\"{}\"",
        role.name(),
        role.namespace()
    )]
    WrongRole {
        /// Who.
        identity: String,
        /// The role.
        role: Role,
    },
    /// Before its time or after.
    #[error("{identity}'s key is not valid at {at} by the roster, but {valid}")]
    OutOfTime {
        /// Who.
        identity: String,
        /// The time that was signed.
        at: String,
        /// When it is, in words.
        valid: String,
    },
    /// The key is revoked.
    #[error("the key {key}{} is revoked", of(owner.as_deref()))]
    Revoked {
        /// Fingerprint.
        key: String,
        /// Whose it is by the roster; none where the roster does not have it any more.
        owner: Option<String>,
    },
}

impl Roster {
    /// The roster of a shop.
    ///
    /// # Errors
    /// The first thing that is wrong with it; [`Roster::proved`] tells them all.
    pub fn of(shop: &Shop) -> Result<Roster, RecordError> {
        Roster::proved(shop.root()).map_err(first)
    }

    /// The roster of a shop, whose folder is all that is looked at: its policy need not be readable.
    ///
    /// # Errors
    /// Everything that is wrong with the roster and the list of revoked keys.
    pub fn proved(shop: &Path) -> Result<Roster, Vec<RecordError>> {
        let (roster_file, revoked_file) = (shop.join(ROSTER), shop.join(REVOKED));
        let roster = reading::text_of(&roster_file, reading::LOST_ROSTER);
        let revoked = reading::text_of(&revoked_file, reading::LOST_REVOKED);
        match (roster, revoked) {
            (Ok(roster), Ok(revoked)) => {
                Roster::read((&roster_file, &roster), (&revoked_file, &revoked))
            }
            (roster, revoked) => Err(roster.err().into_iter().chain(revoked.err()).collect()),
        }
    }

    /// Read both files' texts; the paths are for messages.
    ///
    /// # Errors
    /// The first thing that is wrong with them.
    pub fn parse(roster: (&Path, &str), revoked: (&Path, &str)) -> Result<Roster, RecordError> {
        Roster::read(roster, revoked).map_err(first)
    }

    fn read(
        (roster_file, roster): (&Path, &str),
        revoked: (&Path, &str),
    ) -> Result<Roster, Vec<RecordError>> {
        let (entries, revoked) = reading::read((roster_file, roster), revoked)?;
        Ok(Roster {
            file: roster_file.to_owned(),
            entries,
            revoked,
        })
    }

    /// The lines.
    #[must_use]
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// The file, for messages.
    #[must_use]
    pub fn file(&self) -> &Path {
        &self.file
    }

    /// Whose key it is.
    #[must_use]
    pub fn owner(&self, key: &KeyData) -> Option<&str> {
        let mut entries = self.entries.iter();
        entries
            .find(|entry| entry.key.key_data() == key)
            .map(|entry| entry.identity.as_str())
    }

    /// Whether a line's key is revoked.
    #[must_use]
    pub fn has_revoked(&self, entry: &Entry) -> bool {
        self.revoked.contains(entry.key.key_data())
    }

    /// Fingerprints of revoked keys that are nobody's here.
    #[must_use]
    pub fn revoked_of_nobody(&self) -> Vec<String> {
        let strange = self.revoked.iter().filter(|key| self.owner(key).is_none());
        strange.map(signed::fingerprint).collect()
    }

    /// Whether a key is revoked, by its fingerprint as signatures are shown with.
    #[must_use]
    pub fn is_revoked(&self, fingerprint: &str) -> bool {
        let mut revoked = self.revoked.iter();
        revoked.any(|key| signed::fingerprint(key) == fingerprint)
    }

    /// Whether a person may sign with a key in a role at a time.
    ///
    /// # Errors
    /// Why not.
    pub fn admits(
        &self,
        identity: &str,
        key: &KeyData,
        role: Role,
        at: DateTime<Utc>,
    ) -> Result<&Entry, Refusal> {
        let shown = || signed::fingerprint(key);
        if self.revoked.contains(key) {
            let owner = self.owner(key).map(str::to_owned);
            return Err(Refusal::Revoked {
                key: shown(),
                owner,
            });
        }
        let owner = self
            .owner(key)
            .ok_or_else(|| Refusal::Unknown { key: shown() })?;
        if owner != identity {
            return Err(Refusal::SomebodyElse {
                key: shown(),
                owner: owner.to_owned(),
                claimed: identity.to_owned(),
            });
        }
        let mut refusal = Refusal::WrongRole {
            identity: identity.to_owned(),
            role,
        };
        let own = |entry: &&Entry| entry.key.key_data() == key && entry.has(role);
        for entry in self.entries.iter().filter(own) {
            if entry.valid_at(at.timestamp()) {
                return Ok(entry);
            }
            refusal = Refusal::OutOfTime {
                identity: identity.to_owned(),
                at: moment::text(at),
                valid: entry.validity() + &entry.slip(at.timestamp()),
            };
        }
        Err(refusal)
    }

    /// Who may sign in a role at a time.
    #[must_use]
    pub fn signers(&self, role: Role, at: DateTime<Utc>) -> BTreeSet<&str> {
        let signs = |entry: &&Entry| self.hindered(entry, at).is_none() && entry.has(role);
        let signing = self.entries.iter().filter(signs);
        signing.map(|entry| entry.identity.as_str()).collect()
    }

    /// Why somebody who is in the roster in a role may not sign in it at a time, as "jo's key ended
    /// 2026-03-31"; none where they may, or are not in it.
    #[must_use]
    pub fn hindrance(&self, identity: &str, role: Role, at: DateTime<Utc>) -> Option<String> {
        let own = |entry: &&Entry| entry.identity == identity && entry.has(role);
        let own = self.entries.iter().filter(own);
        let hindered: Option<Vec<String>> = own.map(|entry| self.hindered(entry, at)).collect();
        let last = hindered?.pop()?;
        Some(format!("{identity}'s key {last}"))
    }

    /// What keeps a line's key from signing at a time.
    fn hindered(&self, entry: &Entry, at: DateTime<Utc>) -> Option<String> {
        if self.revoked.contains(entry.key.key_data()) {
            return Some("is revoked".to_owned());
        }
        entry.hindered(at.timestamp())
    }

    /// Whether somebody is in the roster in a role.
    #[must_use]
    pub fn has(&self, identity: &str, role: Role) -> bool {
        let mut entries = self.entries.iter();
        entries.any(|entry| entry.identity == identity && entry.has(role))
    }

    /// Whether there is anybody but the technician who could countersign what was signed at a time: a
    /// lead with a key that is not revoked and had not run out then. Where the time is unknown, any will do.
    #[must_use]
    pub fn has_other_lead(&self, technician: &str, signed: Option<DateTime<Utc>>) -> bool {
        let mut entries = self.entries.iter();
        entries.any(|entry| {
            entry.identity != technician
                && entry.has(Role::Lead)
                && !self.revoked.contains(entry.key.key_data())
                && signed.is_none_or(|signed| !entry.ended_before(signed.timestamp()))
        })
    }

    /// Whether a person has practice keys only, so that what they sign is practice.
    #[must_use]
    pub fn practises(&self, identity: &str) -> bool {
        let mut own = self.entries.iter().filter(|e| e.identity == identity);
        own.clone().next().is_some() && own.all(Entry::is_practice)
    }
}

fn first(faults: Vec<RecordError>) -> RecordError {
    let first = faults.into_iter().next();
    first.unwrap_or_else(|| std::io::Error::other("the roster cannot be read").into())
}

#[cfg(test)]
mod tests;
