//! The chain of a shop's jobs: each record names the manifest of the job sealed before it, so that a
//! job that is taken out of the shop leaves a gap. Practice jobs form no part of it: they name none and
//! none names them. Whether the chain is whole is an audit's question.

use std::collections::BTreeSet;

use serde::Deserialize;

use super::digest;
use super::error::RecordError;
use super::folder::{self, JobFolder};
use super::shop::Shop;

/// What the chain needs of a record.
#[derive(Deserialize)]
struct Link {
    job: String,
    practice: Vec<String>,
    sealed: String,
    previous: Option<String>,
}

/// Holds the shop's chain for one seal at a time; let go when dropped.
#[derive(Debug)]
pub(crate) struct Held {
    _lock: std::fs::File,
}

const LOCK: &str = ".lock";

/// Wait until nobody else seals a job of the shop.
pub(crate) fn hold(shop: &Shop) -> Result<Held, RecordError> {
    let path = shop.jobs().join(LOCK);
    let lock = std::fs::File::options()
        .create(true)
        .append(true)
        .open(&path)
        .and_then(|file| file.lock().map(|()| file))
        .map_err(|error| {
            let told = format!("cannot lock {}: {error}", path.display());
            std::io::Error::new(error.kind(), told)
        })?;
    Ok(Held { _lock: lock })
}

/// The digest of the manifest that the next record names: the last that no other record names. A job
/// that cannot be read is passed over: it must not keep others from being sealed.
pub(crate) fn last(shop: &Shop, _held: &Held) -> Result<Option<String>, RecordError> {
    let links: Vec<(String, Link)> = shop.all_jobs()?.iter().filter_map(link).collect();
    let named: BTreeSet<&str> = links
        .iter()
        .filter_map(|(_, link)| link.previous.as_deref())
        .collect();
    let open = links
        .iter()
        .filter(|(own, _)| !named.contains(own.as_str()));
    // Where a job was taken out, several are named by none; the newest carries on.
    let newest = open.max_by(|(_, a), (_, b)| (&a.sealed, &a.job).cmp(&(&b.sealed, &b.job)));
    Ok(newest.map(|(own, _)| own.clone()))
}

fn link(job: &JobFolder) -> Option<(String, Link)> {
    let manifest = fs_err::read(job.file(folder::MANIFEST)).ok()?;
    let record = fs_err::read(job.file(folder::RECORD)).ok()?;
    let link: Link = serde_json::from_slice(&record).ok()?;
    link.practice
        .is_empty()
        .then(|| (digest::of_bytes(&manifest), link))
}
