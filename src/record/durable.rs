//! Files that are written once: whole or not at all, on the disk before the call returns, and never
//! over another.

use std::io::{BufWriter, ErrorKind, Write};
use std::path::{Path, PathBuf};

use crate::record::error::RecordError;

/// How the names begin of files that are not whole yet; one that a crash left behind is of no use.
pub const DRAFT: &str = ".draft-";

/// Write a new file. Whoever looks sees no file or the whole file; a file of that name stays as it is.
///
/// # Errors
/// Where a file of that name is there, or it cannot be written.
pub fn write_new(path: &Path, bytes: &[u8]) -> Result<(), RecordError> {
    persist_new(draft(path, bytes)?, path)
}

/// Write several new files that count together: all of them, or on failure none. Their bytes are on the disk
/// before the first gets its name, so that a full disk is met before anything is there.
///
/// # Errors
/// Where one of the names is taken, or one of the files cannot be written.
pub fn write_all_new(files: &[(PathBuf, &[u8])]) -> Result<(), RecordError> {
    let drafts = files.iter().map(|(path, bytes)| draft(path, bytes));
    let drafts: Vec<_> = drafts.collect::<Result<_, _>>()?;
    for (done, (draft, (path, _))) in drafts.into_iter().zip(files).enumerate() {
        if let Err(why) = named(draft, path) {
            take_back(&files[..done]);
            return Err(why);
        }
    }
    let mut folders = files.iter().map(|(path, _)| sync_folder(folder_of(path)));
    folders
        .find(Result::is_err)
        .unwrap_or(Ok(()))
        .inspect_err(|_| take_back(files))
}

/// Move a file aside, under the first of the numbered names, from 1, that is free; its new name.
///
/// # Errors
/// Where it cannot be renamed.
pub fn put_aside(file: &Path, named: impl Fn(u32) -> PathBuf) -> Result<PathBuf, RecordError> {
    let free = |path: &PathBuf| std::fs::symlink_metadata(path).is_err();
    let mut names = (1..=u32::MAX).map(&named);
    let aside = names.find(free).unwrap_or_else(|| named(0));
    fs_err::rename(file, &aside)?;
    Ok(aside)
}

/// What cannot be taken back either is told by whoever looks at it next.
fn take_back(files: &[(PathBuf, &[u8])]) {
    for (path, _) in files {
        let _ = std::fs::remove_file(path);
    }
}

fn persist_new(draft: tempfile::NamedTempFile, path: &Path) -> Result<(), RecordError> {
    named(draft, path)?;
    sync_folder(folder_of(path))
}

fn named(draft: tempfile::NamedTempFile, path: &Path) -> Result<(), RecordError> {
    let named = draft.persist_noclobber(path);
    named
        .map(|_| ())
        .map_err(|refused| match refused.error.kind() {
            ErrorKind::AlreadyExists => RecordError::Exists {
                file: path.to_owned(),
                remedy: "",
            },
            _ => at(refused.error, "cannot write", path),
        })
}

/// Write a file that is derived from others and may be made again: whoever looks sees the old one or
/// the whole new one.
///
/// # Errors
/// Where it cannot be written; the old one stays.
pub fn replace(path: &Path, bytes: &[u8]) -> Result<(), RecordError> {
    persist(draft(path, bytes)?, path)
}

/// The same for a file too long to be held in memory, written piece by piece.
///
/// # Errors
/// As [`replace`], and as `write` has them.
pub fn replace_by(
    path: &Path,
    write: impl FnOnce(&mut dyn Write) -> std::io::Result<()>,
) -> Result<(), RecordError> {
    let mut draft = empty_draft(path)?;
    let mut out = BufWriter::new(draft.as_file_mut());
    write(&mut out)
        .and_then(|()| out.flush())
        .map_err(|e| at(e, "cannot write", path))?;
    drop(out);
    let synced = draft.as_file().sync_all();
    synced.map_err(|e| at(e, "cannot write", path))?;
    persist(draft, path)
}

fn persist(draft: tempfile::NamedTempFile, path: &Path) -> Result<(), RecordError> {
    draft
        .persist(path)
        .map_err(|refused| at(refused.error, "cannot write", path))?;
    sync_folder(folder_of(path))
}

