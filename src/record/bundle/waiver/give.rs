//! Giving a waiver: checked as `verify` will check it, then written, text and signature
//! together. A text without its signature waives nothing.

use ssh_key::public::KeyData;

use super::{Waiver, numbered, signature_file, text_file};
use crate::record::bundle::inventory;
use crate::record::bundle::signed::{self, Signature, read_short};
use crate::record::durable;
use crate::record::error::RecordError;
use crate::record::folder::{JobFolder, WAIVERS};
use crate::record::moment;
use crate::record::shop::roster::{Role, Roster};
use crate::record::signing::admitted;
use crate::record::signing::signer::Signer;
use crate::record::signing::sshsig;

/// The job in which a waiver is given.
#[derive(Clone, Copy)]
pub struct Giving<'a> {
    /// Its folder.
    pub job: &'a JobFolder,
    /// Who may sign.
    pub roster: &'a Roster,
    /// Who does the job; nobody waives steps of their own job.
    pub technician: &'a str,
    /// Whether the job is practice, so that practice keys may sign.
    pub practice: bool,
}

/// Sign and write a waiver; the answer is its number.
///
/// # Errors
/// Where it would not count, and why.
pub fn give(giving: &Giving<'_>, key: &dyn Signer, waiver: Waiver) -> Result<u32, RecordError> {
    may_give(giving, key.key(), &waiver)?;
    let text = waiver.text();
    let signature = key.sign(Role::Lead, text.as_bytes())?;
    let number = giving.job.next_number(WAIVERS)?;
    durable::write_all_new(&[
        (giving.job.file(&text_file(number)), text.as_bytes()),
        (
            giving.job.file(&signature_file(number)),
            signature.as_bytes(),
        ),
    ])?;
    Ok(number)
}

/// Whether a waiver signed with that key would count: looked at before the key is opened.
///
/// # Errors
/// As [`give`] has them.
pub fn may_give(giving: &Giving<'_>, key: &KeyData, waiver: &Waiver) -> Result<(), RecordError> {
    let refused = |why: String| RecordError::refused(giving.job.path(), why);
    let waiver = waiver
        .clone()
        .sound()
        .map_err(|why| refused(format!("the waiver: {why}")))?;
    if waiver.lead == giving.technician {
        let why = format!(
            "{} does this job; another person must waive its steps",
            waiver.lead
        );
        return Err(refused(why));
    }
    let at =
        moment::read(&waiver.time).ok_or_else(|| refused("the waiver's time is none".into()))?;
    let signer = (waiver.lead.as_str(), key, Role::Lead);
    admitted(giving.job, giving.roster, giving.practice, signer, at)
}

/// The waivers that a job's files show, in order of their numbers, each with its signature: for showing.
/// Whether they hold is `verify`'s question.
///
/// # Errors
/// Where one cannot be read.
pub fn given(job: &JobFolder) -> Result<Vec<(u32, Waiver, Signature)>, RecordError> {
    let there = inventory::take(job.path())?;
    let mut given = Vec::new();
    for (number, is_text) in there.files.keys().filter_map(|name| numbered(name)) {
        if !is_text || !there.files.contains_key(&signature_file(number)) {
            continue;
        }
        let file = job.file(&text_file(number));
        let waiver = Waiver::parse(&read_short(&file, super::LONGEST_FILE)?)
            .map_err(|why| RecordError::text(&file, (1, 1), why))?;
        let file = job.file(&signature_file(number));
        let key = sshsig::key_of(&read_short(&file, sshsig::LONGEST_FILE)?)
            .map_err(|fault| RecordError::text(&file, (1, 1), fault.to_string()))?;
        let signature = Signature {
            identity: waiver.lead.clone(),
            time: waiver.time.clone(),
            fingerprint: signed::fingerprint(&key),
        };
        given.push((number, waiver, signature));
    }
    given.sort_by_key(|(number, ..)| *number);
    Ok(given)
}
