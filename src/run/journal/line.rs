//! Lines of a journal, written and read: `{"n":7,"h":"…","ev":{…}}`. The hash is SHA-256 over the
//! hash before, a line feed, the number in decimal, a line feed, and the bytes of the event exactly as
//! they lie on disk: nothing is ever serialised again to be verified.

use std::io;

use sha2::{Digest, Sha256};

use super::JournalError;
use crate::run::event::Stamped;

/// What stands for the hash before the first line.
pub const FIRST_PREVIOUS: &str = "0000000000000000000000000000000000000000000000000000000000000000";

/// Characters of a SHA-256 in hex.
const HASH_LENGTH: usize = 64;

/// One line.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Its number, from 1.
    pub n: u64,
    /// Its hash, hex.
    pub hash: String,
    /// What it says.
    pub event: Stamped,
}

/// A journal as it was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Its whole lines.
    pub lines: Vec<Line>,
    /// What a crash left behind them.
    pub torn: Option<Torn>,
}

/// A torn tail.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Torn {
    /// Where it begins in the file.
    pub at: u64,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// A line about to be written.
pub(super) struct Writing {
    pub text: String,
    pub hash: String,
}

impl Reading {
    /// Hash of the last whole line.
    #[must_use]
    pub fn head(&self) -> &str {
        self.lines.last().map_or(FIRST_PREVIOUS, |line| &line.hash)
    }
}

/// The hash of a line.
pub(super) fn hash(previous: &str, n: u64, event: &[u8]) -> String {
    let mut sha = Sha256::new();
    sha.update(previous.as_bytes());
    sha.update(format!("\n{n}\n").as_bytes());
    sha.update(event);
    format!("{:x}", sha.finalize())
}

/// An event as a line; with it the event as it reads back, so that what cannot be read again is
/// never written.
pub(super) fn written(previous: &str, n: u64, event: &Stamped) -> io::Result<(Writing, Stamped)> {
    let ev = serde_json::to_string(event)?;
    let back = serde_json::from_str(&ev)?;
    let hash = hash(previous, n, ev.as_bytes());
    let text = format!("{{\"n\":{n},\"h\":\"{hash}\",\"ev\":{ev}}}");
    Ok((Writing { text, hash }, back))
}

/// Read a journal's bytes.
///
/// # Errors
/// Damage other than a torn tail.
pub fn read(bytes: &[u8]) -> Result<Reading, JournalError> {
    let (whole, torn) = split(bytes);
    let mut lines: Vec<Line> = Vec::new();
    for text in whole.split_inclusive(|byte| *byte == b'\n') {
        let n = lines.len() as u64 + 1;
        let previous = lines.last().map_or(FIRST_PREVIOUS, |line| &line.hash);
        let text = text.strip_suffix(b"\n").unwrap_or(text);
        let line =
            one(text, n, previous).map_err(|what| JournalError::Damaged { line: n, what })?;
        lines.push(line);
    }
    Ok(Reading { lines, torn })
}

/// Whole lines and the torn tail: what follows the last line feed, or a last line with NULs in it,
/// as some file systems leave behind a crash.
fn split(bytes: &[u8]) -> (&[u8], Option<Torn>) {
    let end_of_line = |bytes: &[u8]| {
        bytes
            .iter()
            .rposition(|byte| *byte == b'\n')
            .map_or(0, |at| at + 1)
    };
    let mut at = end_of_line(bytes);
    if at == bytes.len() && at > 0 {
        let last = end_of_line(&bytes[..at - 1]);
        if bytes[last..].contains(&0) {
            at = last;
        }
    }
    let torn = (at < bytes.len()).then(|| Torn {
        at: at as u64,
        bytes: bytes[at..].to_vec(),
    });
    (&bytes[..at], torn)
}

fn one(text: &[u8], n: u64, previous: &str) -> Result<Line, String> {
    let (found, after) = number(text).ok_or("it does not begin as `{\"n\":…,\"h\":…` ")?;
    if found != n.to_string().as_bytes() {
        let found = String::from_utf8_lossy(found);
        return Err(format!("it bears the number {found}, {n} was expected"));
    }
    let (stated, ev) =
        event(after).ok_or("it is not of the form `{\"n\":…,\"h\":\"…\",\"ev\":{…}}`")?;
    let hash = hash(previous, n, ev);
    if stated != hash.as_bytes() {
        return Err("its hash does not fit what it says and the line before".to_owned());
    }
    let event = serde_json::from_slice(ev).map_err(|error| {
        format!("its event cannot be read ({error}); a newer program may have written it")
    })?;
    Ok(Line { n, hash, event })
}

fn number(text: &[u8]) -> Option<(&[u8], &[u8])> {
    let rest = text.strip_prefix(b"{\"n\":")?;
    let digits = rest.iter().take_while(|byte| byte.is_ascii_digit()).count();
    Some(rest.split_at(digits))
}

/// The stated hash and the bytes of the event.
fn event(after_number: &[u8]) -> Option<(&[u8], &[u8])> {
    let rest = after_number.strip_prefix(b",\"h\":\"")?;
    let (hash, rest) = rest.split_at_checked(HASH_LENGTH)?;
    let ev = rest.strip_prefix(b"\",\"ev\":")?.strip_suffix(b"}")?;
    Some((hash, ev))
}
