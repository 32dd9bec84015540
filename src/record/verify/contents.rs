//! The part of verification that needs no key: manifest, files, record and journal fit each other.

use super::{Against, Bundle, Contents, FindingKind, journal};
use crate::record::bundle::amendment::Layer;
use crate::record::bundle::manifest::{self, Manifest, shown, unquoted};
use crate::record::bundle::model::{Record, SCHEMA};
use crate::record::bundle::versions;
use crate::record::folder;

/// Longest file that a manifest may list, bytes: far beyond a capture of a quarter of an hour. A
/// longer one would keep whoever verifies waiting for nothing.
pub(super) const LONGEST_LISTED: u64 = 2 * 1024 * 1024 * 1024;

/// Check a bundle's contents. Nothing where it is not sealed, or has no manifest to hold it against.
pub(super) fn check(bundle: &mut Bundle<'_>, against: &Against<'_>) -> Option<Contents> {
    for odd in bundle.inventory.odd.clone() {
        bundle.found(
            FindingKind::OddEntry,
            format!("{odd}; a bundle holds plain files only"),
        );
    }
    if !bundle.has(folder::MANIFEST) {
        no_manifest(bundle);
        return None;
    }
    let bytes = bundle.read(folder::MANIFEST, manifest::LONGEST_FILE)?;
    let manifest = bundle.manifest(folder::MANIFEST, &bytes)?;
    bundle.compare(folder::MANIFEST, &manifest);
    listed(bundle, &manifest);
    let record = record(bundle, against);
    if let Some(record) = &record {
        listed_by_record(bundle, record, &manifest);
        journal_of(bundle, record);
    }
    Some(Contents {
        manifest: bytes,
        record,
    })
}

fn no_manifest(bundle: &mut Bundle<'_>) {
    let under: Vec<&str> = folder::UNLISTED
        .into_iter()
        .filter(|name| *name != folder::REPORT && bundle.has(name))
        .collect();
    if under.is_empty() {
        bundle.found(
            FindingKind::NotSealed,
            "the job is not sealed: it has no MANIFEST.sha256 yet",
        );
    } else {
        let told = format!(
            "MANIFEST.sha256 is missing, but {} is there",
            under.join(", ")
        );
        bundle.found(FindingKind::ManifestMissing, told);
    }
}

/// Every file is listed, nothing is listed that has no place in a manifest, and what must be is.
fn listed(bundle: &mut Bundle<'_>, manifest: &Manifest) {
    for name in bundle.inventory.files.clone().into_keys() {
        // Whose layer is an amendment's is held against that one's manifest.
        let is_amendments = Layer::of(&name).is_some_and(|(layer, _)| layer != Layer::JOB);
        let is_unlisted = folder::UNLISTED.contains(&name.as_str());
        if manifest.digest(&name).is_none() && !is_unlisted && !is_amendments {
            let (kind, told) = if is_left_behind(&name) {
                let place = bundle.job.file(&name);
                let place = shown(&place.to_string_lossy());
                let told =
                    "was left by a file manager or an editor and is in no manifest: delete it";
                (FindingKind::FileLeftBehind, format!("{place} {told}"))
            } else {
                let told = "is in the folder and in no manifest";
                (
                    FindingKind::FileUnlisted,
                    format!("{} {told}", shown(&name)),
                )
            };
            bundle.found(kind, told);
        }
    }
    for line in manifest
        .lines()
        .iter()
        .filter(|line| !folder::is_listed(&line.name))
    {
        let told = format!(
            "MANIFEST.sha256 lists {}, which has no place in it",
            shown(&line.name)
        );
        bundle.found(FindingKind::ManifestMalformed, told);
    }
    for name in [folder::RECORD, folder::JOURNAL] {
        if manifest.digest(name).is_none() {
            bundle.found(
                FindingKind::NotListed,
                format!("MANIFEST.sha256 does not list {name}"),
            );
        }
    }
}

/// Whether programs that only look at a folder leave files of that name: views of a file manager, an editor's
/// backups, locks and swap files. From memory; a name proves nothing, so the job is not sound all the same.
fn is_left_behind(name: &str) -> bool {
    const NAMES: [&str; 5] = [
        ".ds_store",
        "thumbs.db",
        "desktop.ini",
        ".directory",
        "ehthumbs.db",
    ];
    let name = name.rsplit('/').next().unwrap_or(name).to_lowercase();
    let wrapped = |first: &str, last: &str| name.starts_with(first) && name.ends_with(last);
    NAMES.contains(&name.as_str())
        || name.starts_with("._")
        || name.starts_with(".#")
        || name.starts_with(".~lock.")
        || name.ends_with('~')
        || wrapped("#", "#")
        || wrapped(".", ".swp")
}

fn record(bundle: &mut Bundle<'_>, against: &Against<'_>) -> Option<Record> {
    if !bundle.has(folder::RECORD) {
        return None;
    }
    let bytes = bundle.read(folder::RECORD, folder::LONGEST_TEXT)?;
    // The schema first: a newer form may have anything else in it.
    if let Err(told) = versions::known(&bytes, SCHEMA) {
        bundle.found(FindingKind::RecordTooNew, format!("record.json: {told}"));
        return None;
    }
    match serde_json::from_slice::<Record>(&bytes) {
        Ok(record) => {
            place(bundle, against, &record);
            Some(record)
        }
        Err(fault) => {
            bundle.found(FindingKind::Unreadable, format!("record.json: {fault}"));
            None
        }
    }
}

fn place(bundle: &mut Bundle<'_>, against: &Against<'_>, record: &Record) {
    if let Some(number) = against.number
        && number != record.job
    {
        let told = format!(
            "this is job {}, lying under the number {number}",
            shown(&record.job)
        );
        bundle.found(FindingKind::WrongPlace, told);
    }
    if record.is_practice() {
        let why: Vec<String> = record.practice.iter().map(|why| unquoted(why)).collect();
        bundle.found(
            FindingKind::Practice,
            format!("this job is practice: {}", why.join("; ")),
        );
    }
}

fn listed_by_record(bundle: &mut Bundle<'_>, record: &Record, manifest: &Manifest) {
    for (name, sha256) in record.files() {
        match manifest.digest(name) {
            Some(listed) if listed == sha256 => {}
            Some(_) => {
                let told = format!(
                    "record.json and MANIFEST.sha256 give {} different digests",
                    shown(name)
                );
                bundle.found(FindingKind::RecordDisagrees, told);
            }
            None => {
                let told = format!(
                    "record.json names {}, which MANIFEST.sha256 does not list",
                    shown(name)
                );
                bundle.found(FindingKind::NotListed, told);
            }
        }
    }
}

fn journal_of(bundle: &mut Bundle<'_>, record: &Record) {
    if !bundle.has(folder::JOURNAL) {
        return;
    }
    let Some(bytes) = bundle.read(folder::JOURNAL, folder::LONGEST_TEXT) else {
        return;
    };
    match journal::disagreements(record, &bytes) {
        Err(why) => bundle.found(FindingKind::JournalBroken, why),
        Ok(told) => {
            for sentence in told {
                bundle.found(FindingKind::RecordDisagrees, sentence);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_file_manager_or_an_editor_leaves_is_known_by_name() {
        for name in [
            ".DS_Store",
            "captures/Thumbs.db",
            "report.html~",
            "captures/._1.csv",
            "#record.json#",
            ".record.json.swp",
        ] {
            assert!(is_left_behind(name), "{name}");
        }
        for name in ["notes.txt", "captures/3.csv", "swp", "report.htm", "#1"] {
            assert!(!is_left_behind(name), "{name}");
        }
    }
}
