//! Which shop, and which job of it: a number, or a folder anywhere.

use std::path::{Path, PathBuf};

use clap::Args;

use crate::cli::Failure;
use crate::record::folder::JobFolder;
use crate::record::shop::{JOBS, REVOKED, ROSTER, Shop};
use crate::text;

/// Variable that names the shop where `--shop` does not.
pub(crate) const VARIABLE: &str = "EVENFIRE_SHOP";

#[derive(Debug, Args)]
pub(crate) struct ShopArgument {
    /// Folder of the shop; else EVENFIRE_SHOP, else the nearest shop in or above the working folder
    #[arg(long, value_name = "DIR")]
    shop: Option<PathBuf>,
}

impl ShopArgument {
    pub(crate) fn open(&self) -> Result<Shop, Failure> {
        let Some(root) = wanted(self.shop.as_deref())? else {
            let told = format!(
                "no shop here: neither this folder nor one above it has a policy.yaml and allowed_signers; \
                 name one with --shop DIR or {VARIABLE}, or make one with `evenfire init`{}",
                below()
            );
            return Err(told.into());
        };
        Ok(Shop::open(&root)?)
    }
}

/// The shop that is meant: named, by the environment, or found upward from the working folder.
pub(crate) fn wanted(named: Option<&Path>) -> Result<Option<PathBuf>, Failure> {
    let set = std::env::var_os(VARIABLE).filter(|value| !value.is_empty());
    match (named, set) {
        (Some(root), _) => Ok(Some(root.to_owned())),
        (None, Some(root)) => Ok(Some(PathBuf::from(root))),
        (None, None) => Ok(shop_upward(&std::env::current_dir()?)),
    }
}

/// The option that names a shop in a command to be typed here: nothing where it is found without.
pub(crate) fn shop_option(root: &Path) -> String {
    let found = wanted(None).ok().flatten();
    let same = |found: PathBuf| Some(found.canonicalize().ok()? == root.canonicalize().ok()?);
    match found.and_then(same) {
        Some(true) => String::new(),
        _ => format!(" --shop {}", shell_quoted(&absolute(root))),
    }
}

/// A path as it is typed in the working folder: from there where it lies below it, else from the root.
pub(crate) fn from_here(path: &Path) -> String {
    shell_quoted(&below_here(&absolute(path)))
}

/// A path from the working folder where it lies below it; any other as it is.
pub(crate) fn below_here(path: &Path) -> PathBuf {
    let here = std::env::current_dir().unwrap_or_default();
    path.strip_prefix(&here).unwrap_or(path).to_owned()
}

fn absolute(path: &Path) -> PathBuf {
    std::path::absolute(path).unwrap_or_else(|_| path.to_owned())
}

/// A path as a shell takes it.
fn shell_quoted(path: &Path) -> String {
    text::shell_quoted(&path.display().to_string())
}

/// The nearest shop in or above a folder.
fn shop_upward(from: &Path) -> Option<PathBuf> {
    let mut folders = from.ancestors();
    folders
        .find(|folder| is_shop(folder))
        .map(Path::to_path_buf)
}

/// Whether two of the three that make a shop are there: one that has lost its policy or its roster is told so, and not
/// passed over.
fn is_shop(folder: &Path) -> bool {
    let there = [
        Shop::policy_file(folder).is_file(),
        folder.join(ROSTER).is_file(),
        folder.join(JOBS).is_dir(),
    ];
    there.into_iter().filter(|is_there| *is_there).count() >= 2
}

/// The shop whose policy, roster or list of revoked keys a file is.
pub(crate) fn shop_that_owns(file: &Path) -> Option<PathBuf> {
    let whole = absolute(file);
    let root = whole.parent().filter(|root| is_shop(root))?;
    let mut own = [
        Shop::policy_file(root),
        root.join(ROSTER),
        root.join(REVOKED),
    ]
    .into_iter();
    own.any(|one| one == whole).then(|| root.to_owned())
}

/// The shops just below the working folder, for somebody who stands one too high.
fn below() -> String {
    let entries = std::fs::read_dir(".").into_iter().flatten().flatten();
    let mut shops: Vec<String> = entries
        .filter(|entry| is_shop(&entry.path()))
        .map(|entry| text::clean(&entry.file_name().to_string_lossy()))
        .collect();
    shops.sort();
    match shops.as_slice() {
        [] => String::new(),
        _ => format!(". Just below here: {}", shops.join(", ")),
    }
}

/// A job that a command was asked for.
#[derive(Debug)]
pub(crate) struct Place {
    pub(crate) folder: JobFolder,
    /// The number under which it lies in the shop; none where it lies elsewhere.
    pub(crate) number: Option<String>,
}

/// Find a job by its number in the shop (`42`, `0042`), or by its folder.
pub(crate) fn find(shop: &Shop, job: &str) -> Result<Place, Failure> {
    if !job.is_empty() && job.bytes().all(|byte| byte.is_ascii_digit()) {
        let folder = shop.job(job)?;
        let number = Some(folder.number());
        return Ok(Place { folder, number });
    }
    let path = Path::new(job);
    if !path.is_dir() {
        let told = format!("{job}: no such folder; name a job by its number or its folder");
        return Err(told.into());
    }
    let whole = path.canonicalize()?;
    let inside = whole.parent() == shop.jobs().canonicalize().ok().as_deref();
    let number = inside.then(|| JobFolder::at(&whole).number());
    let folder = JobFolder::at(path);
    Ok(Place { folder, number })
}
