//! The part of verification that needs the roster: who signed, in which role, and when.

use chrono::{DateTime, Utc};
use ssh_key::public::KeyData;

use super::{Bundle, FindingKind};
use crate::record::decision::{self, Decision, Ruling};
use crate::record::digest;
use crate::record::folder;
use crate::record::manifest::{self, Line, Manifest, shown};
use crate::record::model::Record;
use crate::record::roster::{Role, Roster};
use crate::record::sshsig;

pub(super) fn check(bundle: &mut Bundle<'_>, roster: &Roster, record: &Record, manifest: &[u8]) {
    let technician = technician(bundle, roster, record, manifest);
    countersign(bundle, roster, record, technician.as_ref());
}

/// The technician's key, where the signature fits.
fn technician(
    bundle: &mut Bundle<'_>,
    roster: &Roster,
    record: &Record,
    manifest: &[u8],
) -> Option<KeyData> {
    if !bundle.has(folder::TECHNICIAN_SIGNATURE) {
        bundle.found(FindingKind::NotSigned, "the technician has not signed");
        return None;
    }
    let key = signature(
        bundle,
        folder::TECHNICIAN_SIGNATURE,
        Role::Technician,
        manifest,
    )?;
    let time = time(bundle, "record.json gives the sealing", &record.sealed);
    let signer = Signer {
        identity: &record.technician,
        key: &key,
        role: Role::Technician,
        time,
    };
    signer.check(bundle, roster, record);
    Some(key)
}

fn countersign(
    bundle: &mut Bundle<'_>,
    roster: &Roster,
    record: &Record,
    technician: Option<&KeyData>,
) {
    const PARTS: [&str; 3] = [
        folder::DECISION,
        folder::COUNTERSIGN,
        folder::COUNTERSIGNATURE,
    ];
    let there = PARTS.into_iter().filter(|name| bundle.has(name)).count();
    if there == 0 {
        return not_countersigned(bundle, roster, record);
    }
    if there < PARTS.len() || !bundle.has(folder::TECHNICIAN_SIGNATURE) {
        let told = "the countersignature is not whole: technician.sig, decision.json, \
                    COUNTERSIGN.sha256 and countersign.sig belong together";
        return bundle.found(FindingKind::CountersignIncomplete, told);
    }
    let Some(list) = bundle.read(folder::COUNTERSIGN, manifest::LONGEST_FILE) else {
        return;
    };
    countersign_list(bundle, &list);
    let key = signature(bundle, folder::COUNTERSIGNATURE, Role::Lead, &list);
    if let (Some(key), Some(decision)) = (key, decision(bundle, record)) {
        lead(bundle, roster, record, (&key, &decision), technician);
    }
}

fn not_countersigned(bundle: &mut Bundle<'_>, roster: &Roster, record: &Record) {
    if roster.has_other_lead(&record.technician) {
        bundle.found(FindingKind::NotCountersigned, "no lead has countersigned");
    } else {
        let told = "one signature: the roster has nobody else who could countersign";
        bundle.found(FindingKind::OneSignature, told);
    }
}

/// The list that the lead signs names exactly three files.
fn countersign_list(bundle: &mut Bundle<'_>, bytes: &[u8]) {
    let Some(manifest) = bundle.manifest(folder::COUNTERSIGN, bytes) else {
        return;
    };
    let names: Vec<&str> = manifest
        .lines()
        .iter()
        .map(|line| line.name.as_str())
        .collect();
    if names != COUNTERSIGNED {
        let told = format!(
            "COUNTERSIGN.sha256 must list {} and nothing else",
            COUNTERSIGNED.join(", ")
        );
        return bundle.found(FindingKind::ManifestMalformed, told);
    }
    bundle.compare(folder::COUNTERSIGN, &manifest);
}

/// What COUNTERSIGN.sha256 lists, in its order.
pub(in crate::record) const COUNTERSIGNED: [&str; 3] = [
    folder::MANIFEST,
    folder::DECISION,
    folder::TECHNICIAN_SIGNATURE,
];

