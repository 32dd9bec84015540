//! Who signed a job, as its files say: for showing. Whether a signature holds is `verify`'s question.

use std::collections::BTreeSet;
use std::path::Path;

use ssh_key::HashAlg;
use ssh_key::public::KeyData;

use crate::record::bundle::amendment::{self, Amendment, Layer};
use crate::record::bundle::attachments::{self, Attachment};
use crate::record::bundle::decision::{self, Decision};
use crate::record::bundle::model::Record;
use crate::record::bundle::waiver::{self, Waiver};
use crate::record::error::RecordError;
use crate::record::folder::{self, JobFolder};
use crate::record::moment;
use crate::record::shop::roster::Roster;
use crate::record::signing::sshsig;

/// One signature.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signature {
    /// Who, as in the roster.
    pub identity: String,
    /// When, by the signer's word.
    pub time: String,
    /// Fingerprint of the key: `SHA256:…`.
    pub fingerprint: String,
}

/// The signatures of a job, and what is listed under them that no record names.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Signed {
    /// The technician's.
    pub technician: Option<Signature>,
    /// The lead's, with what was decided.
    pub lead: Option<(Signature, Decision)>,
    /// What leads waived, by number.
    pub waivers: Vec<(u32, Waiver, Signature)>,
    /// What was added since, in order.
    pub amendments: Vec<Amended>,
    /// What was handed over beside the captures, with the job or an amendment.
    pub attachments: Vec<Attachment>,
}

/// An amendment with its signatures.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Amended {
    /// What it says.
    pub amendment: Amendment,
    /// Who amended.
    pub signature: Signature,
    /// The lead's, with what was decided.
    pub lead: Option<(Signature, Decision)>,
}

/// A job's record as it lies there; none where it cannot be read.
#[must_use]
pub fn record(job: &JobFolder) -> Option<Record> {
    let bytes = read_short(&job.file(folder::RECORD), folder::LONGEST_TEXT).ok()?;
    serde_json::from_slice(&bytes).ok()
}

impl Signed {
    /// Read what is there of a job's signatures.
    ///
    /// # Errors
    /// Where a file that is there cannot be read, or is not of its form.
    pub fn read(job: &JobFolder, record: &Record) -> Result<Signed, RecordError> {
        let technician =
            fingerprint_in(job, folder::TECHNICIAN_SIGNATURE)?.map(|fingerprint| Signature {
                identity: record.technician.clone(),
                time: record.sealed.clone(),
                fingerprint,
            });
        let mut amendments = Vec::new();
        let mut layer = Layer::JOB.next();
        while let Some(amended) = amended(job, layer)? {
            amendments.push(amended);
            layer = layer.next();
        }
        let last = layer.before().unwrap_or(Layer::JOB);
        Ok(Signed {
            technician,
            lead: lead(job, Layer::JOB)?,
            waivers: waiver::given(job)?,
            amendments,
            attachments: attachments::read(job, last.number())?,
        })
    }

    /// Who signed any of it with a key that is revoked, once each, by what the files say.
    #[must_use]
    pub fn by_revoked(&self, roster: &Roster) -> Vec<String> {
        let decided =
            |lead: &Option<(Signature, Decision)>| lead.as_ref().map(|(own, _)| own.clone());
        let amendments = self.amendments.iter();
        let amendments =
            amendments.flat_map(|one| [Some(one.signature.clone()), decided(&one.lead)]);
        let waivers = self.waivers.iter().map(|(_, _, own)| Some(own.clone()));
        let all = [self.technician.clone(), decided(&self.lead)].into_iter();
        let all = all.chain(amendments).chain(waivers).flatten();
        let people: BTreeSet<String> = all
            .filter(|own| roster.is_revoked(&own.fingerprint))
            .map(|own| own.identity)
            .collect();
        people.into_iter().collect()
    }

