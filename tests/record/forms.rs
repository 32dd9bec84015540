//! The published forms against what is written, and bundles of every form that there ever was.

use std::path::{Path, PathBuf};

use evenfire::record::bundle::model::MeasuredNumber;
use evenfire::record::bundle::schema;
use evenfire::record::folder::JobFolder;
use evenfire::record::shop::roster::Roster;
use evenfire::record::verify::{Against, FindingKind as Kind, Status, verify};
use serde_json::Value;

use crate::bundle::Bundle;
use crate::form::differences;

fn fits(bytes: &[u8], schema: &str) {
    let (value, schema): (Value, Value) = (
        serde_json::from_slice(bytes).unwrap(),
        serde_json::from_str(schema).unwrap(),
    );
    assert_eq!(
        differences(&value, &schema, &schema, ""),
        Vec::<String>::new()
    );
}

#[test]
fn what_is_written_has_the_published_form() {
    let bundle = Bundle::layered();
    fits(&bundle.read("record.json"), schema::RECORD);
    fits(&bundle.read("decision.json"), schema::DECISION);
    fits(&bundle.read("amendments/1/decision.json"), schema::DECISION);
    fits(
        &bundle.read("amendments/1/amendment.json"),
        schema::AMENDMENT,
    );
    let journal: Value = serde_json::from_str(schema::JOURNAL).unwrap();
    for line in bundle.text("journal.jsonl").lines() {
        let mut line: Value = serde_json::from_str(line).unwrap();
        // The members of an event depend on its kind.
        line["ev"]
            .as_object_mut()
            .unwrap()
            .retain(|name, _| name == "at" || name == "event");
        assert_eq!(
            differences(&line, &journal, &journal, ""),
            Vec::<String>::new()
        );
    }
    let number = MeasuredNumber {
        typed: "12,6 V".into(),
        value: "12.6".parse().unwrap(),
        unit: evenfire::quantity::Unit::Volt,
        resolution: "0.1".parse().unwrap(),
        unexpected: false,
    };
    let record: Value = serde_json::from_str(schema::RECORD).unwrap();
    let number = serde_json::to_value(number).unwrap();
    assert_eq!(
        differences(&number, &record["$defs"]["measured"], &record, ""),
        Vec::<String>::new()
    );
}

#[test]
fn the_format_page_names_everything_that_may_lie_there() {
    for name in [
        "record.json",
        "journal.jsonl",
        "procedures/",
        "captures/",
        "attachments/",
        "waivers/N.txt",
        "MANIFEST.sha256",
        "technician.sig",
        "decision.json",
        "COUNTERSIGN.sha256",
        "countersign.sig",
        "amendments/N/",
        "report.html",
        "technician@evenfire",
        "lead@evenfire",
        "evenfire.record/1",
        "evenfire.decision/1",
        "evenfire.amendment/1",
        evenfire::record::bundle::waiver::FIRST_LINE,
    ] {
        assert!(schema::FORMAT.contains(name), "{name}");
    }
}

#[test]
fn newer_forms_are_refused_by_name() {
    for (name, known, newer, kind) in [
        (
            "record.json",
            "evenfire.record/1",
            "evenfire.record/2",
            Kind::RecordTooNew,
        ),
        (
            "decision.json",
            "evenfire.decision/1",
            "evenfire.decision/2",
            Kind::DecisionUnreadable,
        ),
        (
            "amendments/1/amendment.json",
            "evenfire.amendment/1",
            "evenfire.amendment/7",
            Kind::AmendmentUnreadable,
        ),
    ] {
        let bundle = Bundle::layered();
        // More than the schema changes from form to form.
        let text = bundle
            .text(name)
            .replace(known, newer)
            .replacen('{', "{\"unheard_of\": [],", 1);
        bundle.write(name, text);
        let findings = bundle.verify();
        let told = findings.iter().find(|found| found.kind == kind).unwrap();
        assert!(
            told.sentence.contains(newer) && told.sentence.contains("use the version"),
            "{told:?}"
        );
    }
}

fn kept() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/record/kept")
}

/// Bundles that were made when their form was new. They are never made anew: a program that no longer reads
/// one is broken.
#[test]
fn every_form_there_ever_was_is_read() {
    let mut tried = 0;
    for form in std::fs::read_dir(kept()).unwrap() {
        let form = form.unwrap().path();
        let read = |name: &str| std::fs::read_to_string(form.join(name)).unwrap();
        let names = (form.join("allowed_signers"), form.join("revoked"));
        let roster = Roster::parse(
            (&names.0, &read("allowed_signers")),
            (&names.1, &read("revoked")),
        )
        .unwrap();
        let against = Against {
            roster: &roster,
            number: Some("0001"),
            report: &|_, _| String::new(),
        };
        let findings = verify(&JobFolder::at(form.join("jobs/0001")), &against).unwrap();
        let told: Vec<Kind> = findings.iter().map(|found| found.kind).collect();
        assert_eq!(
            told,
            [Kind::WaiverUnused, Kind::Amended, Kind::ReportMissing],
            "{form:?}: {findings:?}"
        );
        assert_eq!(Status::of(&findings), Status::ReportStale);
        tried += 1;
    }
    assert!(tried >= 1);
}

/// Keeps a bundle of the present form, once, when a form changes: `EVENFIRE_KEEP=form-N cargo test --test record
/// keep -- --ignored`.
#[test]
#[ignore = "run by hand when a form changes"]
fn keep_the_present_form() {
    let name = std::env::var("EVENFIRE_KEEP").unwrap();
    let to = kept().join(name);
    let bundle = Bundle::layered();
    std::fs::remove_file(bundle.path("report.html")).unwrap();
    copy(bundle.job.path(), &to.join("jobs/0001"));
    for name in ["allowed_signers", "revoked"] {
        std::fs::copy(bundle.shop.root().join(name), to.join(name)).unwrap();
    }
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}
