//! What an audit may believe of the one before: a file in the shop's folder that says which bundle was
//! found sound in which state of its files. A state is names, lengths, times of change and, on Unix, the
//! inode numbers of all its files; not their bytes. It is void as a whole when the roster, the list of
//! revoked keys, the policy or the program changes; only which numbers were seen outlasts that. It is not signed: whoever can write to the shop's
//! folder can write it too, so an audit that relies on it says so, and a full one takes nothing from it but
//! the numbers: those can only add to what is wrong.

use std::collections::BTreeMap;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, SystemTime};

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::line::JobLine;
use super::seen::Seen;
use crate::record::durable;
use crate::record::error::RecordError;

/// Value of `schema`.
const SCHEMA: &str = "evenfire.audit-trust/1";

/// Name of the file in the shop's folder.
pub const FILE: &str = "audit-trust.ndjson";

/// A file changed so lately could change again without its times showing it; two seconds is the
/// coarsest clock of a file system in use (FAT), from memory.
const SETTLED: Duration = Duration::from_secs(2);

/// Most entries of a bundle whose state is taken; larger ones are read anew every time.
const MOST_ENTRIES: usize = 2000;

/// What all of it rests on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ground {
    schema: String,
    /// SHA-256 of the program.
    program: String,
    /// SHA-256 of roster, revoked keys and policy.
    shop: String,
}

impl Ground {
    /// The ground of an audit with this program and these files of the shop.
    #[must_use]
    pub fn of(program: String, shop_files: [&[u8]; 3]) -> Ground {
        let mut sha = Sha256::new();
        for bytes in shop_files {
            sha.update((bytes.len() as u64).to_le_bytes());
            sha.update(bytes);
        }
        Ground {
            schema: SCHEMA.to_owned(),
            program,
            shop: format!("{:x}", sha.finalize()),
        }
    }
}

/// One bundle that was found sound, or open.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(crate) struct Trusted {
    /// State of its files.
    pub mark: String,
    /// Whether it is practice.
    pub practice: bool,
    /// Its line, the same that the audit tells.
    pub line: Arc<JobLine>,
}

/// What was read of an earlier audit.
#[derive(Debug, Default)]
pub struct Memory {
    pub(super) jobs: BTreeMap<String, Trusted>,
    /// Numbers that were seen and of which nothing else is believed, in order.
    seen: BTreeMap<String, Seen>,
    /// Why nothing in it is believed, where something could be.
    pub void: Option<&'static str>,
    /// Whether part of it could not be read, so that numbers may be lost with it.
    pub is_damaged: bool,
    /// Whether there is none.
    pub is_missing: bool,
}

impl Memory {
    /// Believe nothing of what bundles hold; which numbers were seen stays.
    #[must_use]
    pub fn numbers_only(mut self) -> Memory {
        self.seen = self.seen().map(|one| (one.seen.clone(), one)).collect();
        self.jobs.clear();
        self
    }

    /// Every number that was seen, those that are missed by their last state.
    pub(super) fn seen(&self) -> impl Iterator<Item = Seen> {
        let only_trusted = |job: &&Trusted| !self.seen.contains_key(&job.line.job);
        let trusted = self.jobs.values().filter(only_trusted);
        trusted
            .map(Trusted::seen)
            .chain(self.seen.values().cloned())
    }

    fn damaged(&mut self) {
        self.void = Some(UNREADABLE);
        self.is_damaged = true;
    }

    fn take(&mut self, line: &[u8]) -> Option<()> {
        if let Ok(trusted) = serde_json::from_slice::<Trusted>(line) {
            self.jobs.insert(trusted.line.job.clone(), trusted);
        } else {
            let seen = serde_json::from_slice::<Seen>(line).ok()?;
            self.seen.insert(seen.seen.clone(), seen);
        }
        Some(())
    }
}

