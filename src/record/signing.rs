//! The acts of signing: the technician signs a sealed job, the lead accepts or returns it. Nobody signs
//! what does not hold, and nobody whose signature would not count.

use chrono::{DateTime, SecondsFormat, Utc};
use ssh_key::PrivateKey;

use super::decision::{self, Decision, Ruling};
use super::durable;
use super::error::RecordError;
use super::folder::{self, JobFolder};
use super::model::Record;
use super::roster::{Role, Roster};
use super::signed::read_short;
use super::sshsig;
use super::verify::{self, Against};

/// Sign a sealed job as the technician who did it. The time that counts is that of the seal.
pub fn sign(
    job: &JobFolder,
    against: &Against<'_>,
    key: &PrivateKey,
) -> Result<Record, RecordError> {
    unsigned(
        job,
        folder::TECHNICIAN_SIGNATURE,
        "; the job is signed already",
    )?;
    let (record, manifest) = verify::sound_contents(job, against)?;
    let sealed = sealed(job, &record)?;
    let signer = (record.technician.as_str(), key, Role::Technician);
    admitted(job, against.roster, &record, signer, sealed)?;
    let signature = sshsig::sign(key, Role::Technician, &manifest)?;
    durable::write_new(
        &job.file(folder::TECHNICIAN_SIGNATURE),
        signature.as_bytes(),
    )?;
    Ok(record)
}

/// Accept or return a signed job as a lead who did not do it. A reason is needed to return one.
pub fn countersign(
    job: &JobFolder,
    against: &Against<'_>,
    key: &PrivateKey,
    (ruling, reason): (Ruling, Option<&str>),
    now: DateTime<Utc>,
) -> Result<(Record, Decision), RecordError> {
    unsigned(
        job,
        folder::COUNTERSIGNATURE,
        "; the job is countersigned already",
    )?;
    let (record, manifest) = verify::sound_contents(job, against)?;
    let technician = read_short(
        &job.file(folder::TECHNICIAN_SIGNATURE),
        sshsig::LONGEST_FILE,
    )?;
    signed_by_technician(job, against.roster, &record, (&technician, &manifest))?;
    let lead = lead(job, against.roster, &record, (&technician, key))?;
    admitted(job, against.roster, &record, (&lead, key, Role::Lead), now)?;
    if now < sealed(job, &record)? && !record.simulated_clock {
        let why = format!(
            "it was sealed at {}, which is later than now; set the clock",
            record.sealed
        );
        return Err(refused(job, why));
    }
    let decision = Decision {
        schema: decision::SCHEMA.to_owned(),
        job: record.job.clone(),
        decision: ruling,
        reason: reason.map(str::to_owned),
        name: lead,
        time: now.to_rfc3339_opts(SecondsFormat::Secs, true),
    };
    let decision = decision.sound().map_err(|why| refused(job, why))?;
    write_countersign(job, key, &decision, [&manifest, &technician])?;
    Ok((record, decision))
}

/// The signature last: what stands there without it counts for nothing.
fn write_countersign(
    job: &JobFolder,
    key: &PrivateKey,
    decision: &Decision,
    [manifest, technician]: [&[u8]; 2],
) -> Result<(), RecordError> {
    let text = decision
        .text()
        .map_err(|fault| refused(job, fault.to_string()))?;
    let list = verify::countersign_text([manifest, text.as_bytes(), technician]);
    let signature = sshsig::sign(key, Role::Lead, list.as_bytes())?;
    let remedy = "; no countersignature stands over it, so it is left from a countersigning that was \
                  cut off: move it away and countersign again";
    for name in [folder::DECISION, folder::COUNTERSIGN] {
        unsigned(job, name, remedy)?;
    }
    for (name, text) in [
        (folder::DECISION, &text),
        (folder::COUNTERSIGN, &list),
        (folder::COUNTERSIGNATURE, &signature),
    ] {
        durable::write_new(&job.file(name), text.as_bytes())?;
    }
    Ok(())
}

fn signed_by_technician(
    job: &JobFolder,
    roster: &Roster,
    record: &Record,
    (signature, manifest): (&[u8], &[u8]),
) -> Result<(), RecordError> {
    let key = sshsig::check(signature, Role::Technician, manifest)
        .map_err(|fault| refused(job, format!("technician.sig: {fault}")))?;
    roster
        .admits(
            &record.technician,
            &key,
            Role::Technician,
            sealed(job, record)?,
        )
        .map_err(|refusal| refused(job, format!("technician.sig does not count: {refusal}")))?;
    Ok(())
}

/// Whose key it is; not the technician's, by name or by key.
fn lead(
    job: &JobFolder,
    roster: &Roster,
    record: &Record,
    (technician, key): (&[u8], &PrivateKey),
) -> Result<String, RecordError> {
    let own = key.public_key().key_data();
    let identity = roster.owner(own).ok_or_else(|| {
        let file = roster.file().display();
        refused(
            job,
            format!("the key is not in the roster; the shop adds it to {file}"),
        )
    })?;
    let technicians = sshsig::key_of(technician).is_ok_and(|other| other == *own);
    if identity == record.technician || technicians {
        let why = format!("{identity} did this job; another person must countersign it");
        return Err(refused(job, why));
    }
    Ok(identity.to_owned())
}

fn admitted(
    job: &JobFolder,
    roster: &Roster,
    record: &Record,
    (identity, key, role): (&str, &PrivateKey, Role),
    at: DateTime<Utc>,
) -> Result<(), RecordError> {
    let entry = roster
        .admits(identity, key.public_key().key_data(), role, at)
        .map_err(|refusal| {
            refused(
                job,
                format!(
                    "this signature would not count: {refusal} ({})",
                    roster.file().display()
                ),
            )
        })?;
    if entry.is_practice() && record.practice.is_empty() {
        let why = format!("{identity}'s key is a practice key, and this job is not practice");
        return Err(refused(job, why));
    }
    Ok(())
}

fn sealed(job: &JobFolder, record: &Record) -> Result<DateTime<Utc>, RecordError> {
    verify::parsed(&record.sealed).ok_or_else(|| {
        refused(
            job,
            format!("its sealing time is no time: {:?}", record.sealed),
        )
    })
}

fn unsigned(job: &JobFolder, name: &str, remedy: &'static str) -> Result<(), RecordError> {
    let file = job.file(name);
    if std::fs::symlink_metadata(&file).is_ok() {
        return Err(RecordError::Exists { file, remedy });
    }
    Ok(())
}

fn refused(job: &JobFolder, why: String) -> RecordError {
    RecordError::Refused {
        folder: job.path().to_owned(),
        why,
    }
}
