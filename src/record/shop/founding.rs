//! Founding a shop: its folder, its people's first keys and the roster that names them.

use std::path::{Path, PathBuf};

use ssh_key::{PrivateKey, PublicKey};

use crate::record::error::RecordError;
use crate::record::shop::roster::{Role, Roster, is_identity, line};
use crate::record::shop::{self, Shop};
use crate::record::signing::key;

/// Where a person's key comes from.
#[derive(Debug, Clone)]
pub enum KeySource {
    /// The person has one; this is its public half.
    Existing(Box<PublicKey>),
    /// A new one under a passphrase.
    New {
        /// The passphrase.
        passphrase: String,
    },
    /// A new one without passphrase, which signs practice only.
    Practice,
}

/// Somebody whom a new roster names.
#[derive(Debug, Clone)]
pub struct NewSigner {
    /// Identity for the roster.
    pub identity: String,
    /// The key.
    pub key: KeySource,
}

/// Found a shop in a new or empty folder. Without a lead it is a shop of one: jobs are signed and not
/// countersigned. The keys are there before it is a shop: one whose roster names keys that were never written could
/// sign nothing.
///
/// # Errors
/// What is wrong with the people or the name, before anything is written; and where something cannot be written.
pub fn found(
    root: &Path,
    name: &str,
    technician: &NewSigner,
    lead: Option<&NewSigner>,
) -> Result<Shop, RecordError> {
    let people = [(Role::Technician, Some(technician)), (Role::Lead, lead)];
    let people = people
        .into_iter()
        .filter_map(|(role, person)| Some((role, person?)));
    let mut roster = String::from(HEADING);
    let mut keys = Vec::new();
    for (role, person) in people {
        let (public, made) = own_key(person)?;
        roster += &line::text(&person.identity, role, &public);
        keys.extend(made.map(|made| (role, person, made)));
    }
    check(root, &roster, technician, lead)?;
    Shop::create_with(root, name, &roster, |root| {
        if !keys.is_empty() {
            make_private_folder(&shop::keys(root))?;
        }
        for (role, person, made) in keys {
            let passphrase = match &person.key {
                KeySource::New { passphrase } => Some(passphrase.as_str()),
                _ => None,
            };
            key::write_new(&made, &shop::key_file(root, role), passphrase)?;
        }
        Ok(())
    })
}

const HEADING: &str = "\
# Who may sign, one line per person and key: identity namespaces=\"ROLE\" ssh-ed25519 KEY comment
# Roles: technician@evenfire, lead@evenfire. When somebody leaves, add valid-before=\"YYYYMMDDZ\", the first
# day (UTC) whose signatures no longer count.
";

/// Open the practice key that a role has in a practice shop; nothing is asked.
///
/// # Errors
/// Where it is not there, or has a passphrase.
pub fn practice_key(shop: &Shop, role: Role) -> Result<PrivateKey, RecordError> {
    let asked = || Err("practice keys have none".to_owned());
    key::open(&shop.key_file(role), &mut { asked })
}

fn own_key(person: &NewSigner) -> Result<(PublicKey, Option<PrivateKey>), RecordError> {
    let practice = match &person.key {
        KeySource::Existing(public) => return Ok(((**public).clone(), None)),
        KeySource::New { .. } => false,
        KeySource::Practice => true,
    };
    let made = key::make(&person.identity, practice)?;
    Ok((made.public_key().clone(), Some(made)))
}

/// Everything that can be wrong with the people, before anything is written.
fn check(
    root: &Path,
    roster: &str,
    technician: &NewSigner,
    lead: Option<&NewSigner>,
) -> Result<(), RecordError> {
    let wrong = |why: String| RecordError::refused(root, why);
    for person in [Some(technician), lead].into_iter().flatten() {
        let name = &person.identity;
        if !is_identity(name) {
            let why =
                "is no identity: write one word of letters, digits and ._@+-, such as jo.tarrow";
            return Err(wrong(format!("{name:?} {why}")));
        }
    }
    if lead.is_some_and(|lead| lead.identity == technician.identity) {
        let why = "the lead must be another person than the technician; leave the lead out in a shop of one";
        return Err(wrong(why.into()));
    }
    if lead.is_some_and(|lead| is_alike(&lead.identity, &technician.identity)) {
        let why = "the names of lead and technician differ in capitals only, so nobody could tell their signatures apart; \
                   give one of them another name, or leave the lead out in a shop of one";
        return Err(wrong(why.into()));
    }
    let none = (PathBuf::from(shop::REVOKED), "");
    let file = root.join(shop::ROSTER);
    Roster::parse((&file, roster), (&none.0, none.1)).map(|_| ())
}

/// Whether two identities differ in capitals at most.
#[must_use]
pub fn is_alike(one: &str, other: &str) -> bool {
    one.to_lowercase() == other.to_lowercase()
}

fn make_private_folder(folder: &Path) -> Result<(), RecordError> {
    let mut builder = std::fs::DirBuilder::new();
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder).map_err(|error| {
        let told = format!("cannot make {}: {error}", folder.display());
        std::io::Error::new(error.kind(), told).into()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn person(identity: &str, key: KeySource) -> NewSigner {
        NewSigner {
            identity: identity.to_owned(),
            key,
        }
    }

    #[test]
    fn a_practice_shop_signs_practice_without_asking() {
        let folder = tempfile::tempdir().unwrap();
        let root = folder.path().join("shop");
        let (jo, kim) = (
            person("jo", KeySource::Practice),
            person("kim", KeySource::Practice),
        );
        let shop = found(&root, "Shop", &jo, Some(&kim)).unwrap();
        let roster = Roster::of(&shop).unwrap();
        assert!(roster.practises("jo") && roster.practises("kim"));
        for (role, who) in [(Role::Technician, "jo"), (Role::Lead, "kim")] {
            let key = practice_key(&shop, role).unwrap();
            assert_eq!(roster.owner(key.public_key().key_data()), Some(who));
            assert!(roster.has(who, role));
        }
    }

    #[test]
    #[cfg(unix)]
    fn keys_are_for_their_owner_only() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let key = KeySource::New {
            passphrase: "four words in order".into(),
        };
        let shop = found(
            &folder.path().join("shop"),
            "Shop",
            &person("jo", key),
            None,
        )
        .unwrap();
        let mode = |path| fs_err::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode(shop.keys()), 0o700);
        assert_eq!(mode(shop.key_file(Role::Technician)), 0o600);
        let roster = Roster::of(&shop).unwrap();
        assert!(!roster.practises("jo") && !roster.has_other_lead("jo", None));
        assert!(practice_key(&shop, Role::Technician).is_err());
    }

    #[test]
    fn nothing_is_made_where_the_people_are_wrong() {
        let folder = tempfile::tempdir().unwrap();
        let root = folder.path().join("shop");
        let practice = |who| person(who, KeySource::Practice);
        let public = key::make("jo", false).unwrap().public_key().clone();
        let shared = |who| person(who, KeySource::Existing(Box::new(public.clone())));
        for (technician, lead, told) in [
            (practice("jo halm"), None, "no identity"),
            (practice("jo"), Some(practice("*")), "no identity"),
            (practice("jo"), Some(practice("jo")), "another person"),
            (practice("jo"), Some(practice("Jo")), "capitals only"),
            (shared("jo"), Some(shared("kim")), "key of their own"),
        ] {
            let refusal = found(&root, "Shop", &technician, lead.as_ref())
                .unwrap_err()
                .to_string();
            assert!(refusal.contains(told), "{refusal}");
            assert!(!root.exists());
        }
    }
}
