//! Sealing, signing and countersigning: what is written, and when it is refused.

use evenfire::cranking::answer::Drawing;
use evenfire::record::bundle::decision::Ruling;
use evenfire::record::bundle::model::Record;
use evenfire::record::bundle::seal::seal;
use evenfire::record::digest;
use evenfire::record::error::RecordError;
use evenfire::record::folder;
use evenfire::record::shop::roster::{PRACTICE_MARK, Role, line};
use evenfire::record::signing::{countersign, sign};
use ssh_key::PrivateKey;

use crate::bundle::{Bundle, DECIDED, LEAD, SEALED, TECHNICIAN, work};

fn refused<T>(outcome: Result<T, RecordError>) -> String {
    match outcome {
        Ok(_) => panic!("it was not refused"),
        Err(refusal) => refusal.to_string(),
    }
}

fn sign_with(bundle: &Bundle, key: &PrivateKey) -> Result<Record, RecordError> {
    let roster = bundle.roster();
    sign(&bundle.job, &bundle.against(&roster), key)
}

fn decide(
    bundle: &Bundle,
    key: &PrivateKey,
    ruling: Ruling,
    reason: Option<&str>,
    at: &str,
) -> Result<(), RecordError> {
    let roster = bundle.roster();
    let now = at.parse().unwrap();
    countersign(
        &bundle.job,
        &bundle.against(&roster),
        key,
        (ruling, reason),
        now,
    )
    .map(|_| ())
}

fn accept(bundle: &Bundle, key: &PrivateKey) -> Result<(), RecordError> {
    decide(bundle, key, Ruling::Accepted, None, DECIDED)
}

fn drawing(value: f64) -> Drawing {
    let text = r#"{"label": "voltage", "unit": "V", "trace": [[0, 0]], "window": [0, 1], "firings": [], "references": []}"#;
    let mut drawing: Drawing = serde_json::from_str(text).unwrap();
    drawing.trace[0].1 = value;
    drawing
}

#[test]
fn a_seal_lists_everything_and_is_made_once() {
    let mut bundle = Bundle::worked();
    bundle.write("journal.torn-1", "{\"n\":");
    bundle.record = seal(&bundle.shop, &bundle.job, &bundle.record).unwrap();
    let manifest = bundle.text(folder::MANIFEST);
    let names: Vec<&str> = manifest.lines().map(|line| &line[66..]).collect();
    let listed = [
        "captures/1.csv",
        "captures/1.setup.yaml",
        "journal.jsonl",
        "journal.torn-1",
        "procedures/look.yaml",
        "record.json",
    ];
    assert_eq!(names, listed);
    let again = refused(seal(&bundle.shop, &bundle.job, &bundle.record));
    assert!(again.contains("sealed already"), "{again}");
    assert_eq!(bundle.text(folder::MANIFEST), manifest);
}

#[test]
fn a_seal_that_was_cut_off_goes_on() {
    let bundle = Bundle::worked();
    bundle.write(folder::RECORD, bundle.record.text().unwrap());
    seal(&bundle.shop, &bundle.job, &bundle.record).unwrap();
    let other = Bundle::worked();
    other.write(folder::RECORD, "{}");
    let told = refused(seal(&other.shop, &other.job, &other.record));
    assert!(told.contains("move it away"), "{told}");
    assert_eq!(other.text(folder::RECORD), "{}");
    assert!(!other.path(folder::MANIFEST).exists());
}

#[test]
fn nothing_is_sealed_that_would_not_hold() {
    type Spoil = fn(&mut Bundle);
    let ways: [(Spoil, &str); 10] = [
        (|b| b.write("notes.txt", "x"), "does not belong"),
        (|b| b.write("captures/a\u{7}.csv", "x"), "give it a name"),
        (|b| b.write("captures/1.csv", "x"), "changed since"),
        (
            |b| std::fs::remove_file(b.path("captures/1.csv")).unwrap(),
            "is missing",
        ),
        (
            |b| std::fs::remove_file(b.path(folder::JOURNAL)).unwrap(),
            "is missing",
        ),
        (
            |b| std::os::unix::fs::symlink("/", b.path("attachments")).unwrap(),
            "a link",
        ),
        (|b| b.record.job = "0002".into(), "job 0002"),
        (|b| b.record.journal_lines = 3, "different numbers of lines"),
        (
            |b| b.write(folder::JOURNAL, ""),
            "does not end with `sealed`",
        ),
        (
            |b| b.record.captures[0].drawing = Some(drawing(f64::NAN)),
            "would not read back",
        ),
    ];
    for (spoil, told) in ways {
        let mut bundle = Bundle::worked();
        spoil(&mut bundle);
        let refusal = refused(seal(&bundle.shop, &bundle.job, &bundle.record));
        assert!(refusal.contains(told), "{refusal}");
        assert!(!bundle.path(folder::RECORD).exists() && !bundle.path(folder::MANIFEST).exists());
    }
}

