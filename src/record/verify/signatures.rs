//! The part of verification that needs the roster: who signed, in which role, and when.

use chrono::{DateTime, Utc};
use ssh_key::public::KeyData;

use super::{Bundle, FindingKind, amendments};
use crate::record::bundle::amendment::Layer;
use crate::record::bundle::decision::{self, Decision, Ruling};
use crate::record::bundle::manifest::{self, Line, Manifest, shown, unquoted};
use crate::record::bundle::model::Record;
use crate::record::digest;
use crate::record::folder;
use crate::record::moment;
use crate::record::shop::roster::{Refusal, Role, Roster};
use crate::record::signing::sshsig;

/// What a signature can stand over: the job or an amendment, and who has signed so far.
#[derive(Debug, Clone)]
pub(in crate::record) struct Over {
    /// Which.
    pub(in crate::record) layer: Layer,
    /// Technicians, each with the key, where the signature fits.
    pub(in crate::record) people: Vec<(String, Option<KeyData>)>,
    /// Time of the last signature.
    pub(in crate::record) since: Option<DateTime<Utc>>,
    /// Digest of the layer's manifest.
    pub(in crate::record) manifest: String,
}

/// Check all signatures from the job upward; the layer on top.
pub(super) fn check(
    bundle: &mut Bundle<'_>,
    roster: &Roster,
    record: &Record,
    manifest: &[u8],
) -> Over {
    let key = technician(bundle, roster, record, manifest);
    let mut over = Over {
        layer: Layer::JOB,
        people: vec![(record.technician.clone(), key)],
        since: moment::read(&record.sealed),
        manifest: digest::of_bytes(manifest),
    };
    let mut decided = countersign(bundle, roster, record, &mut over);
    for layer in amendments::layers(bundle) {
        match amendments::check(bundle, roster, record, layer, &over) {
            Some(next) => over = next,
            None => return over,
        }
        decided = countersign(bundle, roster, record, &mut over);
    }
    conclude(bundle, roster, record, &over, decided);
    over
}

/// Only the decision about the layer on top counts for the whole.
fn conclude(
    bundle: &mut Bundle<'_>,
    roster: &Roster,
    record: &Record,
    over: &Over,
    decided: Decided,
) {
    match decided {
        Decided::Not if record.needs_signatures() => not_countersigned(bundle, roster, over),
        Decided::Not => {}
        Decided::Unclear => {}
        Decided::As(decision) if decision.decision == Ruling::Returned => {
            let reason = decision.reason.as_deref().unwrap_or_default();
            let told = format!(
                "the lead returned {}: {}",
                over.layer.shown(),
                shown(reason)
            );
            bundle.found(FindingKind::Returned, told);
        }
        Decided::As(_) => {}
    }
}

/// What was decided about a layer.
enum Decided {
    Not,
    /// There is something, with a finding.
    Unclear,
    As(Decision),
}

