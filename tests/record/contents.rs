//! Ways to be wrong in files, manifest, record and journal. Where the manifest itself is changed, both
//! people sign it again, so that only its form is wrong.

use evenfire::record::folder;
use evenfire::record::verify::FindingKind as Kind;
use evenfire::run::event::Event;

use crate::bundle::{Bundle, LEAD, SEALED};
use crate::journal;
use crate::way::*;

const WAYS: &[Way] = &[
    // Files.
    way(
        "a file is added",
        |b| b.write("notes.txt", "x"),
        &[Kind::FileUnlisted],
        BOTH_PASS,
    ),
    way(
        "a capture is added",
        |b| b.write("captures/2.csv", "x"),
        &[Kind::FileUnlisted],
        BOTH_PASS,
    ),
    way(
        "a hidden file is added",
        |b| b.write(".x", "x"),
        &[Kind::FileUnlisted],
        BOTH_PASS,
    ),
    way(
        "a capture is removed",
        |b| remove(b, "captures/1.csv"),
        &[Kind::FileMissing],
        SUM_FAILS,
    ),
    way(
        "a capture is a link",
        capture_is_link,
        &[Kind::OddEntry, Kind::FileMissing],
        BOTH_PASS,
    ),
    way(
        "a folder is a link",
        folder_is_link,
        &[Kind::OddEntry, Kind::FileMissing, Kind::FileMissing],
        BOTH_PASS,
    ),
    // Manifests that both signed again, so that only their form is wrong.
    way(
        "a name climbs out",
        |b| list(b, |t| add(t, "zz/../../../policy.yaml")),
        MALFORMED,
        SUM_FAILS,
    ),
    way(
        "a name is absolute",
        |b| list(b, |t| format!("{}{t}", of(b"", "/dev/null"))),
        MALFORMED,
        BOTH_PASS,
    ),
    way(
        "a name is given twice",
        |b| list(b, |t| format!("{}\n{t}", t.lines().next().unwrap())),
        MALFORMED,
        BOTH_PASS,
    ),
    way(
        "digests in capitals",
        |b| list(b, capitals),
        MALFORMED,
        BOTH_PASS,
    ),
    way(
        "the report is listed",
        report_is_listed,
        &[Kind::ManifestMalformed],
        BOTH_PASS,
    ),
    way(
        "the journal is not listed",
        |b| list(b, |t| without(t, "journal")),
        &[Kind::FileUnlisted, Kind::NotListed],
        BOTH_PASS,
    ),
    way(
        "a capture is not listed",
        |b| list(b, |t| without(t, "1.csv")),
        &[Kind::FileUnlisted, Kind::NotListed],
        BOTH_PASS,
    ),
    way(
        "the manifest is removed",
        |b| remove(b, folder::MANIFEST),
        &[Kind::ManifestMissing],
        BOTH_FAIL,
    ),
    // Record and journal, listed and signed again.
    way(
        "the record is of a newer form",
        |b| record(b, |r| r.schema = "evenfire.record/2".into()),
        &[Kind::RecordTooNew],
        BOTH_PASS,
    ),
    way(
        "the record is no record",
        record_is_none,
        &[Kind::Unreadable],
        BOTH_PASS,
    ),
    way(
        "the record has another head",
        |b| record(b, |r| r.journal_head = "0".repeat(64)),
        &[Kind::RecordDisagrees],
        BOTH_PASS,
    ),
    way(
        "the record has other lines",
        |b| record(b, |r| r.journal_lines = 3),
        &[Kind::RecordDisagrees],
        BOTH_PASS,
    ),
    way(
        "the record has another job",
        |b| record(b, |r| r.job = "0002".into()),
        &[
            Kind::WrongPlace,
            Kind::RecordDisagrees,
            Kind::DecisionUnreadable,
        ],
        BOTH_PASS,
    ),
    way(
        "the record has another capture",
        |b| record(b, |r| r.captures[0].file.sha256 = "0".repeat(64)),
        &[Kind::RecordDisagrees, Kind::RecordDisagrees],
        BOTH_PASS,
    ),
    way(
        "a journal line is changed",
        journal_is_changed,
        &[Kind::JournalBroken],
        BOTH_PASS,
    ),
    way(
        "the journal does not end",
        journal_does_not_end,
        &[Kind::JournalBroken],
        BOTH_PASS,
    ),
    way(
        "the journal has a torn end",
        |b| {
            b.write(folder::JOURNAL, b.text(folder::JOURNAL) + "{\"n\":5");
            b.sign_all_again();
        },
        &[Kind::JournalBroken],
        BOTH_PASS,
    ),
    way(
        "the record has another technician",
        |b| record(b, |r| r.technician = LEAD.into()),
        &[Kind::RecordDisagrees, Kind::SignerRefused, Kind::SamePerson],
        BOTH_PASS,
    ),
    way(
        "the record has another finding",
        |b| record(b, |r| r.outcome.finding = "Cylinder 2 is low.".into()),
        &[Kind::RecordDisagrees],
        BOTH_PASS,
    ),
    way(
        "the record leaves a capture out",
        |b| record(b, |r| r.captures.clear()),
        &[Kind::RecordDisagrees],
        BOTH_PASS,
    ),
    way(
        "the record was sealed later",
        |b| record(b, |r| r.sealed = "2026-03-02T10:16:00Z".into()),
        &[Kind::RecordDisagrees],
        BOTH_PASS,
    ),
];