/// Read the file of an earlier audit. Of one that cannot be read as a whole, or rests on another ground,
/// only the numbers that it has seen are taken.
#[must_use]
pub fn read(file: &Path, ground: &Ground) -> Memory {
    let void = |why| Memory {
        void: Some(why),
        is_damaged: why != OTHER_GROUND,
        ..Memory::default()
    };
    let plain = std::fs::symlink_metadata(file).map(|about| about.is_file());
    match plain {
        Err(_) => {
            return Memory {
                is_missing: true,
                ..Memory::default()
            };
        }
        Ok(false) => return void("its memory is no plain file"),
        Ok(true) => {}
    }
    let Ok(opened) = fs_err::File::open(file) else {
        return void(UNREADABLE);
    };
    let mut lines = BufReader::new(opened).split(b'\n');
    let first = lines.next().and_then(Result::ok);
    let mut memory = match first.and_then(|line| serde_json::from_slice::<Ground>(&line).ok()) {
        None => void(UNREADABLE),
        Some(own) if own != *ground => void(OTHER_GROUND),
        Some(_) => Memory::default(),
    };
    for line in lines {
        let Ok(line) = line else {
            memory.damaged();
            break;
        };
        if memory.take(&line).is_none() {
            memory.damaged();
        }
    }
    match memory.void {
        Some(_) => memory.numbers_only(),
        None => memory,
    }
}

const UNREADABLE: &str = "its memory cannot be read";
const OTHER_GROUND: &str = "roster, revoked keys, policy or program have changed since";

/// Move a memory that could not be read aside, where the next one does not write over it; its new name.
///
/// # Errors
/// Where it cannot be renamed.
pub fn put_aside(file: &Path) -> Result<PathBuf, RecordError> {
    let named = |at: u32| {
        let mut name = file.as_os_str().to_owned();
        name.push(format!(".damaged-{at}"));
        PathBuf::from(name)
    };
    durable::put_aside(file, named)
}

/// Write what the next audit may believe, and the numbers that it must not forget.
pub(super) fn write<'t>(
    file: &Path,
    ground: &Ground,
    jobs: impl Iterator<Item = &'t Trusted>,
    seen: impl Iterator<Item = &'t Seen>,
) -> Result<(), RecordError> {
    durable::replace_by(file, |out| {
        serde_json::to_writer(&mut *out, ground)?;
        for job in jobs {
            out.write_all(b"\n")?;
            serde_json::to_writer(&mut *out, job)?;
        }
        for one in seen {
            out.write_all(b"\n")?;
            serde_json::to_writer(&mut *out, one)?;
        }
        out.write_all(b"\n")
    })
}

/// The state of a folder's files; none where it changed too lately, or cannot be told.
pub(super) fn mark(folder: &Path, now: SystemTime) -> Option<String> {
    let mut entries = BTreeMap::new();
    look(folder, "", &mut entries).ok()?;
    let mut sha = Sha256::new();
    for (name, state) in &entries {
        if state.latest.checked_add(SETTLED)? >= now {
            return None;
        }
        sha.update((name.len() as u64).to_le_bytes());
        sha.update(name.as_bytes());
        sha.update(&state.bytes);
    }
    Some(format!("{:x}", sha.finalize()))
}

struct State {
    bytes: Vec<u8>,
    latest: SystemTime,
}

fn look(folder: &Path, prefix: &str, entries: &mut BTreeMap<String, State>) -> std::io::Result<()> {
    for entry in std::fs::read_dir(folder)? {
        let entry = entry?;
        let own = entry.file_name();
        let own = own
            .to_str()
            .ok_or_else(|| std::io::Error::other("no text"))?;
        if entries.len() >= MOST_ENTRIES {
            return Err(std::io::Error::other("too many"));
        }
        let name = format!("{prefix}{own}");
        let about = entry.metadata()?; // of a link its own
        entries.insert(name.clone(), state(&about)?);
        if about.is_dir() {
            look(&entry.path(), &format!("{name}/"), entries)?;
        }
    }
    Ok(())
}

