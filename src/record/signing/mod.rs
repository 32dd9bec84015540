//! The acts of signing: the technician signs a sealed job, the lead accepts or returns it. Nobody signs
//! what does not hold, and nobody whose signature would not count.

pub mod agent;
pub mod key;
pub mod signer;
pub mod sshsig;

use chrono::{DateTime, Utc};
use ssh_key::public::KeyData;

use crate::record::bundle::amendment::Layer;
use crate::record::bundle::decision::{self, Decision, Ruling};
use crate::record::bundle::inventory;
use crate::record::bundle::manifest;
use crate::record::bundle::model::Record;
use crate::record::bundle::signed::read_short;
use crate::record::durable;
use crate::record::error::RecordError;
use crate::record::folder::{self, JobFolder};
use crate::record::moment;
use crate::record::shop::roster::{Role, Roster};
use crate::record::signing::signer::Signer;
use crate::record::verify::{self, Against, Over};

/// Sign a sealed job as the technician who did it. The time that counts is that of the seal.
///
/// # Errors
/// Where the job is signed already or does not hold, or the signature would not count.
pub fn sign(
    job: &JobFolder,
    against: &Against<'_>,
    key: &dyn Signer,
) -> Result<Record, RecordError> {
    let (record, manifest) = signable(job, against, key.key())?;
    let signature = key.sign(Role::Technician, &manifest)?;
    durable::write_new(
        &job.file(folder::TECHNICIAN_SIGNATURE),
        signature.as_bytes(),
    )?;
    Ok(record)
}

/// The record of a job that a technician's signature with that key would count for: looked at before the key is opened.
///
/// # Errors
/// As [`sign`] has them.
pub fn may_sign(
    job: &JobFolder,
    against: &Against<'_>,
    key: &KeyData,
) -> Result<Record, RecordError> {
    signable(job, against, key).map(|(record, _)| record)
}

fn signable(
    job: &JobFolder,
    against: &Against<'_>,
    key: &KeyData,
) -> Result<(Record, Vec<u8>), RecordError> {
    unsigned(
        job,
        folder::TECHNICIAN_SIGNATURE,
        "; the job is signed already",
    )?;
    let (record, manifest) = verify::sound_contents(job, against)?;
    let sealed = sealed(job, &record)?;
    let signer = (record.technician.as_str(), key, Role::Technician);
    admitted(job, against.roster, record.is_practice(), signer, sealed)?;
    Ok((record, manifest))
}

/// A decision that would count, before it is signed.
#[derive(Debug, Clone, PartialEq)]
pub struct Decidable {
    /// The job's record.
    pub record: Record,
    /// What is decided about: the job, or its last amendment.
    pub layer: Layer,
    /// What is decided, and by whom.
    pub decision: Decision,
    /// Digest of the layer's manifest.
    manifest: String,
}

/// Accept or return a signed job as a lead who did not do it. A reason is needed to return one.
///
/// # Errors
/// Where somebody has decided already, the job does not hold or is not signed, no reason is given for a return, or the
/// signature would not count.
pub fn countersign(
    job: &JobFolder,
    against: &Against<'_>,
    key: &dyn Signer,
    ruling: (Ruling, Option<&str>),
    now: DateTime<Utc>,
) -> Result<(Record, Decision), RecordError> {
    let decidable = decidable(job, against, key.key(), ruling, now)?;
    write_countersign(job, key, &decidable.decision, decidable.layer)?;
    Ok((decidable.record, decidable.decision))
}

/// The decision that a lead with that key would sign: looked at and shown before the key is opened.
///
/// # Errors
/// As [`countersign`] has them.
pub fn decidable(
    job: &JobFolder,
    against: &Against<'_>,
    key: &KeyData,
    (ruling, reason): (Ruling, Option<&str>),
    now: DateTime<Utc>,
) -> Result<Decidable, RecordError> {
    free(job, top(job)?)?;
    let (record, over) = verify::sound_layers(job, against)?;
    let lead = lead(job, against.roster, &over, key)?;
    let signer = (lead.as_str(), key, Role::Lead);
    admitted(job, against.roster, record.is_practice(), signer, now)?;
    if let Some(signed) = over.since
        && now < signed
        && !record.simulated_clock
    {
        let signed = moment::text(signed);
        let why = format!("it was sealed at {signed}, which is later than now; set the clock");
        return Err(RecordError::refused(job.path(), why));
    }
    let decision = Decision {
        schema: decision::SCHEMA.to_owned(),
        job: record.job.clone(),
        decision: ruling,
        reason: reason.map(str::to_owned),
        name: lead,
        time: moment::text(now),
    };
    let decision = decision
        .sound()
        .map_err(|why| RecordError::refused(job.path(), why))?;
    Ok(Decidable {
        record,
        layer: over.layer,
        decision,
        manifest: over.manifest,
    })
}

impl Decidable {
    /// The same job, decided so.
    ///
    /// # Errors
    /// Where the decision says too much or too little.
    pub fn decided(
        mut self,
        job: &JobFolder,
        (ruling, reason): (Ruling, Option<&str>),
    ) -> Result<Decidable, RecordError> {
        self.decision.decision = ruling;
        self.decision.reason = reason.map(str::to_owned);
        self.decision = self
            .decision
            .sound()
            .map_err(|why| RecordError::refused(job.path(), why))?;
        Ok(self)
    }