/// The list that the lead signs, of the bytes of those files.
pub(in crate::record) fn countersign_text(files: [&[u8]; 3]) -> String {
    let lines = COUNTERSIGNED
        .into_iter()
        .zip(files)
        .map(|(name, bytes)| Line {
            sha256: digest::of_bytes(bytes),
            name: name.to_owned(),
        });
    Manifest::of(lines).text()
}

fn decision(bundle: &mut Bundle<'_>, record: &Record) -> Option<Decision> {
    let bytes = bundle.read(folder::DECISION, decision::LONGEST_FILE)?;
    let unreadable = |bundle: &mut Bundle<'_>, why: String| {
        bundle.found(
            FindingKind::DecisionUnreadable,
            format!("decision.json: {why}"),
        );
        None
    };
    match Decision::parse(&bytes) {
        Ok(decision) if decision.job == record.job => Some(decision),
        Ok(decision) => unreadable(bundle, format!("it is about job {}", shown(&decision.job))),
        Err(why) => unreadable(bundle, why),
    }
}

fn lead(
    bundle: &mut Bundle<'_>,
    roster: &Roster,
    record: &Record,
    (key, decision): (&KeyData, &Decision),
    technician: Option<&KeyData>,
) {
    let signer = Signer {
        identity: &decision.name,
        key,
        role: Role::Lead,
        time: time(bundle, "decision.json gives", &decision.time),
    };
    signer.check(bundle, roster, record);
    if decision.name == record.technician || technician == Some(key) {
        let told = "technician and lead are the same person or have the same key; nobody \
                    countersigns their own job";
        bundle.found(FindingKind::SamePerson, told);
    }
    if let (Some(sealed), Some(decided)) = (parsed(&record.sealed), signer.time)
        && decided < sealed
        && !record.simulated_clock
    {
        let told = format!("the lead decided at {decided}, before the job was sealed at {sealed}");
        bundle.found(FindingKind::TimesDisagree, told);
    }
    if decision.decision == Ruling::Returned {
        let reason = decision.reason.as_deref().unwrap_or_default();
        bundle.found(
            FindingKind::Returned,
            format!("the lead returned the job: {}", shown(reason)),
        );
    }
}

/// Somebody who signed.
struct Signer<'a> {
    identity: &'a str,
    key: &'a KeyData,
    role: Role,
    time: Option<DateTime<Utc>>,
}

impl Signer<'_> {
    fn check(&self, bundle: &mut Bundle<'_>, roster: &Roster, record: &Record) {
        let Some(time) = self.time else {
            return;
        };
        match roster.admits(self.identity, self.key, self.role, time) {
            Err(refusal) => {
                let told = format!(
                    "the {}'s signature does not count: {refusal}",
                    self.role.name()
                );
                bundle.found(FindingKind::SignerRefused, told);
            }
            Ok(entry) if entry.is_practice() && record.practice.is_empty() => {
                let told = format!(
                    "the {}'s key signs practice only, and this job counts",
                    self.role.name()
                );
                bundle.found(FindingKind::PracticeKey, told);
            }
            Ok(_) => {}
        }
    }
}

/// Check a signature file; the key that made it, where it fits.
fn signature(bundle: &mut Bundle<'_>, name: &str, role: Role, bytes: &[u8]) -> Option<KeyData> {
    let file = bundle.read(name, sshsig::LONGEST_FILE)?;
    match sshsig::check(&file, role, bytes) {
        Ok(key) => Some(key),
        Err(fault) => {
            bundle.found(FindingKind::SignatureBroken, format!("{name}: {fault}"));
            None
        }
    }
}

fn time(bundle: &mut Bundle<'_>, whose: &str, text: &str) -> Option<DateTime<Utc>> {
    let time = parsed(text);
    if time.is_none() {
        let told = format!("{whose} a time that is none: {}", shown(text));
        bundle.found(FindingKind::TimesDisagree, told);
    }
    time
}

/// A time as records write it (RFC 3339).
pub(in crate::record) fn parsed(text: &str) -> Option<DateTime<Utc>> {
    DateTime::parse_from_rfc3339(text)
        .ok()
        .map(|time| time.to_utc())
}
