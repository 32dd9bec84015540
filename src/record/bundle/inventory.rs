//! What lies in a job's folder, looked at without following a link or opening anything: bundles come
//! from strangers.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use crate::record::bundle::manifest::{DEEPEST, shown};

/// Most entries that are looked at; a bundle has some tens.
const MOST_ENTRIES: usize = 10_000;

/// What lies there.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Inventory {
    /// Plain files: name relative to the folder, parts joined by `/` → length in bytes.
    pub files: BTreeMap<String, u64>,
    /// Everything that has no place in a bundle, each with a sentence.
    pub odd: BTreeSet<String>,
}

/// Look through a folder.
///
/// # Errors
/// Where it, or a folder in it, cannot be read.
pub fn take(folder: &Path) -> std::io::Result<Inventory> {
    let mut inventory = Inventory::default();
    let mut seen = 0;
    look(folder, "", 1, &mut seen, &mut inventory)?;
    Ok(inventory)
}

fn look(
    folder: &Path,
    prefix: &str,
    depth: usize,
    seen: &mut usize,
    found: &mut Inventory,
) -> std::io::Result<()> {
    for entry in fs_err::read_dir(folder)? {
        let entry = entry?;
        *seen += 1;
        if *seen > MOST_ENTRIES {
            found
                .odd
                .insert(format!("more than {MOST_ENTRIES} files and folders"));
            return Ok(());
        }
        let own = entry.file_name();
        let Some(own) = own.to_str() else {
            let name = format!("{prefix}{}", own.to_string_lossy());
            found
                .odd
                .insert(format!("{}: a name that is not text", shown(&name)));
            continue;
        };
        let name = format!("{prefix}{own}");
        // The entry's own kind: a link is a link here, wherever it leads.
        let kind = entry.file_type()?;
        if kind.is_file() {
            found.files.insert(name, entry.metadata()?.len());
        } else if !kind.is_dir() {
            let what = if kind.is_symlink() {
                "a link"
            } else {
                "neither file nor folder"
            };
            found.odd.insert(format!("{}: {what}", shown(&name)));
        } else if depth == DEEPEST {
            found
                .odd
                .insert(format!("{}: a folder too deep", shown(&name)));
        } else {
            look(&entry.path(), &format!("{name}/"), depth + 1, seen, found)?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_and_oddities() {
        let folder = tempfile::tempdir().unwrap();
        let root = folder.path();
        fs_err::create_dir_all(root.join("captures")).unwrap();
        fs_err::create_dir_all(root.join("a/b/c/d")).unwrap();
        fs_err::write(root.join("captures/1.csv"), "12345").unwrap();
        #[cfg(unix)]
        fs_err::os::unix::fs::symlink("/", root.join("everything")).unwrap();
        let inventory = take(root).unwrap();
        assert_eq!(
            inventory.files,
            BTreeMap::from([("captures/1.csv".to_owned(), 5)])
        );
        let odd: Vec<&str> = inventory.odd.iter().map(String::as_str).collect();
        #[cfg(unix)]
        assert_eq!(
            odd,
            ["\"a/b/c/d\": a folder too deep", "\"everything\": a link"]
        );
    }
}
