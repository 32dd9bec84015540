//! What earlier seals read of the shop's jobs, so that the next reads only those sealed since. It saves
//! time and is no evidence: the job that a record is to name is read again, and where a line is odd or does
//! not hold, every job is read. Verification and audit never look at it.

use std::collections::BTreeMap;
use std::io::Write;
use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use crate::record::bundle::signed::read_short;
use crate::record::folder::JobFolder;
use crate::record::shop::Shop;

/// Beside the jobs, a line of JSON for each.
const FILE: &str = ".chain";

/// Longest that is read, bytes: a line has about 260, so it is of a million jobs.
const LONGEST: u64 = 256 * 1024 * 1024;

/// What the chain needs of a sealed job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(in crate::record) struct Link {
    /// Number under which it lies.
    pub job: String,
    /// Digest of its manifest, hex.
    pub manifest: String,
    /// Whether it is practice, and so no part of the chain.
    pub practice: bool,
    /// When it was sealed, by its record.
    pub sealed: String,
    /// Digest of the manifest that its record names.
    pub previous: Option<String>,
}

/// Links by job number.
#[derive(Debug)]
pub(in crate::record) struct Known {
    file: PathBuf,
    links: BTreeMap<String, Link>,
    /// Those that the file does not have yet.
    unwritten: Vec<String>,
    /// Whether the file is written anew, not added to.
    anew: bool,
}

impl Known {
    /// What the shop's file has; nothing where it is missing, cut off or odd.
    pub(in crate::record) fn of(shop: &Shop) -> Known {
        let file = shop.jobs().join(FILE);
        let bytes = read_short(&file, LONGEST).unwrap_or_default();
        let links = parse(&bytes).unwrap_or_default();
        Known {
            file,
            anew: links.is_empty(),
            links,
            unwritten: Vec::new(),
        }
    }

    pub(in crate::record) fn has(&self, job: &str) -> bool {
        self.links.contains_key(job)
    }

    pub(in crate::record) fn forget(&mut self) {
        self.links.clear();
        self.unwritten.clear();
        self.anew = true;
    }

    /// The link of a job, read now where it was not before; none where it is not sealed or not readable.
    pub(in crate::record) fn link(
        &mut self,
        job: &JobFolder,
        read: impl Fn(&JobFolder) -> Option<Link>,
    ) -> Option<Link> {
        let number = job.number();
        if let Some(link) = self.links.get(&number) {
            return Some(link.clone());
        }
        let link = read(job)?;
        self.links.insert(number.clone(), link.clone());
        self.unwritten.push(number);
        Some(link)
    }

    /// Write down what was read now. Where that fails, the next seal reads it again.
    pub(in crate::record) fn keep(&self) {
        let new = self.unwritten.iter().filter_map(|job| self.links.get(job));
        let lines = new.filter_map(|link| serde_json::to_string(link).ok());
        let text: String = lines.map(|line| line + "\n").collect();
        let mut options = std::fs::OpenOptions::new();
        if self.anew {
            options.create(true).write(true).truncate(true);
        } else {
            options.append(true);
        }
        let file = options.open(&self.file);
        let _ = file.and_then(|mut file| file.write_all(text.as_bytes()));
    }
}

fn parse(bytes: &[u8]) -> Option<BTreeMap<String, Link>> {
    let whole = bytes.strip_suffix(b"\n")?;
    let lines = whole.split(|byte| *byte == b'\n');
    lines
        .map(|line| {
            let link: Link = serde_json::from_slice(line).ok()?;
            Some((link.job.clone(), link))
        })
        .collect()
}
