//! A job's journal: one line per event, each chained to the one before by its hash. An event is on
//! disk, synced, before the next question shows. A torn last line is kept aside and cut; any other
//! damage stops with the line number, and nothing is repaired. Reading never repairs.

pub mod disk;
pub mod line;

use std::io;

use thiserror::Error;

pub use disk::{Disk, Storage};
pub use line::{Line, Reading, Torn, read};

use crate::run::event::{Event, Stamped};
use line::{FIRST_PREVIOUS, written};

/// The journal's name in a job.
pub const NAME: &str = "journal.jsonl";

/// Most torn tails kept beside one journal.
const MOST_TORN: u32 = 1000;

/// What is wrong with a journal.
#[derive(Debug, Error)]
pub enum JournalError {
    /// Damage that a crash cannot explain.
    #[error(
        "{NAME} line {line}: {what}; nothing was changed. Compare with a copy of the job; a journal that was altered cannot be gone on with"
    )]
    Damaged {
        /// Line, from 1.
        line: u64,
        /// What is wrong.
        what: String,
    },
    /// Nothing was ever written in whole.
    #[error("{NAME} holds no whole line: the job never began. Begin a new one")]
    Empty,
    /// Another run holds the journal.
    #[error("this job is open in another run of the program{}; close that one first", told(.0))]
    InUse(Option<String>),
    /// The journal could not be read.
    #[error("{NAME} cannot be read: {0}")]
    Unreadable(#[source] io::Error),
    /// An event could not be written; nothing more will be.
    #[error(
        "{NAME} cannot be written: {0}. The run stops here; everything up to the last answered question is kept. Free the disk or mend the folder, then resume"
    )]
    Unwritable(#[source] io::Error),
    /// A write failed before.
    #[error("{NAME} could not be written before, so nothing more is written; resume the job")]
    Stopped,
}

/// Who holds a journal, in brackets, where that is known.
fn told(holder: &Option<String>) -> String {
    let holder = holder.as_deref().map(|holder| format!(" ({holder})"));
    holder.unwrap_or_default()
}

/// A journal that is being written. It holds the lock of its storage as long as it lives.
#[derive(Debug)]
pub struct Journal<S> {
    storage: S,
    lines: u64,
    head: String,
    failed: bool,
}

/// A torn tail that was cut when the journal was opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cut {
    /// File that keeps it, relative to the job.
    pub kept_in: String,
    /// Its bytes.
    pub bytes: u64,
}

/// A journal opened to go on with it, its lines, and the torn tail that was cut.
pub type Opened<S> = (Journal<S>, Vec<Line>, Option<Cut>);

impl<S: Storage> Journal<S> {
    /// Begin a journal in an empty storage.
    pub fn begin(storage: S) -> Self {
        Journal {
            storage,
            lines: 0,
            head: FIRST_PREVIOUS.to_owned(),
            failed: false,
        }
    }

    /// Open a journal to go on with it. A torn tail is kept aside and cut first; the caller records
    /// that as [`Event::Mended`].
    ///
    /// # Errors
    /// Damage other than a torn tail, or input and output.
    pub fn open(mut storage: S) -> Result<Opened<S>, JournalError> {
        let bytes = storage.read().map_err(JournalError::Unreadable)?;
        let reading = read(&bytes)?;
        if reading.lines.is_empty() {
            return Err(JournalError::Empty);
        }
        let cut = match &reading.torn {
            None => None,
            Some(torn) => Some(cut(&mut storage, torn).map_err(JournalError::Unwritable)?),
        };
        let journal = Journal {
            storage,
            lines: reading.lines.len() as u64,
            head: reading.head().to_owned(),
            failed: false,
        };
        Ok((journal, reading.lines, cut))
    }

    /// Write an event and sync it. The event comes back as it will be read from disk.
    ///
    /// # Errors
    /// Where it could not be written; the journal takes nothing more then.
    pub fn append(&mut self, event: &Stamped) -> Result<Stamped, JournalError> {
        if self.failed {
            return Err(JournalError::Stopped);
        }
        self.failed = true; // until it is written
        let n = self.lines + 1;
        let (line, back) = written(&self.head, n, event).map_err(JournalError::Unwritable)?;
        let bytes = format!("{}\n", line.text);
        self.storage
            .append(bytes.as_bytes())
            .and_then(|()| self.storage.sync())
            .map_err(JournalError::Unwritable)?;
        self.failed = false;
        self.lines = n;
        self.head = line.hash;
        Ok(back)
    }

    /// Lines written.
    #[must_use]
    pub fn lines(&self) -> u64 {
        self.lines
    }

    /// Hash of the last line, hex.
    #[must_use]
    pub fn head(&self) -> &str {
        &self.head
    }
}

impl Cut {
    /// The event that records it.
    #[must_use]
    pub fn event(&self) -> Event {
        Event::Mended {
            kept_in: self.kept_in.clone(),
            bytes: self.bytes,
        }
    }
}

/// Keep a torn tail aside, then cut it: in this order, so that a crash in between loses nothing.
fn cut(storage: &mut impl Storage, torn: &Torn) -> io::Result<Cut> {
    for number in 1..=MOST_TORN {
        let name = format!("journal.torn-{number}");
        match storage.keep_aside(&name, &torn.bytes) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => continue,
            Err(error) => return Err(error),
            Ok(()) => {
                storage.truncate(torn.at)?;
                return Ok(Cut {
                    kept_in: name,
                    bytes: torn.bytes.len() as u64,
                });
            }
        }
    }
    Err(io::Error::other("too many torn tails are kept already"))
}

#[cfg(test)]
mod crashes;
#[cfg(test)]
mod tests;
