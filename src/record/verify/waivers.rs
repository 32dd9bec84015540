//! The waivers of a sealed job: each whole, signed by a lead who may, about this job and bound to a line of
//! its journal; and each step that the journal says was waived has one.

use std::collections::{BTreeMap, BTreeSet};

use super::signatures::{Signer, signature};
use super::{Bundle, FindingKind};
use crate::record::bundle::manifest::shown;
use crate::record::bundle::model::Record;
use crate::record::bundle::waiver::{self, Waiver};
use crate::record::folder::{self, WAIVERS};
use crate::record::moment;
use crate::record::shop::roster::{Role, Roster};
use crate::run::event::Event;
use crate::run::journal::line::Line;

pub(super) fn check(bundle: &mut Bundle<'_>, roster: &Roster, record: &Record) {
    let mut parts: BTreeMap<u32, BTreeSet<bool>> = BTreeMap::new();
    for name in bundle.names_in(WAIVERS) {
        match waiver::numbered(&name) {
            Some((number, is_text)) => {
                parts.entry(number).or_default().insert(is_text);
            }
            None => {
                let told = format!("{} has no place among the waivers", shown(&name));
                bundle.found(FindingKind::WaiverIncomplete, told);
            }
        }
    }
    // A journal that cannot be read has a finding of its own.
    let lines = bundle.journal_lines();
    let mut held = BTreeMap::new();
    for (number, parts) in parts {
        if parts.len() < 2 {
            let told = format!(
                "waivers/{number}.txt and waivers/{number}.sig belong together, one is missing: it waives nothing"
            );
            bundle.found(FindingKind::WaiverUnsigned, told);
        } else if let Some(one) = one(bundle, roster, record, number, &lines) {
            held.insert(waiver::text_file(number), one);
        }
    }
    journal(bundle, &lines, held);
}

/// A waiver whose files fit each other.
struct Held {
    waiver: Waiver,
    /// Whether whoever signed it was a lead then; if not, that was found.
    counts: bool,
}

/// A waiver whose signature fits.
fn one(
    bundle: &mut Bundle<'_>,
    roster: &Roster,
    record: &Record,
    number: u32,
    lines: &[Line],
) -> Option<Held> {
    let name = waiver::text_file(number);
    let text = bundle.read(&name, waiver::LONGEST_FILE)?;
    let key = signature(bundle, &waiver::signature_file(number), Role::Lead, &text);
    let waiver = match Waiver::parse(&text) {
        Ok(waiver) => waiver,
        Err(why) => {
            bundle.found(FindingKind::WaiverUnreadable, format!("{name}: {why}"));
            return None;
        }
    };
    if waiver.job != record.job {
        let told = format!("{name} is about job {}", shown(&waiver.job));
        bundle.found(FindingKind::WaiverDisagrees, told);
    }
    let line = lines.iter().find(|line| line.hash == waiver.journal);
    if line.is_none() {
        let told = format!("{name} names a line of the journal that is not there");
        bundle.found(FindingKind::WaiverDisagrees, told);
    }
    let time = moment::read(&waiver.time);
    let before = line.and_then(|line| moment::read(&line.event.at));
    if !record.simulated_clock && (time < before || time > moment::read(&record.sealed)) {
        let told = format!("{name} was signed outside the time of the job's work");
        bundle.found(FindingKind::TimesDisagree, told);
    }
    if waiver.lead == record.technician {
        let told =
            format!("{name} is signed by the technician; nobody waives steps of their own job");
        bundle.found(FindingKind::SamePerson, told);
    }
    let signer = Signer {
        of: format!("{name} (step {})", shown(&waiver.step)),
        identity: &waiver.lead,
        key: &key?,
        role: Role::Lead,
        time,
    };
    let counts = signer.check(bundle, roster, record);
    Some(Held { waiver, counts })
}

/// Each waived step has its waiver; each waiver that was used is told.
fn journal(bundle: &mut Bundle<'_>, lines: &[Line], mut held: BTreeMap<String, Held>) {
    for line in lines {
        let Event::Waived { step, word } = &line.event.event else {
            continue;
        };
        match held.remove(&word.waiver) {
            Some(Held { waiver, counts }) if waiver.step == *step => {
                if !counts {
                    continue;
                }
                let told = format!(
                    "step {} was waived by {}: {}",
                    shown(&waiver.step),
                    shown(&waiver.lead),
                    shown(&waiver.reason)
                );
                bundle.found(FindingKind::Waived, told);
            }
            _ => {
                let told = format!(
                    "{} line {}: step {} is said to be waived, and no waiver that holds says so",
                    folder::JOURNAL,
                    line.n,
                    shown(step)
                );
                bundle.found(FindingKind::WaiverDisagrees, told);
            }
        }
    }
    for (name, Held { waiver, .. }) in held {
        let told = format!(
            "{name} waives step {}, which was done all the same",
            shown(&waiver.step)
        );
        bundle.found(FindingKind::WaiverUnused, told);
    }
}