/// The technician's key, where the signature fits.
fn technician(
    bundle: &mut Bundle<'_>,
    roster: &Roster,
    record: &Record,
    manifest: &[u8],
) -> Option<KeyData> {
    if !bundle.has(folder::TECHNICIAN_SIGNATURE) {
        let (kind, told) = match record.needs_signatures() {
            true => (
                FindingKind::NotSigned,
                "the technician has not signed: technician.sig is missing",
            ),
            false => (
                FindingKind::ExerciseUnsigned,
                "nobody has signed this: an exercise need not be signed, and nothing but its word says who did it",
            ),
        };
        bundle.found(kind, told);
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
        of: Layer::JOB.shown(),
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
    over: &mut Over,
) -> Decided {
    let parts = [
        folder::DECISION,
        folder::COUNTERSIGN,
        folder::COUNTERSIGNATURE,
    ]
    .map(|name| over.layer.file(name));
    let there = parts.iter().filter(|name| bundle.has(name)).count();
    if there == 0 {
        return Decided::Not;
    }
    if there < parts.len() || !bundle.has(&over.layer.file(folder::TECHNICIAN_SIGNATURE)) {
        let mut told = "the countersignature is not whole: technician.sig, decision.json, \
                        COUNTERSIGN.sha256 and countersign.sig belong together"
            .to_owned();
        if !bundle.has(&parts[2]) {
            let left = parts.iter().map(String::as_str);
            let left: Vec<&str> = left.filter(|name| bundle.has(name)).collect();
            told += &format!(
                ". {} is missing, so no lead has decided: a countersigning was cut off here, or the signature was taken \
                 away. Look for it in a backup of the shop; where there is none, keep {} outside of the job and countersign \
                 again",
                parts[2],
                left.join(" and ")
            );
        }
        bundle.found(FindingKind::CountersignIncomplete, told);
        return Decided::Unclear;
    }
    let Some(list) = bundle.read(&parts[1], manifest::LONGEST_FILE) else {
        return Decided::Unclear;
    };
    countersign_list(bundle, over.layer, &list);
    let key = signature(bundle, &parts[2], Role::Lead, &list);
    let Some(decision) = decision(bundle, record, &parts[0]) else {
        return Decided::Unclear;
    };
    if let Some(key) = key {
        lead(bundle, roster, record, (&key, &decision), over);
    }
    Decided::As(decision)
}

fn not_countersigned(bundle: &mut Bundle<'_>, roster: &Roster, over: &Over) {
    let others = over
        .people
        .iter()
        .all(|(name, _)| roster.has_other_lead(name, over.since));
    if others {
        let told = match over.layer {
            Layer::JOB => "no lead has countersigned".to_owned(),
            layer => format!("no lead has countersigned {}", layer.shown()),
        };
        bundle.found(FindingKind::NotCountersigned, told);
    } else {
        let told = "one signature: the roster has nobody else who could countersign";
        bundle.found(FindingKind::OneSignature, told);
    }
}

/// The list that the lead signs names exactly three files.
fn countersign_list(bundle: &mut Bundle<'_>, layer: Layer, bytes: &[u8]) {
    let name = layer.file(folder::COUNTERSIGN);
    let Some(manifest) = bundle.manifest(&name, bytes) else {
        return;
    };
    let names: Vec<&str> = manifest
        .lines()
        .iter()
        .map(|line| line.name.as_str())
        .collect();
    let wanted = COUNTERSIGNED.map(|name| layer.file(name));
    if names != wanted {
        let told = format!("{name} must list {} and nothing else", wanted.join(", "));
        return bundle.found(FindingKind::ManifestMalformed, told);
    }
    bundle.compare(&name, &manifest);
}

/// What COUNTERSIGN.sha256 lists, in its order.
pub(in crate::record) const COUNTERSIGNED: [&str; 3] = [
    folder::MANIFEST,
    folder::DECISION,
    folder::TECHNICIAN_SIGNATURE,
];

/// The list that the lead signs over a layer, of the bytes of those files.
pub(in crate::record) fn countersign_text(layer: Layer, files: [&[u8]; 3]) -> String {
    let lines = COUNTERSIGNED
        .into_iter()
        .zip(files)
        .map(|(name, bytes)| Line {
            sha256: digest::of_bytes(bytes),
            name: layer.file(name),
        });
    Manifest::of(lines).text()
}

fn decision(bundle: &mut Bundle<'_>, record: &Record, name: &str) -> Option<Decision> {
    let bytes = bundle.read(name, decision::LONGEST_FILE)?;
    let why = match Decision::parse(&bytes) {
        Ok(decision) if decision.job == record.job => return Some(decision),
        Ok(decision) => format!("it is about job {}", shown(&decision.job)),
        Err(why) => why,
    };
    bundle.found(FindingKind::DecisionUnreadable, format!("{name}: {why}"));
    None
}

fn lead(
    bundle: &mut Bundle<'_>,
    roster: &Roster,
    record: &Record,
    (key, decision): (&KeyData, &Decision),
    over: &mut Over,
) {
    let signer = Signer {
        of: over.layer.shown(),
        identity: &decision.name,
        key,
        role: Role::Lead,
        time: time(bundle, "decision.json gives", &decision.time),
    };
    signer.check(bundle, roster, record);
    let is_own = |(name, own): &(String, Option<KeyData>)| {
        *name == decision.name || own.as_ref() == Some(key)
    };
    if over.people.iter().any(is_own) {
        let told = "technician and lead are the same person or have the same key; nobody \
                    countersigns their own job";
        bundle.found(FindingKind::SamePerson, told);
    }
    if let (Some(signed), Some(decided)) = (over.since, signer.time)
        && decided < signed
        && !record.simulated_clock
    {
        let told = match over.layer {
            Layer::JOB => {
                format!("the lead decided at {decided}, before the job was sealed at {signed}")
            }
            layer => {
                let shown = layer.shown();
                format!("the lead decided at {decided}, before {shown} was signed at {signed}")
            }
        };
        bundle.found(FindingKind::TimesDisagree, told);
    }
    over.since = signer.time.max(over.since);
}

/// How a key can be meant that the roster does not have: only the job's word says whose it is.
fn gone(identity: &str) -> String {
    format!(
        ". The job says that it is {}'s: whoever leaves, or takes another key, keeps the old line; put their line back, \
         with the end of the key in it (valid-before)",
        unquoted(identity)
    )
}

/// Somebody who signed.
pub(super) struct Signer<'a> {
    /// What was signed, as it stands in sentences.
    pub(super) of: String,
    pub(super) identity: &'a str,
    pub(super) key: &'a KeyData,
    pub(super) role: Role,
    pub(super) time: Option<DateTime<Utc>>,
}

