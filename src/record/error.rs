//! What can go wrong with shops, keys and bundles, as opposed to what `verify` finds in a bundle.

use std::path::PathBuf;

use crate::record::signing::key::KeyFault;

/// Why something could not be done.
#[derive(Debug, thiserror::Error)]
pub enum RecordError {
    /// The system refused; the message names the file.
    #[error("{0}")]
    System(#[from] std::io::Error),
    /// A file of the shop or of a job does not say what it must.
    #[error("{}:{line}:{column}: {message}", file.display())]
    Text {
        /// The file.
        file: PathBuf,
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
        /// What is wrong and how to mend it.
        message: String,
    },
    /// A key file cannot be used.
    #[error("{0}")]
    Key(#[from] KeyFault),
    /// A job is not in a state for what was asked.
    #[error("{}: {why}", folder.display())]
    Refused {
        /// The job's folder.
        folder: PathBuf,
        /// Why, and how to mend it.
        why: String,
    },
    /// A new shop was asked for where something lies already.
    #[error("{}: {found}; a new shop needs a new or empty folder", folder.display())]
    ShopExists {
        /// Where.
        folder: PathBuf,
        /// What lies there.
        found: &'static str,
    },
    /// There is no shop there.
    #[error(
        "{}: not a shop: it has no {missing}; make a shop with `evenfire init`, or name one with --shop",
        folder.display()
    )]
    NoShop {
        /// Where.
        folder: PathBuf,
        /// What is missing.
        missing: &'static str,
    },
    /// A shop was asked for where no folder is.
    #[error("{}: there is no such folder; name a shop's folder with --shop", folder.display())]
    NoFolder {
        /// Where.
        folder: PathBuf,
    },
    /// A shop has lost what makes it one.
    #[error(
        "{}: the shop's policy is missing: put it back from a backup. What jobs are held against stands in it",
        file.display()
    )]
    NoPolicy {
        /// The file.
        file: PathBuf,
    },
    /// The shop has no such job.
    #[error("{}: no job {job}; jobs are numbered folders such as 0042", jobs.display())]
    NoSuchJob {
        /// The shop's jobs.
        jobs: PathBuf,
        /// As it was asked for.
        job: String,
    },
    /// A file that is written once lies there already.
    #[error("{}: exists already and is never written over{remedy}", file.display())]
    Exists {
        /// The file.
        file: PathBuf,
        /// How to go on, with its punctuation; empty where nothing helps.
        remedy: &'static str,
    },
}

impl RecordError {
    /// What was asked for cannot be done with a folder.
    pub(crate) fn refused(folder: impl Into<PathBuf>, why: impl Into<String>) -> Self {
        RecordError::Refused {
            folder: folder.into(),
            why: why.into(),
        }
    }

    /// A fault at a place in a text.
    pub(crate) fn text(
        file: impl Into<PathBuf>,
        (line, column): (usize, usize),
        message: impl Into<String>,
    ) -> Self {
        RecordError::Text {
            file: file.into(),
            line,
            column,
            message: message.into(),
        }
    }
}
