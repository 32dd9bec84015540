//! The chain of a shop's jobs: each record names the manifest of the job sealed before it, so that a
//! job that is taken out of the shop leaves a gap. Practice jobs form no part of it: they name none and
//! none names them. Whether the chain is whole is an audit's question.

use std::collections::BTreeSet;

use serde::Deserialize;

use crate::record::bundle::model::Record;
use crate::record::bundle::signed::read_short;
use crate::record::digest;
use crate::record::error::RecordError;
use crate::record::folder::{self, JobFolder};
use crate::record::shop::Shop;

mod known;

use known::{Known, Link};

/// What the chain needs of a record.
#[derive(Deserialize)]
struct Named {
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

/// The digest of the manifest that the record of the job being sealed names: the last that no other record
/// names. A job that cannot be read is passed over: it must not keep others from being sealed.
pub(crate) fn last(
    shop: &Shop,
    sealing: &JobFolder,
    _held: &Held,
) -> Result<Option<String>, RecordError> {
    let jobs = shop.all_jobs()?;
    let mut known = Known::of(shop);
    // its number was another job's once
    if known.has(&sealing.number()) {
        known.forget();
    }
    let mut last = newest(&jobs, &mut known);
    let anew = |last: &Link| read(&shop.job(&last.job).ok()?);
    if last
        .as_ref()
        .is_some_and(|last| anew(last).as_ref() != Some(last))
    {
        known.forget();
        last = newest(&jobs, &mut known);
    }
    known.keep();
    Ok(last.map(|last| last.manifest))
}

fn newest(jobs: &[JobFolder], known: &mut Known) -> Option<Link> {
    let links = jobs.iter().filter_map(|job| known.link(job, read));
    let links: Vec<Link> = links.filter(|link| !link.practice).collect();
    let named: BTreeSet<&str> = links
        .iter()
        .filter_map(|link| link.previous.as_deref())
        .collect();
    let open = links
        .iter()
        .filter(|link| !named.contains(link.manifest.as_str()));
    // Where a job was taken out, several are named by none; the newest carries on.
    let newest = open.max_by(|a, b| (&a.sealed, &a.job).cmp(&(&b.sealed, &b.job)));
    newest.cloned()
}

/// Whether the job that a record names as the one before it lies in the shop as it was; so it is too where it names none.
///
/// # Errors
/// Where the shop's jobs cannot be listed.
pub fn has_previous(shop: &Shop, record: &Record) -> Result<bool, RecordError> {
    let Some(previous) = &record.previous else {
        return Ok(true);
    };
    // mostly it is the last one of those before
    let mut jobs = shop.all_jobs()?.into_iter().rev();
    Ok(jobs.any(|job| {
        let manifest = read_short(&job.file(folder::MANIFEST), folder::LONGEST_TEXT);
        manifest.is_ok_and(|bytes| digest::of_bytes(&bytes) == *previous)
    }))
}

fn read(job: &JobFolder) -> Option<Link> {
    let manifest = read_short(&job.file(folder::MANIFEST), folder::LONGEST_TEXT).ok()?;
    let record = read_short(&job.file(folder::RECORD), folder::LONGEST_TEXT).ok()?;
    let named: Named = serde_json::from_slice(&record).ok()?;
    Some(Link {
        job: job.number(),
        manifest: digest::of_bytes(&manifest),
        practice: !named.practice.is_empty(),
        sealed: named.sealed,
        previous: named.previous,
    })
}