#[cfg(unix)]
fn state(about: &std::fs::Metadata) -> std::io::Result<State> {
    use std::os::unix::fs::MetadataExt;
    let numbers = [
        i64::from(about.mode()),
        about.size().cast_signed(),
        about.ino().cast_signed(),
        about.mtime(),
        about.mtime_nsec(),
        // the time of change of the inode: no command sets it back, unlike the file's own time
        about.ctime(),
        about.ctime_nsec(),
    ];
    let changed = u64::try_from(about.ctime()).unwrap_or(0);
    let changed = SystemTime::UNIX_EPOCH + Duration::from_secs(changed);
    Ok(State {
        bytes: numbers.iter().flat_map(|n| n.to_le_bytes()).collect(),
        latest: about.modified()?.max(changed),
    })
}

#[cfg(not(unix))]
fn state(about: &std::fs::Metadata) -> std::io::Result<State> {
    let latest = about.modified()?;
    let since = latest
        .duration_since(SystemTime::UNIX_EPOCH)
        .unwrap_or_default();
    let numbers = [
        u128::from(about.len()),
        u128::from(about.is_dir()),
        since.as_nanos(),
    ];
    Ok(State {
        bytes: numbers.iter().flat_map(|n| n.to_le_bytes()).collect(),
        latest,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_state_is_taken_once_it_has_settled() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("record.json");
        std::fs::write(&file, "one").unwrap();
        let (now, later) = (
            SystemTime::now(),
            SystemTime::now() + Duration::from_secs(60),
        );
        assert_eq!(mark(folder.path(), now), None);
        let first = mark(folder.path(), later).unwrap();
        assert_eq!(mark(folder.path(), later), Some(first.clone()));
        // same length, and the file's own time set back: the inode's tells
        let old = std::fs::metadata(&file).unwrap().modified().unwrap();
        std::thread::sleep(Duration::from_millis(20));
        std::fs::write(&file, "two").unwrap();
        let opened = std::fs::File::options().write(true).open(&file).unwrap();
        opened.set_modified(old).unwrap();
        #[cfg(unix)]
        assert_ne!(mark(folder.path(), later), Some(first));
    }

    #[test]
    fn memory_is_void_on_another_ground() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join(FILE);
        let ground = Ground::of("p".into(), [b"roster", b"", b"policy"]);
        let none = read(&file, &ground);
        assert!(none.void.is_none() && none.is_missing);
        let job = Trusted {
            mark: "m".into(),
            practice: false,
            line: Arc::new(JobLine {
                job: "0001".into(),
                ..JobLine::default()
            }),
        };
        let gone = Seen {
            seen: "0002".into(),
            missed: Some("2026-03-02".into()),
            ..Seen::default()
        };
        write(&file, &ground, [&job].into_iter(), [&gone].into_iter()).unwrap();
        let kept = read(&file, &ground);
        assert!(kept.jobs["0001"] == job && !kept.is_missing);
        for other in [
            Ground::of("p".into(), [b"roste", b"r", b"policy"]),
            Ground::of("q".into(), [b"roster", b"", b"policy"]),
        ] {
            let memory = read(&file, &other);
            assert!(memory.jobs.is_empty() && memory.void.is_some());
            // the numbers stay
            let seen: Vec<Seen> = memory.seen().collect();
            assert_eq!(seen, [job.seen(), gone.clone()]);
        }
        let other = Ground::of("q".into(), [b"", b"", b""]);
        assert!(!read(&file, &other).is_damaged);
        std::fs::write(&file, "{}\n").unwrap();
        assert!(read(&file, &ground).is_damaged);
        let first = put_aside(&file).unwrap();
        std::fs::write(&file, "{").unwrap();
        let second = put_aside(&file).unwrap();
        assert_eq!(std::fs::read(first).unwrap(), b"{}\n");
        assert_eq!(std::fs::read(second).unwrap(), b"{");
    }
}
