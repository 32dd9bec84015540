//! The shop's own files among those that are to be checked: its policy, its roster, its revoked keys. They are no
//! procedures; they are proved with every check, so here they are only told apart and told as sound.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use crate::cli::Failure;
use crate::cli::named_files;
use crate::cli::one_job::which_job::shop_that_owns;
use crate::procedure::Problem;

/// What is to be checked.
pub(super) struct Sorted {
    /// Procedure files.
    pub(super) procedures: Vec<PathBuf>,
    /// The shop's own files that were named.
    pub(super) own: Vec<PathBuf>,
    /// Folder of the shop, where one was named or owns a file.
    pub(super) shop: Option<PathBuf>,
}

impl Sorted {
    /// All of them.
    pub(super) fn all(&self) -> Vec<PathBuf> {
        [&self.own[..], &self.procedures].concat()
    }
}

/// The files that are meant, the shop's own apart.
pub(super) fn sorted(files: &[PathBuf], shop: Option<&Path>) -> Result<Sorted, Failure> {
    let owners: BTreeMap<&PathBuf, PathBuf> = files
        .iter()
        .filter_map(|file| Some((file, shop_that_owns(file)?)))
        .collect();
    if owners.is_empty() {
        return Ok(Sorted {
            procedures: named_files::named_or_all(files, shop)?,
            own: Vec::new(),
            shop: shop.map(Path::to_owned),
        });
    }
    let meant = shop
        .into_iter()
        .chain(owners.values().map(PathBuf::as_path));
    let roots: BTreeSet<PathBuf> = meant
        .map(|root| root.canonicalize().unwrap_or_else(|_| root.to_owned()))
        .collect();
    if roots.len() > 1 {
        let roots: Vec<String> = roots
            .iter()
            .map(|root| root.display().to_string())
            .collect();
        let told = format!(
            "these files are of several shops ({}); check those of one shop at a time",
            roots.join(", ")
        );
        return Err(told.into());
    }
    let shop = owners.values().next().cloned();
    let rest = files.iter().filter(|file| !owners.contains_key(file));
    let rest: Vec<PathBuf> = rest.cloned().collect();
    Ok(Sorted {
        procedures: named_files::each_once(named_files::named(&rest, shop.as_deref())?),
        own: owners.into_keys().cloned().collect(),
        shop,
    })
}

/// Which of the shop's own files are sound, a line each.
pub(super) fn told(own: &[PathBuf], problems: &BTreeSet<Problem>) -> String {
    let name = |path: &Path| path.file_name().map(std::ffi::OsStr::to_owned);
    let is_sound = |file: &&PathBuf| {
        let mut places = problems.iter().map(|one| Path::new(&one.position.file));
        !places.any(|place| name(place) == name(file) && shop_that_owns(place).is_some())
    };
    let sound = own.iter().filter(is_sound);
    sound
        .map(|file| {
            format!(
                "{}: sound (the shop's own file, no procedure)\n",
                file.display()
            )
        })
        .collect()
}
