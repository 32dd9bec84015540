//! Procedure files as they are named in a command: by a path, or by the name that a job has for one of the shop's.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use crate::cli::Failure;
use crate::cli::one_job::opening::known_procedures;
use crate::cli::one_job::which_job::{below_here, wanted};
use crate::procedure::nearest::nearest;
use crate::record::shop::PROCEDURES;

/// The files that are meant: a name that is no file and is one of the shop's procedures is that.
pub(crate) fn named(files: &[PathBuf], shop: Option<&Path>) -> Result<Vec<PathBuf>, Failure> {
    let bare = |file: &Path| file.components().count() == 1 && file.extension().is_none();
    if !files.iter().any(|file| bare(file) && !file.exists()) {
        return Ok(files.to_vec());
    }
    let folder = wanted(shop)?.map(|root| below_here(&root.join(PROCEDURES)));
    let one = |file: &PathBuf| {
        let of_shop = folder.as_ref().map(|folder| folder.join(file));
        let of_shop = of_shop.map(|path| path.with_extension("yaml"));
        match of_shop {
            Some(path) if bare(file) && !file.exists() && path.is_file() => path,
            _ => file.clone(),
        }
    };
    Ok(files.iter().map(one).collect())
}

/// Each file once, as it was named first, however its path is written.
pub(crate) fn each_once(mut files: Vec<PathBuf>) -> Vec<PathBuf> {
    let mut known = BTreeSet::new();
    files.retain(|file| known.insert(file.canonicalize().unwrap_or_else(|_| file.clone())));
    files
}

/// The procedure that a name or path which leads nowhere was probably to be, as it is named: one beside it, or for a
/// name one of the shop's.
pub(crate) fn meant(file: &Path) -> Option<String> {
    let wanted_name = file.file_stem()?.to_string_lossy();
    let near = |folder: &Path| {
        let known = known_procedures(folder);
        nearest(&wanted_name, known.iter().map(String::as_str)).map(str::to_owned)
    };
    if file.extension().is_some() || file.components().count() > 1 {
        let beside = file
            .parent()
            .filter(|folder| !folder.as_os_str().is_empty());
        let name = near(beside.unwrap_or(Path::new(".")))?;
        return Some(
            file.with_file_name(format!("{name}.yaml"))
                .display()
                .to_string(),
        );
    }
    let root = wanted(None).ok()??;
    near(&root.join(PROCEDURES))
}

/// The same, each once; all of the shop's where none is named.
pub(crate) fn named_or_all(
    files: &[PathBuf],
    shop: Option<&Path>,
) -> Result<Vec<PathBuf>, Failure> {
    match files {
        [] => of_shop(shop),
        files => Ok(each_once(named(files, shop)?)),
    }
}

/// All procedure files of the shop, in order of their names.
fn of_shop(shop: Option<&Path>) -> Result<Vec<PathBuf>, Failure> {
    let Some(root) = wanted(shop)? else {
        return Err("name procedure files: there is no shop here whose own could be meant".into());
    };
    let folder = root.join(PROCEDURES);
    let mut files = Vec::new();
    if folder.is_dir() {
        for entry in fs_err::read_dir(&folder)? {
            let path = entry?.path();
            if path.extension().is_some_and(|ending| ending == "yaml") {
                // of the working folder itself no path is left, which would be no folder
                files.push(below_here(&path));
            }
        }
    }
    files.sort();
    Ok(files)
}