    /// Sign the decision, if the job is still what was looked at: nobody signs what they were not shown.
    ///
    /// # Errors
    /// Where the job was changed or added to since, and as [`countersign`] has them.
    pub fn sign(
        &self,
        job: &JobFolder,
        against: &Against<'_>,
        key: &dyn Signer,
        now: DateTime<Utc>,
    ) -> Result<Decision, RecordError> {
        let ruling = (self.decision.decision, self.decision.reason.as_deref());
        let still = decidable(job, against, key.key(), ruling, now)?;
        if (still.layer, &still.manifest) != (self.layer, &self.manifest) {
            let why = "it was added to since it was shown; look at it and decide again";
            return Err(RecordError::refused(job.path(), why.to_owned()));
        }
        write_countersign(job, key, &still.decision, still.layer)?;
        Ok(still.decision)
    }
}

/// Decision, list and signature together: one without the others would spoil a job that is sound.
fn write_countersign(
    job: &JobFolder,
    key: &dyn Signer,
    decision: &Decision,
    layer: Layer,
) -> Result<(), RecordError> {
    let text = decision
        .text()
        .map_err(|fault| RecordError::refused(job.path(), fault.to_string()))?;
    let read = |name, longest| read_short(&job.file(&layer.file(name)), longest);
    let manifest = read(folder::MANIFEST, manifest::LONGEST_FILE)?;
    let technician = read(folder::TECHNICIAN_SIGNATURE, sshsig::LONGEST_FILE)?;
    let list = verify::countersign_text(layer, [&manifest, text.as_bytes(), &technician]);
    let signature = key.sign(Role::Lead, list.as_bytes())?;
    let files = [
        (folder::DECISION, &text),
        (folder::COUNTERSIGN, &list),
        (folder::COUNTERSIGNATURE, &signature),
    ];
    durable::write_all_new(
        &files.map(|(name, text)| (job.file(&layer.file(name)), text.as_bytes())),
    )
}

/// The layer on top, by what lies there: the job, or its last amendment.
pub(in crate::record) fn top(job: &JobFolder) -> Result<Layer, RecordError> {
    let there = inventory::take(job.path())?;
    let layers = there.files.keys().filter_map(|name| Layer::of(name));
    Ok(layers.map(|(layer, _)| layer).max().unwrap_or(Layer::JOB))
}

/// Whether nobody has decided yet.
fn free(job: &JobFolder, layer: Layer) -> Result<(), RecordError> {
    let decision = read_short(
        &job.file(&layer.file(folder::DECISION)),
        decision::LONGEST_FILE,
    );
    let decision = decision.ok().and_then(|bytes| Decision::parse(&bytes).ok());
    let remedy = match decision.map(|decision| decision.decision) {
        Some(Ruling::Returned) => {
            "; the job is countersigned already, and returned: the technician adds what corrects it with \
             `evenfire amend`, then a lead decides anew"
        }
        _ => "; the job is countersigned already",
    };
    unsigned(job, &layer.file(folder::COUNTERSIGNATURE), remedy)?;
    let remedy = "; no countersignature stands over it, so it is left from a countersigning that was \
                  cut off: move it away and countersign again";
    for name in [folder::DECISION, folder::COUNTERSIGN] {
        unsigned(job, &layer.file(name), remedy)?;
    }
    Ok(())
}

/// Whose key it is; nobody's who did the job or amended it, by name or by key.
fn lead(
    job: &JobFolder,
    roster: &Roster,
    over: &Over,
    own: &KeyData,
) -> Result<String, RecordError> {
    let identity = owner(job, roster, own)?;
    let is_own =
        |(name, key): &(String, Option<KeyData>)| name == identity || key.as_ref() == Some(own);
    if over.people.iter().any(is_own) {
        let why = format!("{identity} did this job; another person must countersign it");
        return Err(RecordError::refused(job.path(), why));
    }
    Ok(identity.to_owned())
}

/// Whose key it is by the roster.
///
/// # Errors
/// Where it is nobody's.
pub(in crate::record) fn owner<'r>(
    job: &JobFolder,
    roster: &'r Roster,
    key: &KeyData,
) -> Result<&'r str, RecordError> {
    roster.owner(key).ok_or_else(|| {
        let file = roster.file().display();
        let why = format!("the key is not in the roster; the shop adds it to {file}");
        RecordError::refused(job.path(), why)
    })
}

/// Whether somebody's signature in a role at a time would count, in a job that is practice or counts.
///
/// # Errors
/// Where it would not, and why.
pub(in crate::record) fn admitted(
    job: &JobFolder,
    roster: &Roster,
    practice: bool,
    (identity, key, role): (&str, &KeyData, Role),
    at: DateTime<Utc>,
) -> Result<(), RecordError> {
    let entry = roster.admits(identity, key, role, at).map_err(|refusal| {
        let file = roster.file().display();
        let why = format!("this signature would not count: {refusal} ({file})");
        RecordError::refused(job.path(), why)
    })?;
    if entry.is_practice() && !practice {
        let why = format!("{identity}'s key is a practice key, and this job is not practice");
        return Err(RecordError::refused(job.path(), why));
    }
    Ok(())
}

fn sealed(job: &JobFolder, record: &Record) -> Result<DateTime<Utc>, RecordError> {
    moment::read(&record.sealed).ok_or_else(|| {
        let why = format!("its sealing time is no time: {:?}", record.sealed);
        RecordError::refused(job.path(), why)
    })
}

fn unsigned(job: &JobFolder, name: &str, remedy: &'static str) -> Result<(), RecordError> {
    let file = job.file(name);
    if std::fs::symlink_metadata(&file).is_ok() {
        return Err(RecordError::Exists { file, remedy });
    }
    Ok(())
}