    /// Its amendments, without those and the decisions about them that a key signed which is revoked by now.
    #[must_use]
    pub fn amendments_that_count(&self, roster: &Roster) -> Vec<Amended> {
        let counts = |own: &Signature| !roster.is_revoked(&own.fingerprint);
        let amendments = self.amendments.iter();
        let amendments = amendments.filter(|one| counts(&one.signature)).cloned();
        let amendments = amendments.map(|mut one| {
            one.lead = one.lead.filter(|(own, _)| counts(own));
            one
        });
        amendments.collect()
    }

    /// Whether somebody else could decide: for everybody who signed there is another lead.
    #[must_use]
    pub fn others_can_decide(&self, record: &Record, roster: &Roster) -> bool {
        let amended = self.amendments.last();
        let last = amended.map_or(record.sealed.as_str(), |last| last.signature.time.as_str());
        let amending = self.amendments.iter().map(|one| &one.signature.identity);
        let mut people = amending.chain([&record.technician]);
        people.all(|who| roster.has_other_lead(who, moment::read(last)))
    }

    /// The decision that counts: the one about what was added last, or about the job.
    #[must_use]
    pub fn last_decision(&self) -> Option<&Decision> {
        let lead = match self.amendments.last() {
            Some(last) => &last.lead,
            None => &self.lead,
        };
        lead.as_ref().map(|(_, decision)| decision)
    }
}

/// The lead's decision about a layer.
fn lead(job: &JobFolder, layer: Layer) -> Result<Option<(Signature, Decision)>, RecordError> {
    let Some(fingerprint) = fingerprint_in(job, &layer.file(folder::COUNTERSIGNATURE))? else {
        return Ok(None);
    };
    let file = job.file(&layer.file(folder::DECISION));
    let bytes = read_short(&file, decision::LONGEST_FILE)?;
    let decision = Decision::parse(&bytes).map_err(|why| RecordError::text(&file, (1, 1), why))?;
    let signature = Signature {
        identity: decision.name.clone(),
        time: decision.time.clone(),
        fingerprint,
    };
    Ok(Some((signature, decision)))
}

fn amended(job: &JobFolder, layer: Layer) -> Result<Option<Amended>, RecordError> {
    let name = layer.file(folder::TECHNICIAN_SIGNATURE);
    let Some(fingerprint) = fingerprint_in(job, &name)? else {
        return Ok(None);
    };
    let file = job.file(&layer.file(folder::AMENDMENT));
    let bytes = read_short(&file, amendment::LONGEST_FILE)?;
    let amendment =
        Amendment::parse(&bytes).map_err(|why| RecordError::text(&file, (1, 1), why))?;
    let signature = Signature {
        identity: amendment.name.clone(),
        time: amendment.time.clone(),
        fingerprint,
    };
    Ok(Some(Amended {
        amendment,
        signature,
        lead: lead(job, layer)?,
    }))
}

/// A key's fingerprint as OpenSSH shows it.
#[must_use]
pub fn fingerprint(key: &KeyData) -> String {
    key.fingerprint(HashAlg::Sha256).to_string()
}

fn fingerprint_in(job: &JobFolder, name: &str) -> Result<Option<String>, RecordError> {
    let file = job.file(name);
    // A link counts as there, so that reading it fails instead of passing it over.
    if std::fs::symlink_metadata(&file).is_err() {
        return Ok(None);
    }
    let bytes = read_short(&file, sshsig::LONGEST_FILE)?;
    let key = sshsig::key_of(&bytes)
        .map_err(|fault| RecordError::text(&file, (1, 1), fault.to_string()))?;
    Ok(Some(fingerprint(&key)))
}

/// Read a file of a bundle that should be short: a plain file, no link, no longer than that.
pub(crate) fn read_short(file: &Path, longest: u64) -> Result<Vec<u8>, RecordError> {
    let about = fs_err::symlink_metadata(file)?;
    let odd = |what: &str| {
        let told = format!("{}: {what}", file.display());
        Err(RecordError::System(std::io::Error::other(told)))
    };
    if !about.is_file() {
        return odd("not a plain file");
    }
    if about.len() > longest {
        return odd(&format!("longer than {longest} bytes"));
    }
    Ok(fs_err::read(file)?)
}
