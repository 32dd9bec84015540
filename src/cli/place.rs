//! Which shop, and which job of it: a number, or a folder anywhere.

use std::path::{Path, PathBuf};

use clap::Args;

use super::Failure;
use crate::record::folder::JobFolder;
use crate::record::shop::Shop;

#[derive(Debug, Args)]
pub(crate) struct ShopArgument {
    /// Folder of the shop
    #[arg(long, value_name = "DIR", default_value = ".")]
    shop: PathBuf,
}

impl ShopArgument {
    pub(crate) fn open(&self) -> Result<Shop, Failure> {
        Ok(Shop::open(&self.shop)?)
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
