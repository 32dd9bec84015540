//! Adding an amendment: made whole beside its place, signed, then moved there in one go, so that a job never
//! shows half of one.

use std::path::{Path, PathBuf};

use chrono::{DateTime, Utc};
use ssh_key::public::KeyData;

use super::{Amendment, Layer, SCHEMA, naming};
use crate::record::bundle::manifest::{self, Line, Manifest, shown};
use crate::record::bundle::model::Record;
use crate::record::bundle::signed::Signed;
use crate::record::digest;
use crate::record::durable;
use crate::record::error::RecordError;
use crate::record::folder::{self, AMENDMENTS, ATTACHMENTS, JobFolder};
use crate::record::moment;
use crate::record::shop::roster::Role;
use crate::record::signing::signer::Signer;
use crate::record::signing::{admitted, owner};
use crate::record::verify::{self, Against, Over};

/// A file that is handed over with an amendment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attached {
    /// Where it lies now; it is copied.
    pub from: PathBuf,
    /// Its name among the amendment's attachments.
    pub name: String,
}

/// What is added to a job, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Adding {
    /// What it corrects or completes.
    pub corrects: String,
    /// What it says.
    pub adds: String,
    /// Why.
    pub reason: String,
    /// Files beside it.
    pub attached: Vec<Attached>,
}

/// Add to a signed job, as a technician of the roster.
///
/// # Errors
/// Where the job does not hold, or the signature would not count.
pub fn amend(
    job: &JobFolder,
    against: &Against<'_>,
    key: &dyn Signer,
    adding: Adding,
    now: DateTime<Utc>,
) -> Result<Amendment, RecordError> {
    let (amendment, layer) = drafted(job, against, key.key(), &adding, now)?;
    write(
        job,
        key,
        (layer, layer.next()),
        &amendment,
        &adding.attached,
    )?;
    Ok(amendment)
}

/// Whether an amendment signed with that key would count: looked at before the key is opened.
///
/// # Errors
/// As [`amend`] has them.
pub fn may_amend(
    job: &JobFolder,
    against: &Against<'_>,
    key: &KeyData,
    adding: &Adding,
    now: DateTime<Utc>,
) -> Result<(), RecordError> {
    drafted(job, against, key, adding, now).map(|_| ())
}

/// The record of a job that may be added to by whoever has a key for it: looked at before anybody is asked for one.
///
/// # Errors
/// Where the job does not hold, or is not signed.
pub fn stands(job: &JobFolder, against: &Against<'_>) -> Result<Record, RecordError> {
    verify::sound_layers(job, against).map(|(record, _)| record)
}

/// Whether that key could sign an amendment now, whatever it says: looked at before anybody is asked for it.
///
/// # Errors
/// As [`amend`] has them.
pub fn amendable(
    job: &JobFolder,
    against: &Against<'_>,
    key: &KeyData,
    now: DateTime<Utc>,
) -> Result<(), RecordError> {
    next(job, against, key, now).map(|_| ())
}

/// What the next amendment would be, before anything is said in it.
struct Next {
    record: Record,
    over: Over,
    /// Who adds.
    name: String,
    layer: Layer,
}

fn next(
    job: &JobFolder,
    against: &Against<'_>,
    key: &KeyData,
    now: DateTime<Utc>,
) -> Result<Next, RecordError> {
    let (record, over) = verify::sound_layers(job, against)?;
    let name = owner(job, against.roster, key)?;
    let signer = (name, key, Role::Technician);
    admitted(job, against.roster, record.is_practice(), signer, now)?;
    if let Some(stands_at) = over.since
        && now < stands_at
        && !record.simulated_clock
    {
        let why = format!(
            "what it amends was signed at {}, which is later than now; set the clock",
            moment::text(stands_at)
        );
        return Err(RecordError::refused(job.path(), why));
    }
    let layer = over.layer.next();
    if layer.number() > super::MOST {
        return Err(RecordError::refused(
            job.path(),
            format!("it has {} amendments already", super::MOST),
        ));
    }
    let name = name.to_owned();
    Ok(Next {
        record,
        over,
        name,
        layer,
    })
}

/// What would be signed, and the layer that it would lie on.
fn drafted(
    job: &JobFolder,
    against: &Against<'_>,
    key: &KeyData,
    adding: &Adding,
    now: DateTime<Utc>,
) -> Result<(Amendment, Layer), RecordError> {
    let next = next(job, against, key, now)?;
    stands_in_place(job, &next.record, (&adding.corrects, &adding.adds))?;
    let amendment = Amendment {
        schema: SCHEMA.to_owned(),
        job: next.record.job,
        number: next.layer.number(),
        corrects: adding.corrects.clone(),
        adds: adding.adds.clone(),
        reason: adding.reason.clone(),
        name: next.name,
        time: moment::text(now),
        previous: next.over.manifest,
    };
    let amendment = amendment
        .sound()
        .map_err(|why| RecordError::refused(job.path(), why))?;
    for file in &adding.attached {
        place_of(job, next.layer, file)?;
        fs_err::File::open(&file.from)?;
    }
    Ok((amendment, next.over.layer))
}

