//! Where things lie in a job's folder. One place for the names, so that who writes and who verifies
//! cannot disagree.

use std::path::{Path, PathBuf};

use crate::record::error::RecordError;

/// The record, derived from the journal.
pub const RECORD: &str = "record.json";
/// The journal.
pub const JOURNAL: &str = "journal.jsonl";
/// How the names begin of what a crash tore off the journal's end.
pub const TORN: &str = "journal.torn-";
/// Copies of the procedures that were run.
pub const PROCEDURES: &str = "procedures";
/// Captures and their set-ups.
pub const CAPTURES: &str = "captures";
/// Photographs and whatever else was handed over.
pub const ATTACHMENTS: &str = "attachments";
/// Waivers and their signatures.
pub const WAIVERS: &str = "waivers";
/// The list that the technician signs.
pub const MANIFEST: &str = "MANIFEST.sha256";
/// The technician's signature of [`MANIFEST`].
pub const TECHNICIAN_SIGNATURE: &str = "technician.sig";
/// The lead's decision.
pub const DECISION: &str = "decision.json";
/// The list that the lead signs.
pub const COUNTERSIGN: &str = "COUNTERSIGN.sha256";
/// The lead's signature of [`COUNTERSIGN`].
pub const COUNTERSIGNATURE: &str = "countersign.sig";
/// Folder of the amendments; each has a folder of its own number.
pub const AMENDMENTS: &str = "amendments";
/// What an amendment says, in its own folder.
pub const AMENDMENT: &str = "amendment.json";
/// The report: derived from the rest, in no manifest.
pub const REPORT: &str = "report.html";

/// Longest record, and longest journal, that is read into memory, bytes.
pub const LONGEST_TEXT: u64 = 64 * 1024 * 1024;

/// The folders whose files [`MANIFEST`] lists beside [`RECORD`] and [`JOURNAL`].
pub const LISTED_FOLDERS: [&str; 4] = [PROCEDURES, CAPTURES, ATTACHMENTS, WAIVERS];

/// What may lie beside the listed files without being listed: made after the manifest.
pub const UNLISTED: [&str; 6] = [
    MANIFEST,
    TECHNICIAN_SIGNATURE,
    DECISION,
    COUNTERSIGN,
    COUNTERSIGNATURE,
    REPORT,
];

/// Whether a file is one that [`MANIFEST`] lists.
#[must_use]
pub fn is_listed(name: &str) -> bool {
    let folder = name.split_once('/').map(|(folder, _)| folder);
    [RECORD, JOURNAL].contains(&name)
        || folder.map_or(name.starts_with(TORN), |folder| {
            LISTED_FOLDERS.contains(&folder)
        })
}

/// A job's folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobFolder {
    path: PathBuf,
}

impl JobFolder {
    /// The folder at a path; nothing is looked at.
    pub fn at(path: impl Into<PathBuf>) -> Self {
        JobFolder { path: path.into() }
    }

    /// The folder itself.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Take away a new job that could not be begun, as on a full disk: without a line in its journal nothing was
    /// done in it. What cannot be taken away stays.
    pub(crate) fn abandon(&self) {
        let _ = std::fs::remove_dir_all(&self.path);
    }

    /// A file in it, by one of the names of this module or a name from the record
    /// (`captures/1.csv`).
    #[must_use]
    pub fn file(&self, name: &str) -> PathBuf {
        self.path.join(name)
    }

    /// Its own name: the job's number in a shop.
    #[must_use]
    pub fn number(&self) -> String {
        self.path
            .file_name()
            .map(|name| name.to_string_lossy().into_owned())
            .unwrap_or_default()
    }

    /// One more than the highest number of a file in one of its folders (`captures`), which is made where it
    /// is missing: what was cut off keeps its number.
    ///
    /// # Errors
    /// Where the folder can neither be read nor made.
    pub fn next_number(&self, name: &str) -> Result<u32, RecordError> {
        let folder = self.file(name);
        fs_err::create_dir_all(&folder)?;
        let mut highest = 0;
        for entry in fs_err::read_dir(&folder)? {
            let name = entry?.file_name();
            let number = name.to_string_lossy();
            let number = number.split('.').next().and_then(|n| n.parse().ok());
            highest = highest.max(number.unwrap_or(0));
        }
        Ok(highest + 1)
    }
}