const MALFORMED: &[Kind] = &[Kind::ManifestMalformed];

#[test]
fn every_way_is_found() {
    try_all(WAYS);
}

fn add(text: String, name: &str) -> String {
    text + &of(b"", name)
}

fn capitals(text: String) -> String {
    text.lines()
        .map(|line| format!("{}{}\n", line[..64].to_uppercase(), &line[64..]))
        .collect()
}

fn list(bundle: &Bundle, edit: impl Fn(String) -> String) {
    bundle.write(folder::MANIFEST, edit(bundle.text(folder::MANIFEST)));
    bundle.sign_again();
}

fn report_is_listed(bundle: &mut Bundle) {
    let line = of(&bundle.read(folder::REPORT), folder::REPORT);
    list(bundle, |text| text + &line);
}

fn record(bundle: &mut Bundle, edit: impl Fn(&mut evenfire::record::bundle::model::Record)) {
    bundle.edit_record(edit);
    bundle.sign_all_again();
}

fn record_is_none(bundle: &mut Bundle) {
    bundle.write(folder::RECORD, "{\"schema\": \"evenfire.record/1\"}");
    bundle.sign_all_again();
}

fn journal_is_changed(bundle: &mut Bundle) {
    bundle.write(
        folder::JOURNAL,
        bundle
            .text(folder::JOURNAL)
            .replace("Quiet Lane", "Sunny Lane"),
    );
    bundle.sign_all_again();
}

fn journal_does_not_end(bundle: &mut Bundle) {
    let first = bundle
        .text(folder::JOURNAL)
        .lines()
        .next()
        .unwrap()
        .to_owned();
    let opened = first
        .split_once("\"ev\":")
        .unwrap()
        .1
        .strip_suffix('}')
        .unwrap()
        .to_owned();
    let opened: evenfire::run::event::Stamped = serde_json::from_str(&opened).unwrap();
    let events = [opened.event, Event::Resumed { lapsed: Vec::new() }];
    let (text, head) = journal::text(events.map(|event| (SEALED, event)));
    bundle.write(folder::JOURNAL, text);
    record(bundle, |record| record.journal_head.clone_from(&head));
}

#[cfg(unix)]
fn capture_is_link(bundle: &mut Bundle) {
    let elsewhere = bundle.folder.path().join("elsewhere.csv");
    std::fs::rename(bundle.path("captures/1.csv"), &elsewhere).unwrap();
    std::os::unix::fs::symlink(elsewhere, bundle.path("captures/1.csv")).unwrap();
}

#[cfg(unix)]
fn folder_is_link(bundle: &mut Bundle) {
    let elsewhere = bundle.folder.path().join("elsewhere");
    std::fs::rename(bundle.path("captures"), &elsewhere).unwrap();
    std::os::unix::fs::symlink(elsewhere, bundle.path("captures")).unwrap();
}