/// Whether what it adds can stand in place of what it corrects, by the job as it is now.
///
/// # Errors
/// Where a line by which cylinders are named would be corrected to what it cannot be.
pub fn stands_in_place(
    job: &JobFolder,
    record: &Record,
    adding: (&str, &str),
) -> Result<(), RecordError> {
    let signed = Signed::read(job, record)?;
    let before = signed.amendments.iter().map(|one| &one.amendment);
    let before: Vec<(&str, &str)> = before
        .map(|said| (said.corrects.as_str(), said.adds.as_str()))
        .collect();
    naming::judge(record, adding, &before).map_err(|why| RecordError::refused(job.path(), why))
}

fn write(
    job: &JobFolder,
    key: &dyn Signer,
    (layer, next): (Layer, Layer),
    amendment: &Amendment,
    attached: &[Attached],
) -> Result<(), RecordError> {
    fs_err::create_dir_all(job.file(AMENDMENTS))?;
    let draft = tempfile::Builder::new()
        .prefix(durable::DRAFT)
        .tempdir_in(beside(job))?;
    readable(draft.path())?;
    let text = amendment
        .text()
        .map_err(|fault| RecordError::refused(job.path(), fault.to_string()))?;
    if text.len() as u64 > super::LONGEST_FILE {
        return Err(RecordError::refused(
            job.path(),
            "what the amendment says is too long; attach it as a file",
        ));
    }
    durable::write_new(&draft.path().join(folder::AMENDMENT), text.as_bytes())?;
    let mut lines = carried(job, layer)?;
    lines.push(Line {
        sha256: digest::of_bytes(text.as_bytes()),
        name: next.file(folder::AMENDMENT),
    });
    lines.extend(attach(job, draft.path(), next, attached)?);
    let list = Manifest::of(lines).text();
    let signature = key.sign(Role::Technician, list.as_bytes())?;
    durable::write_new(&draft.path().join(folder::MANIFEST), list.as_bytes())?;
    durable::write_new(
        &draft.path().join(folder::TECHNICIAN_SIGNATURE),
        signature.as_bytes(),
    )?;
    let place = job.file(&next.file(""));
    // Where another amendment was faster its folder is not empty, and the move fails.
    fs_err::rename(draft.path(), &place)?;
    durable::sync_folder(&job.file(AMENDMENTS))?;
    durable::sync_folder(job.path())
}

/// Files with the digests of everything that stands over the layer before.
fn carried(job: &JobFolder, layer: Layer) -> Result<Vec<Line>, RecordError> {
    let names = Layer::CARRIED.map(|name| layer.file(name));
    let there = names.into_iter().filter(|name| job.file(name).exists());
    there
        .map(|name| {
            Ok(Line {
                sha256: digest::of_file(&job.file(&name))?,
                name,
            })
        })
        .collect()
}

fn attach(
    job: &JobFolder,
    draft: &Path,
    next: Layer,
    attached: &[Attached],
) -> Result<Vec<Line>, RecordError> {
    if attached.is_empty() {
        return Ok(Vec::new());
    }
    let folder = draft.join(ATTACHMENTS);
    fs_err::create_dir(&folder)?;
    let mut lines = Vec::new();
    for file in attached {
        let name = place_of(job, next, file)?;
        let to = folder.join(&file.name);
        durable::copy_new(&file.from, &to)?;
        lines.push(Line {
            sha256: digest::of_file(&to)?,
            name,
        });
    }
    Ok(lines)
}

/// The name of an attachment in the job.
fn place_of(job: &JobFolder, next: Layer, file: &Attached) -> Result<String, RecordError> {
    let name = next.file(&format!("{ATTACHMENTS}/{}", file.name));
    if file.name.contains('/') || !manifest::is_plain(&name) {
        let why = "give it a name of letters, digits and ._-+()=,@ ";
        return Err(RecordError::refused(
            job.path(),
            format!("{}: {why}", shown(&file.name)),
        ));
    }
    Ok(name)
}

/// Where a job lies: a draft there spoils no bundle if a crash leaves it behind.
fn beside(job: &JobFolder) -> &Path {
    match job.path().parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// Draft folders are private by default; what lies in a shop is for all whom the umask lets in.
fn readable(folder: &Path) -> Result<(), RecordError> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        fs_err::set_permissions(folder, std::fs::Permissions::from_mode(0o755))?;
    }
    #[cfg(not(unix))]
    let _ = folder;
    Ok(())
}