impl Signer<'_> {
    /// Judged by the roster at the time of signing; whether the signature counts.
    pub(super) fn check(&self, bundle: &mut Bundle<'_>, roster: &Roster, record: &Record) -> bool {
        let Some(time) = self.time else {
            return false;
        };
        match roster.admits(self.identity, self.key, self.role, time) {
            Err(refusal) => {
                let remedy = match refusal {
                    Refusal::Unknown { .. } => gone(self.identity),
                    _ => String::new(),
                };
                let told = format!(
                    "the {}'s signature of {} does not count: {refusal}{remedy}",
                    self.role.name(),
                    self.of
                );
                let kind = match refusal {
                    Refusal::Revoked { .. } => FindingKind::KeyRevoked,
                    _ => FindingKind::SignerRefused,
                };
                bundle.found(kind, told);
                false
            }
            Ok(entry) if entry.is_practice() && !record.is_practice() => {
                let told = format!(
                    "the {}'s key signs practice only, and this job counts",
                    self.role.name()
                );
                bundle.found(FindingKind::PracticeKey, told);
                false
            }
            Ok(_) => true,
        }
    }
}

/// Check a signature file; the key that made it, where it fits.
pub(super) fn signature(
    bundle: &mut Bundle<'_>,
    name: &str,
    role: Role,
    bytes: &[u8],
) -> Option<KeyData> {
    let file = bundle.read(name, sshsig::LONGEST_FILE)?;
    match sshsig::check(&file, role, bytes) {
        Ok(key) => Some(key),
        Err(fault) => {
            bundle.found(FindingKind::SignatureBroken, format!("{name}: {fault}"));
            None
        }
    }
}

/// A time that the bundle gives; what is none is found.
pub(super) fn time(bundle: &mut Bundle<'_>, whose: &str, text: &str) -> Option<DateTime<Utc>> {
    let time = moment::read(text);
    if time.is_none() {
        let told = format!("{whose} a time that is none: {}", shown(text));
        bundle.found(FindingKind::TimesDisagree, told);
    }
    time
}
