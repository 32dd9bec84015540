//! Both files read as texts: every mistake at its line and column, and what is not there, or no text, told apart.

use std::io::ErrorKind;
use std::path::Path;

use ssh_key::PublicKey;
use ssh_key::public::KeyData;

use super::line::{self, Entry, Slip, TWO_IN_ONE};
use crate::record::error::RecordError;

/// The lines of the roster and the revoked keys; or everything that is wrong with the two.
pub(super) fn read(
    (roster_file, roster): (&Path, &str),
    (revoked_file, revoked): (&Path, &str),
) -> Result<(Vec<Entry>, Vec<KeyData>), Vec<RecordError>> {
    for (file, text) in [(roster_file, roster), (revoked_file, revoked)] {
        // each of its lines would be a fault, and none would name the danger
        let mut lines = (1..).zip(text.lines());
        if let Some((line, _)) = lines.find(|(_, line)| line.contains(PRIVATE)) {
            return Err(vec![RecordError::text(file, (line, 1), PASTED)]);
        }
    }
    let mut faults = Vec::new();
    let mut entries: Vec<Entry> = Vec::new();
    for (number, line) in (1..).zip(roster.lines()) {
        let entry = content(line).map(|text| {
            let text = text?;
            unshared(text, Entry::parse(number, text)?, &entries)
        });
        match entry {
            Some(Ok(entry)) => entries.push(entry),
            Some(Err(slip)) => faults.push(placed(roster_file, (number, line), slip)),
            None => {}
        }
    }
    let mut keys = Vec::new();
    for (number, line) in (1..).zip(revoked.lines()) {
        match content(line).map(|text| revoked_key(text?)) {
            Some(Ok(key)) => keys.push(key),
            Some(Err(slip)) => faults.push(placed(revoked_file, (number, line), slip)),
            None => {}
        }
    }
    match faults.is_empty() {
        true => Ok((entries, keys)),
        false => Err(faults),
    }
}

/// What the first and the last line of a private key's file hold.
const PRIVATE: &str = "PRIVATE KEY-----";

const PASTED: &str = "a PRIVATE key was pasted here: whoever has read this file can sign with it. Take all its lines out, \
                      have its owner make a new key (ssh-keygen -t ed25519), and take the one line of the file that \
                      ends in .pub";

/// How OpenSSH's binary lists of revoked keys begin (PROTOCOL.krl).
const BINARY_LIST: &[u8] = b"SSHKRL\n\0";

pub(super) const LOST_ROSTER: &str = "the roster is missing, so nobody can sign. Put it back from a backup; it is one line for each key: \
                           NAME namespaces=\"…\" and what stands in the .pub file";

pub(super) const LOST_REVOKED: &str = "the list of revoked keys is missing. Put it back from a backup; only if no key was ever \
                            revoked, make an empty file of that name";

/// The text of either file; `lost` says what to do where it is not there. One that cannot be read is never taken for
/// an empty one.
pub(super) fn text_of(file: &Path, lost: &str) -> Result<String, RecordError> {
    let bytes = std::fs::read(file).map_err(|error| {
        let told = match error.kind() {
            ErrorKind::NotFound => lost.to_owned(),
            _ => format!("cannot be read: {error}"),
        };
        RecordError::text(file, (1, 1), told)
    })?;
    let is_binary = bytes.starts_with(BINARY_LIST);
    String::from_utf8(bytes).map_err(|fault| {
        let sound = &fault.as_bytes()[..fault.utf8_error().valid_up_to()];
        let sound = String::from_utf8_lossy(sound);
        let line = sound.matches('\n').count() + 1;
        let column = sound.chars().rev().take_while(|c| *c != '\n').count() + 1;
        let form =
            "write one public key per line, as in a .pub file, which ssh-keygen -r takes as well";
        match is_binary {
            true => RecordError::text(file, (1, 1), format!("a binary list (KRL); {form}")),
            false => RecordError::text(file, (line, column), "not text: save the file as UTF-8"),
        }
    })
}

fn placed(file: &Path, (number, line): (usize, &str), slip: Slip<'_>) -> RecordError {
    RecordError::text(file, (number, slip.column(line)), slip.why)
}

/// What a line says; none where it is empty or a remark. A key that was glued to a remark by a missing end of
/// line would count as not there, and nothing would say so.
fn content(line: &str) -> Option<Result<&str, Slip<'_>>> {
    let text = line.trim();
    if text.starts_with('\u{feff}') {
        let why =
            "the file begins with an invisible mark (byte-order mark): save it as UTF-8 without it";
        return Some(Err(Slip::new(line, why)));
    }
    if text.starts_with('#') {
        return line::glued_key(text).map(|key| Err(Slip::new(key, TWO_IN_ONE)));
    }
    (!text.is_empty()).then_some(Ok(text))
}

fn revoked_key(text: &str) -> Result<KeyData, Slip<'_>> {
    let why = "not a public key; write one per line, as in a .pub file";
    let key = PublicKey::from_openssh(text).map_err(|_| Slip::new(text, why))?;
    line::one_key(text, &key)?;
    Ok(key.key_data().clone())
}

/// A key that two people use says nothing about who signed.
fn unshared<'t>(text: &'t str, entry: Entry, before: &[Entry]) -> Result<Entry, Slip<'t>> {
    let same = before.iter().find(|other| {
        other.key.key_data() == entry.key.key_data() && other.identity != entry.identity
    });
    match same {
        None => Ok(entry),
        Some(other) => {
            let (own, owner) = (&entry.identity, &other.identity);
            let why = format!(
                "the key is {owner}'s in line {}; each person needs a key of their own. If {own} is another person, have \
                 them make one (ssh-keygen -t ed25519 -f {own}) and write what stands in {own}.pub in place of this one; if \
                 not, give both the name {owner}",
                other.line
            );
            Err(Slip::new(line::key_of(text), why))
        }
    }
}