#[test]
fn each_job_that_counts_names_the_one_sealed_before() {
    let first = Bundle::sealed();
    assert_eq!(first.record.previous, None);
    let job = |practice: &[&str]| {
        let job = first.shop.new_job().unwrap();
        let record = work(&job, practice.iter().map(|why| (*why).to_owned()).collect());
        (job, record)
    };
    let manifest = |job: &folder::JobFolder| digest::of_file(&job.file(folder::MANIFEST)).unwrap();
    // Begun first, sealed last: what counts is the order of the seals.
    let (slow, slow_record) = job(&[]);
    let (practice, practice_record) = job(&["answers from a file"]);
    let sealed = seal(&first.shop, &practice, &practice_record).unwrap();
    assert_eq!(sealed.previous, None);
    let (second, second_record) = job(&[]);
    let sealed = seal(&first.shop, &second, &second_record).unwrap();
    assert_eq!(sealed.previous, Some(manifest(&first.job)));
    let sealed = seal(&first.shop, &slow, &slow_record).unwrap();
    assert_eq!(sealed.previous, Some(manifest(&second)));
    let text = std::fs::read_to_string(slow.file(folder::RECORD)).unwrap();
    assert_eq!(serde_json::from_str::<Record>(&text).unwrap(), sealed);
}

#[test]
fn only_the_technician_signs() {
    let bundle = Bundle::sealed();
    let stranger = refused(sign_with(&bundle, &bundle.stranger));
    assert!(stranger.contains("not in the roster"), "{stranger}");
    let lead = refused(sign_with(&bundle, &bundle.lead));
    assert!(lead.contains(LEAD) && lead.contains(TECHNICIAN), "{lead}");
    assert!(!bundle.path(folder::TECHNICIAN_SIGNATURE).exists());
    sign_with(&bundle, &bundle.technician).unwrap();
    let again = refused(sign_with(&bundle, &bundle.technician));
    assert!(again.contains("signed already"), "{again}");
}

#[test]
fn nothing_is_signed_that_does_not_hold() {
    let unsealed = Bundle::worked();
    let told = refused(sign_with(&unsealed, &unsealed.technician));
    assert!(told.contains("not sealed"), "{told}");
    let changed = Bundle::sealed();
    changed.write("captures/1.csv", "x");
    let told = refused(sign_with(&changed, &changed.technician));
    assert!(told.contains("captures/1.csv"), "{told}");
    let revoked = Bundle::sealed();
    let key = revoked.technician.public_key().to_openssh().unwrap();
    std::fs::write(revoked.shop.revoked_file(), key).unwrap();
    let told = refused(sign_with(&revoked, &revoked.technician));
    assert!(told.contains("revoked"), "{told}");
    let practice = Bundle::sealed();
    practice.edit_roster(|text| {
        text.replace(&format!(" {TECHNICIAN}\n"), &format!(" {PRACTICE_MARK}\n"))
    });
    let told = refused(sign_with(&practice, &practice.technician));
    assert!(told.contains("practice key"), "{told}");
}

#[test]
fn nobody_countersigns_their_own_job() {
    let bundle = Bundle::signed();
    let told = refused(accept(&bundle, &bundle.technician));
    assert!(told.contains("another person"), "{told}");
    // Not even where the roster lets them lead, nor with a second key of theirs.
    let own = line::text(TECHNICIAN, Role::Lead, bundle.technician.public_key());
    let second = line::text(TECHNICIAN, Role::Lead, bundle.stranger.public_key());
    bundle.edit_roster(|text| text + &own + &second);
    for key in [&bundle.technician, &bundle.stranger] {
        let told = refused(accept(&bundle, key));
        assert!(told.contains("another person"), "{told}");
    }
    assert!(!bundle.path(folder::DECISION).exists());
}

#[test]
fn only_a_lead_countersigns_and_only_what_is_signed() {
    let unsigned = Bundle::sealed();
    assert!(refused(accept(&unsigned, &unsigned.lead)).contains("technician.sig"));
    let bundle = Bundle::signed();
    let told = refused(accept(&bundle, &bundle.stranger));
    assert!(told.contains("not in the roster"), "{told}");
    let told = refused(decide(
        &bundle,
        &bundle.lead,
        Ruling::Returned,
        Some(" "),
        DECIDED,
    ));
    assert!(told.contains("reason"), "{told}");
    let told = refused(decide(
        &bundle,
        &bundle.lead,
        Ruling::Accepted,
        None,
        "2026-03-02T10:00:00Z",
    ));
    assert!(told.contains(SEALED), "{told}");
    let other = line::text("ann", Role::Technician, bundle.stranger.public_key());
    bundle.edit_roster(|text| text + &other);
    let told = refused(accept(&bundle, &bundle.stranger));
    assert!(told.contains("as lead"), "{told}");
    assert!(!bundle.path(folder::DECISION).exists());
    accept(&bundle, &bundle.lead).unwrap();
    let told = refused(accept(&bundle, &bundle.lead));
    assert!(told.contains("countersigned already"), "{told}");
}

#[test]
fn a_countersigning_that_was_cut_off_is_never_written_over() {
    let bundle = Bundle::signed();
    bundle.write(folder::DECISION, "{}");
    let told = refused(accept(&bundle, &bundle.lead));
    assert!(told.contains("move it away"), "{told}");
    assert_eq!(bundle.text(folder::DECISION), "{}");
}
