//! Where a journal lies: a file that is locked while a run holds it.

use std::fs::TryLockError;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use super::{JournalError, NAME};

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

    fn locked(file: fs_err::File, folder: &Path) -> Result<Self, JournalError> {
        match file.file().try_lock() {
            Ok(()) => Ok(Disk {
                file,
                folder: folder.to_owned(),
            }),
            Err(TryLockError::WouldBlock) => Err(JournalError::InUse),
            Err(TryLockError::Error(error)) => Err(JournalError::Unreadable(error)),
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