/// Copy a file to a new one, byte for byte, as [`write_new`] writes: however long it is, little of it is
/// in memory at a time.
///
/// # Errors
/// Where the first cannot be read; else as [`write_new`] has them.
pub fn copy_new(from: &Path, to: &Path) -> Result<(), RecordError> {
    let mut source = fs_err::File::open(from)?;
    let mut draft = empty_draft(to)?;
    std::io::copy(&mut source, draft.as_file_mut())
        .and_then(|_| draft.as_file().sync_all())
        .map_err(|e| at(e, "cannot write", to))?;
    persist_new(draft, to)
}

/// The bytes on disk, beside the path and under a name of their own.
fn draft(path: &Path, bytes: &[u8]) -> Result<tempfile::NamedTempFile, RecordError> {
    let mut draft = empty_draft(path)?;
    draft
        .write_all(bytes)
        .and_then(|()| draft.as_file().sync_all())
        .map_err(|e| at(e, "cannot write", path))?;
    Ok(draft)
}

fn empty_draft(path: &Path) -> Result<tempfile::NamedTempFile, RecordError> {
    let folder = folder_of(path);
    let mut builder = tempfile::Builder::new();
    builder.prefix(DRAFT);
    // Drafts are private by default; what lies in a shop is for all whom the umask lets in.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder
        .tempfile_in(folder)
        .map_err(|e| at(e, "cannot write in", folder))
}

/// Make sure that the names in a folder are on the disk, not only its files' bytes.
///
/// # Errors
/// Where the folder cannot be opened or synced.
pub fn sync_folder(folder: &Path) -> Result<(), RecordError> {
    // Only Unix lets a folder be opened and synced; elsewhere the file's own sync must do.
    if cfg!(unix) {
        fs_err::File::open(folder)?.sync_all()?;
    }
    Ok(())
}

/// The folder that a path lies in.
fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

fn at(error: std::io::Error, doing: &str, path: &Path) -> RecordError {
    let told = format!("{doing} {}: {error}", path.display());
    RecordError::System(std::io::Error::new(error.kind(), told))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_there_stays() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("once");
        write_new(&path, b"first").unwrap();
        let refused = write_new(&path, b"second").unwrap_err();
        assert!(matches!(refused, RecordError::Exists { .. }), "{refused}");
        assert_eq!(fs_err::read(&path).unwrap(), b"first");
        // Nothing else is left behind.
        assert_eq!(fs_err::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_copy_is_the_same_and_never_over_another() {
        let folder = tempfile::tempdir().unwrap();
        let [from, to] = ["from", "to"].map(|name| folder.path().join(name));
        let bytes: Vec<u8> = (0..=255).cycle().take(300_000).collect();
        fs_err::write(&from, &bytes).unwrap();
        copy_new(&from, &to).unwrap();
        assert_eq!(fs_err::read(&to).unwrap(), bytes);
        fs_err::write(&from, "other").unwrap();
        assert!(matches!(
            copy_new(&from, &to),
            Err(RecordError::Exists { .. })
        ));
        assert_eq!(fs_err::read(&to).unwrap(), bytes);
        assert_eq!(fs_err::read_dir(folder.path()).unwrap().count(), 2);
    }

    #[test]
    fn several_are_written_together_or_not_at_all() {
        let folder = tempfile::tempdir().unwrap();
        let paths = ["first", "second", "third"].map(|name| folder.path().join(name));
        let files: Vec<(PathBuf, &[u8])> =
            paths.iter().map(|path| (path.clone(), &b"x"[..])).collect();
        fs_err::write(&paths[2], "before").unwrap();
        let refused = write_all_new(&files).unwrap_err();
        assert!(matches!(refused, RecordError::Exists { .. }), "{refused}");
        // only what lay there before, and that as it was
        assert_eq!(fs_err::read_dir(folder.path()).unwrap().count(), 1);
        assert_eq!(fs_err::read(&paths[2]).unwrap(), b"before");
        fs_err::remove_file(&paths[2]).unwrap();
        write_all_new(&files).unwrap();
        assert_eq!(fs_err::read_dir(folder.path()).unwrap().count(), 3);
    }

    #[test]
    fn a_missing_folder_is_named() {
        let folder = tempfile::tempdir().unwrap();
        let refused = write_new(&folder.path().join("none/file"), b"").unwrap_err();
        assert!(refused.to_string().contains("none"), "{refused}");
    }
}
