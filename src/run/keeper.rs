//! Who keeps the files of a job, as the run sees them, and what a table's columns are told to be.

use thiserror::Error;

use crate::advise::signals;
use crate::capture::setup::{Coupling, Reference};
use crate::engine::Engine;
use crate::run::event::{Attachment, CaptureFile, WaiverFile};

/// Why a capture is not kept.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum Unkept {
    /// A sentence.
    #[error("{0}")]
    Refused(String),
    /// A file that was handed over and hashed, and cannot be taken for that reason.
    #[error("{why}")]
    Read {
        /// A sentence.
        why: String,
        /// SHA-256 of the file, hex.
        sha256: String,
    },
    /// Nobody has described its columns yet.
    #[error("{}", .0.refused)]
    Columns(Box<Headings>),
}

impl Unkept {
    /// The same of a file whose hash is known.
    #[must_use]
    pub fn of_file(self, sha256: &str) -> Self {
        let sha256 = sha256.to_owned();
        match self {
            Unkept::Refused(why) | Unkept::Read { why, .. } => Unkept::Read { why, sha256 },
            Unkept::Columns(headings) => Unkept::Columns(Box::new(Headings {
                sha256,
                ..*headings
            })),
        }
    }
}

impl From<String> for Unkept {
    fn from(why: String) -> Self {
        Unkept::Refused(why)
    }
}

/// The columns of a capture of which the shop does not know all.
#[derive(Debug, Clone, PartialEq)]
pub struct Headings {
    /// The file, as shown.
    pub file: String,
    /// SHA-256 of it, hex.
    pub sha256: String,
    /// Its columns without that of time, in their order.
    pub columns: Vec<Heading>,
    /// Heading of the signal, where the shop knows it and only the reference has to be told of this engine.
    pub signal: Option<String>,
    /// What the signal in it is, as a channel of set-ups is named.
    pub kind: Option<String>,
    /// The signal that the job was planned for, where it was.
    pub planned: Option<signals::Signal>,
    /// Cylinders of the engine.
    pub cylinders: usize,
    /// What is said where nobody can be asked.
    pub refused: String,
}

/// One column.
#[derive(Debug, Clone, PartialEq)]
pub struct Heading {
    /// Its heading, letter by letter.
    pub name: String,
    /// Its unit, where the file says it.
    pub unit: Option<String>,
    /// Least and greatest number.
    pub span: Option<(f64, f64)>,
    /// The channel that it looks like.
    pub looks_like: Option<String>,
}

/// What a person says of the columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Columns {
    /// The signal; none where the shop knows it.
    pub signal: Option<Signal>,
    /// The reference, where there is one.
    pub reference: Option<Reference>,
}

/// The column that holds the signal.
#[derive(Debug, Clone, PartialEq)]
pub struct Signal {
    /// Its heading.
    pub column: String,
    /// What it is.
    pub kind: SignalTold,
    /// Upper end of the ± range in the column's unit, and the converter's bits.
    pub range: Option<(f64, u32)>,
}

/// What a signal is.
#[derive(Debug, Clone, PartialEq)]
pub enum SignalTold {
    /// Starter current; what the clamp puts out for an ampere, mV, where the column is in volts.
    Current(Option<f64>),
    /// Battery voltage.
    Voltage(Coupling),
    /// A toothed wheel's sensor, the wheel as in 60-2.
    Teeth(String),
}

/// Who keeps capture files in the job.
pub trait Keeper {
    /// Copy a capture and its set-up into the job, untouched, and hash the copies before anything
    /// reads them. `engine` is the one that the job knows, for set-ups that name none.
    ///
    /// # Errors
    /// A sentence that says which file is missing or cannot be copied, and what to do; or the headings of a
    /// table whose columns nobody has described yet.
    fn keep(&mut self, path: &str, engine: Option<&Engine>) -> Result<CaptureFile, Unkept>;

    /// The same for one in which nothing turns.
    ///
    /// # Errors
    /// As [`Keeper::keep`].
    fn keep_at_rest(&mut self, path: &str, engine: Option<&Engine>) -> Result<CaptureFile, Unkept> {
        self.keep(path, engine)
    }

    /// The same, with its columns as the person described them; what is not of this engine is remembered.
    ///
    /// # Errors
    /// As [`Keeper::keep`].
    fn keep_by(
        &mut self,
        path: &str,
        _engine: Option<&Engine>,
        _columns: &Columns,
    ) -> Result<CaptureFile, Unkept> {
        Err(format!("{path}: nobody here takes columns").into())
    }

    /// Whether two captures that lie in the job are of one crank, the one cut from the other or saved anew.
    fn is_one_crank(&mut self, _one: &CaptureFile, _other: &CaptureFile) -> bool {
        false
    }

    /// Take a kept capture out of the job again.
    fn drop_kept(&mut self, _file: &CaptureFile) {}

    /// Copy a photograph or another file into the job.
    ///
    /// # Errors
    /// A sentence that says which file is missing or cannot be copied, and what to do.
    fn attach(&mut self, path: &str) -> Result<Attachment, String> {
        Err(format!("{path}: nothing is laid to this job"))
    }

    /// Have a lead sign that a step need not be done, and keep that in the job.
    ///
    /// # Errors
    /// A sentence that says why the word does not count, and what to do.
    fn waive(&mut self, waiving: &Waiving<'_>) -> Result<WaiverFile, String> {
        Err(format!("{}: nobody signs in this job", waiving.step))
    }
}

/// What a lead is asked to sign.
#[derive(Debug, Clone, Copy)]
pub struct Waiving<'w> {
    /// Path of the step.
    pub step: &'w str,
    /// What it asks.
    pub asked: &'w str,
    /// Why it need not be done.
    pub reason: &'w str,
    /// The lead's private key, as typed; empty: the one that was made with the shop.
    pub key: &'w str,
    /// Who may, by the shop's policy.
    pub may: &'w [String],
    /// Hash of the journal's last line, hex.
    pub head: &'w str,
    /// The time, UTC, RFC 3339.
    pub at: &'w str,
}
