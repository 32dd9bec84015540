//! Sealing a job: its record and the manifest of everything in it are written, once.

use crate::record::bundle::inventory::{self, Inventory};
use crate::record::bundle::manifest::{self, Line, Manifest};
use crate::record::bundle::model::{Record, SCHEMA};
use crate::record::digest;
use crate::record::durable;
use crate::record::error::RecordError;
use crate::record::folder::{self, JobFolder};
use crate::record::shop::Shop;
use crate::record::shop::chain;
use crate::record::verify::journal;

/// Write `record.json` and `MANIFEST.sha256` of a job whose journal has ended. The record's `previous`
/// is filled in here, under a lock of the shop; for practice it stays empty. Answers with the record
/// as written.
///
/// # Errors
/// Where the job is sealed already, holds what does not belong into a job, or the record does not fit what lies beside
/// it; and where a file cannot be written.
pub fn seal(shop: &Shop, job: &JobFolder, record: &Record) -> Result<Record, RecordError> {
    if job.file(folder::MANIFEST).exists() {
        return Err(RecordError::Exists {
            file: job.file(folder::MANIFEST),
            remedy: "; the job is sealed already",
        });
    }
    let found = inventory::take(job.path())?;
    drop_drafts(job, &found)?;
    let files = listed_files(job, &found)?;
    check_record(job, record, &files)?;
    let held = chain::hold(shop)?;
    let mut record = record.clone();
    record.previous = match record.is_practice() {
        true => None,
        false => chain::last(shop, job, &held)?,
    };
    write_record(job, &record)?;
    let mut lines = files;
    lines.push(line(job, folder::RECORD)?);
    let text = Manifest::of(lines).text();
    durable::write_new(&job.file(folder::MANIFEST), text.as_bytes())?;
    Ok(record)
}

/// Take away what a killed process left half written: its whole file was written anew, or never answered for.
fn drop_drafts(job: &JobFolder, found: &Inventory) -> Result<(), RecordError> {
    for name in found.files.keys().filter(|name| is_draft(name)) {
        fs_err::remove_file(job.file(name))?;
    }
    Ok(())
}

fn is_draft(name: &str) -> bool {
    let own = name.rsplit('/').next().unwrap_or(name);
    own.starts_with(durable::DRAFT)
}

/// Digests of everything that the manifest lists, the record excepted.
fn listed_files(job: &JobFolder, found: &Inventory) -> Result<Vec<Line>, RecordError> {
    if let Some(odd) = found.odd.first() {
        return Err(RecordError::refused(
            job.path(),
            format!("{odd}; take it out before sealing"),
        ));
    }
    let mut lines = Vec::new();
    let names = found.files.keys();
    for name in names.filter(|name| *name != folder::RECORD && !is_draft(name)) {
        if !folder::is_listed(name) {
            let why = "does not belong into a job; move it to attachments/ or take it out";
            return Err(RecordError::refused(
                job.path(),
                format!("{} {why}", manifest::shown(name)),
            ));
        }
        if !manifest::is_plain(name) {
            let why = "give it a name of letters, digits and ._-+()=,@ ";
            return Err(RecordError::refused(
                job.path(),
                format!("{}: {why}", manifest::shown(name)),
            ));
        }
        lines.push(line(job, name)?);
    }
    Ok(lines)
}

fn line(job: &JobFolder, name: &str) -> Result<Line, RecordError> {
    Ok(Line {
        sha256: digest::of_file(&job.file(name))?,
        name: name.to_owned(),
    })
}

/// Refuse to put a name under a record that does not fit what lies beside it.
fn check_record(job: &JobFolder, record: &Record, files: &[Line]) -> Result<(), RecordError> {
    if record.schema != SCHEMA {
        let schema = &record.schema;
        return Err(RecordError::refused(
            job.path(),
            format!("schema {schema:?}; this program writes {SCHEMA}"),
        ));
    }
    if record.job != job.number() {
        return Err(RecordError::refused(
            job.path(),
            format!("the record is of job {}", record.job),
        ));
    }
    if !files.iter().any(|line| line.name == folder::JOURNAL) {
        return Err(RecordError::refused(
            job.path(),
            format!("{} is missing", folder::JOURNAL),
        ));
    }
    // A job that is sealed with a journal that says something else could never be signed.
    let bytes = fs_err::read(job.file(folder::JOURNAL))?;
    let told = journal::disagreements(record, &bytes)
        .map_err(|why| RecordError::refused(job.path(), why))?;
    if let Some(told) = told.into_iter().next() {
        return Err(RecordError::refused(job.path(), told));
    }
    let listed = Manifest::of(files.to_vec());
    for (name, sha256) in record.files() {
        match listed.digest(name) {
            Some(found) if found == sha256 => {}
            Some(_) => {
                let why = "changed since it was handed over; put the original back";
                return Err(RecordError::refused(
                    job.path(),
                    format!("{} {why}", manifest::shown(name)),
                ));
            }
            None => {
                return Err(RecordError::refused(
                    job.path(),
                    format!("{} is missing", manifest::shown(name)),
                ));
            }
        }
    }
    Ok(())
}

fn write_record(job: &JobFolder, record: &Record) -> Result<(), RecordError> {
    let text = record.text().map_err(|fault| {
        RecordError::refused(job.path(), format!("the record cannot be written: {fault}"))
    })?;
    // A number that JSON has no word for would be written as null and never read again.
    if let Err(fault) = serde_json::from_str::<Record>(&text) {
        return Err(RecordError::refused(
            job.path(),
            format!("the record would not read back: {fault}"),
        ));
    }
    let file = job.file(folder::RECORD);
    match durable::write_new(&file, text.as_bytes()) {
        // A seal that was cut off between its two files left the same record: it goes on from there.
        Err(RecordError::Exists { .. }) if fs_err::read(&file)? == text.as_bytes() => Ok(()),
        Err(RecordError::Exists { file, .. }) => Err(RecordError::Exists {
            file,
            remedy: "; no manifest lists it, so it is left from a seal that was cut off: \
                     move it away and seal again",
        }),
        other => other,
    }
}
