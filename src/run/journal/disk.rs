//! Where a journal lies: a file that is locked while a run holds it.

use std::fs::TryLockError;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use super::{JournalError, NAME};
use crate::text::clean;

/// What a journal needs of its storage. Small, so that a test can put a failing one in its place.
pub trait Storage {
    /// All bytes.
    ///
    /// # Errors
    /// Input and output.
    fn read(&mut self) -> io::Result<Vec<u8>>;

    /// Write at the end.
    ///
    /// # Errors
    /// Input and output.
    fn append(&mut self, bytes: &[u8]) -> io::Result<()>;

    /// Wait until all of it is on disk.
    ///
    /// # Errors
    /// Input and output.
    fn sync(&mut self) -> io::Result<()>;

    /// Cut to this length, and wait until that is on disk.
    ///
    /// # Errors
    /// Input and output.
    fn truncate(&mut self, length: u64) -> io::Result<()>;

    /// Keep bytes in a new file of that name beside the journal, on disk when this returns.
    ///
    /// # Errors
    /// Input and output; `AlreadyExists` where the name is taken.
    fn keep_aside(&mut self, name: &str, bytes: &[u8]) -> io::Result<()>;
}

/// A journal's file.
#[derive(Debug)]
pub struct Disk {
    file: fs_err::File,
    folder: PathBuf,
    holding: Option<PathBuf>,
}

/// Where it stands who holds a job: beside the job, because nothing but the record lies in it.
fn holding(folder: &Path) -> Option<PathBuf> {
    let name = folder.file_name()?.to_string_lossy().into_owned();
    Some(folder.with_file_name(format!(".{name}.held")))
}

/// Longest note of who holds a job that is read, bytes; our own choice.
const LONGEST_HOLDER: u64 = 300;

fn holder(folder: &Path) -> Option<String> {
    let mut text = String::new();
    let file = std::fs::File::open(holding(folder)?).ok()?;
    file.take(LONGEST_HOLDER).read_to_string(&mut text).ok()?;
    let text = clean(text.trim());
    (!text.is_empty()).then_some(text)
}

impl Disk {
    /// Make a new journal in a job's folder, and lock it.
    ///
    /// # Errors
    /// Where there is one already, or it cannot be written.
    pub fn create(folder: &Path) -> Result<Self, JournalError> {
        let file = fs_err::OpenOptions::new()
            .read(true)
            .append(true)
            .create_new(true)
            .open(folder.join(NAME))
            .map_err(JournalError::Unwritable)?;
        let disk = Self::locked(file, folder)?;
        sync_folder(folder).map_err(JournalError::Unwritable)?;
        Ok(disk)
    }

    /// Open the journal of a job's folder, and lock it.
    ///
    /// # Errors
    /// Where there is none, or another run holds it.
    pub fn open(folder: &Path) -> Result<Self, JournalError> {
        let file = fs_err::OpenOptions::new()
            .read(true)
            .append(true)
            .open(folder.join(NAME))
            .map_err(JournalError::Unreadable)?;
        Self::locked(file, folder)
    }

    /// Note who holds the journal, for whoever is refused it. A note that cannot be written is no reason
    /// not to work.
    #[must_use]
    pub fn held_by(mut self, who: &str) -> Self {
        self.holding = holding(&self.folder).filter(|file| std::fs::write(file, who).is_ok());
        self
    }

    /// Who holds the journal of a job's folder, as they noted it; none where nobody does.
    #[must_use]
    pub fn holder(folder: &Path) -> Option<String> {
        match Self::open(folder) {
            Err(JournalError::InUse(who)) => Some(who.unwrap_or_else(|| "somebody".to_owned())),
            _ => None,
        }
    }

    fn locked(file: fs_err::File, folder: &Path) -> Result<Self, JournalError> {
        match file.file().try_lock() {
            Ok(()) => Ok(Disk {
                file,
                folder: folder.to_owned(),
                holding: None,
            }),
            Err(TryLockError::WouldBlock) => Err(JournalError::InUse(holder(folder))),
            Err(TryLockError::Error(error)) => Err(JournalError::Unreadable(error)),
        }
    }
}

impl Drop for Disk {
    fn drop(&mut self) {
        if let Some(file) = &self.holding {
            let _ = std::fs::remove_file(file); // a stale note is read only where the lock is held
        }
    }
}

impl Storage for Disk {
    fn read(&mut self) -> io::Result<Vec<u8>> {
        let mut bytes = Vec::new();
        self.file.seek(SeekFrom::Start(0))?;
        self.file.read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.file.write_all(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.file.sync_all()
    }

    fn truncate(&mut self, length: u64) -> io::Result<()> {
        self.file.set_len(length)?;
        self.file.sync_all()
    }

    fn keep_aside(&mut self, name: &str, bytes: &[u8]) -> io::Result<()> {
        let mut file = fs_err::File::create_new(self.folder.join(name))?;
        file.write_all(bytes)?;
        file.sync_all()?;
        sync_folder(&self.folder)
    }
}

/// Wait until a folder's entries are on disk.
///
/// # Errors
/// Input and output.
pub fn sync_folder(folder: &Path) -> io::Result<()> {
    fs_err::File::open(folder)?.sync_all()
}
