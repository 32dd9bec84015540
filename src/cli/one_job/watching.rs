//! A folder that the scope's software saves into: the next capture there, once it is complete.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use crate::ask::watching::Watching;
use crate::cli::Failure;
use crate::cli::captures::is_capture;

/// Looks, a second apart, at which a file must be the same before it counts as complete.
const SAME_LOOKS: u32 = 2;

/// Size and time of a file.
type Stamp = (u64, Option<SystemTime>);

/// A watched folder.
#[derive(Debug)]
pub(crate) struct Watched {
    folder: PathBuf,
    /// What lay there when the question was asked.
    before: BTreeMap<PathBuf, Stamp>,
    /// What has come since: its stamp, and how often it was seen so.
    coming: BTreeMap<PathBuf, (Stamp, u32)>,
}

impl Watched {
    /// Watch a folder, which must be there.
    pub(crate) fn new(folder: &Path) -> Result<Self, Failure> {
        if !folder.is_dir() {
            let told = format!(
                "--watch {}: no such folder; name the one that the scope's software saves into",
                folder.display()
            );
            return Err(told.into());
        }
        let mut watched = Watched {
            folder: folder.to_owned(),
            before: BTreeMap::new(),
            coming: BTreeMap::new(),
        };
        watched.begin();
        Ok(watched)
    }

    /// The first capture that has come since and is complete.
    fn next(&mut self) -> Option<PathBuf> {
        let mut complete: Option<(Option<SystemTime>, PathBuf)> = None;
        for (path, stamp) in self.stamps() {
            if self.before.get(&path) == Some(&stamp) || stamp.0 == 0 {
                continue;
            }
            let seen = self.coming.entry(path.clone()).or_insert((stamp, 0));
            if seen.0 != stamp {
                *seen = (stamp, 0);
            }
            seen.1 += 1;
            let settled = seen.1 >= SAME_LOOKS && readable(&path);
            if settled && complete.as_ref().is_none_or(|first| stamp.1 < first.0) {
                complete = Some((stamp.1, path));
            }
        }
        let (_, path) = complete?;
        self.begin();
        Some(path)
    }

    fn stamps(&self) -> BTreeMap<PathBuf, Stamp> {
        let entries = std::fs::read_dir(&self.folder)
            .into_iter()
            .flatten()
            .flatten();
        let captures = entries.map(|entry| entry.path()).filter(|path| {
            let hidden = path
                .file_name()
                .is_some_and(|name| name.to_string_lossy().starts_with('.'));
            is_capture(path) && !hidden
        });
        captures
            .filter_map(|path| {
                let about = std::fs::metadata(&path)
                    .ok()
                    .filter(std::fs::Metadata::is_file)?;
                Some((path, (about.len(), about.modified().ok())))
            })
            .collect()
    }
}

impl Watching for Watched {
    fn begin(&mut self) {
        self.before = self.stamps();
        self.coming.clear();
    }

    fn look(&mut self) -> Option<String> {
        self.next().map(|path| path.to_string_lossy().into_owned())
    }

    fn shown(&self) -> String {
        self.folder.display().to_string()
    }
}

/// Whether the program that saves it lets it be read to its end.
fn readable(path: &Path) -> bool {
    let read = std::fs::File::open(path)
        .and_then(|mut file| std::io::copy(&mut file, &mut std::io::sink()));
    read.is_ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_taken_when_it_has_settled_and_only_once() {
        let folder = tempfile::tempdir().unwrap();
        let file = |name: &str| folder.path().join(name);
        fs_err::write(file("old.csv"), "t,u\n").unwrap();
        let mut watched = Watched::new(folder.path()).unwrap();
        assert_eq!(watched.next(), None);
        fs_err::write(file("note.txt"), "x").unwrap();
        fs_err::write(file(".part.csv"), "x").unwrap();
        fs_err::write(file("new.csv"), "").unwrap();
        assert_eq!((watched.next(), watched.next()), (None, None));
        for size in 1..5 {
            fs_err::write(file("new.csv"), "x".repeat(size)).unwrap(); // still growing
            assert_eq!(watched.next(), None);
        }
        assert_eq!(watched.next(), Some(file("new.csv")));
        assert_eq!((watched.next(), watched.next()), (None, None));
    }

    #[test]
    fn a_file_that_is_saved_over_is_new() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("scope.csv");
        fs_err::write(&file, "one").unwrap();
        let mut watched = Watched::new(folder.path()).unwrap();
        fs_err::write(&file, "other").unwrap();
        assert_eq!(watched.next(), None);
        assert_eq!(watched.next(), Some(file));
        assert!(Watched::new(&folder.path().join("none")).is_err());
    }
}
