use super::*;
use crate::record::bundle::amendment::Amendment;
use crate::record::bundle::decision::Decision;
use crate::record::bundle::signed::{Signature, fingerprint};
use crate::record::example;

fn record() -> Record {
    let mut record = example::record();
    let odometer = record.lines["odometer"].clone();
    let mut entry = record.path[0].clone();
    entry.step = "intake/odometer".to_owned();
    entry.superseded = false;
    entry.answered = format!("{odometer} (typed: 92 088 miles)");
    record.path.push(entry);
    record.untold = vec!["complaint".to_owned()];
    record
}

#[test]
fn a_line_is_named_by_itself_and_by_its_step() {
    let record = record();
    for text in [
        "odometer",
        "The odometer",
        "intake/odometer",
        "step intake/odometer, two digits",
    ] {
        assert_eq!(lines(&record, text), ["odometer"], "{text}");
    }
    let mut other = record.clone();
    other.path.last_mut().unwrap().step = "leak-test/which".to_owned();
    assert_eq!(
        lines(&other, "leak-test/which"),
        [""; 0],
        "the same number by chance"
    );
    let both = lines(&record, "vehicle identity and complaint");
    assert_eq!(both, ["vehicle identity", "complaint"]);
    for text in ["odometers", "odo", "gauge", "intake/odometer-2", "vehicles"] {
        assert_eq!(lines(&record, text), [""; 0], "{text}");
    }
}

#[test]
fn what_is_not_there_is_not_named() {
    let record = record();
    let folder = tempfile::tempdir().unwrap();
    let job = JobFolder::at(folder.path());
    std::fs::create_dir(job.file("captures")).unwrap();
    std::fs::write(job.file("captures/1.csv"), "x").unwrap();
    let named = |text: &str| named(&record, &job, text);
    assert_eq!(
        named("captures/1.csv"),
        [Named::File("captures/1.csv".into())]
    );
    assert_eq!(named("the whole job"), [Named::Job]);
    assert_eq!(
        named("intake/odometer"),
        [Named::Step("intake/odometer".into())]
    );
    for text in ["captures/9.csv", "odo", "../x", "gauge", "jobs"] {
        assert_eq!(named(text), [], "{text}");
    }
    let odometer = record.lines["odometer"].as_str();
    assert_eq!(meant(&record, "odo"), Some(("odometer", Some(odometer))));
    assert_eq!(
        meant(&record, "odmeter"),
        Some(("odometer", Some(odometer)))
    );
    assert_eq!(meant(&record, "captures/9.csv"), None);
    let exact = |text: &str| is_exact(&record, &job, text);
    for text in [
        "odometer",
        "the whole job",
        "step intake/odometer",
        "captures/1.csv and odometer",
    ] {
        assert!(exact(text), "{text}");
    }
    for text in [
        "odometer nonsense",
        "odometer; evenfire amend",
        "intake/odometer x",
        "job 4",
        "",
    ] {
        assert!(!exact(text), "{text}");
    }
}

/// An amendment of the identity, by jo with the first key, decided by kim with the second one.
fn amended(decision: Option<Ruling>) -> Signed {
    let by = |identity: &str, key: &str| Signature {
        identity: identity.into(),
        time: "2026-03-02T10:00:00Z".into(),
        fingerprint: fingerprint(ssh_key::PublicKey::from_openssh(key).unwrap().key_data()),
    };
    let decided = |decision| Decision {
        schema: String::new(),
        job: "0001".into(),
        decision,
        reason: None,
        name: "kim".into(),
        time: "2026-03-02T11:00:00Z".into(),
    };
    let amendment = Amendment {
        schema: String::new(),
        job: "0001".into(),
        number: 1,
        corrects: "vehicle identity".into(),
        adds: "EX 9".into(),
        reason: "Misread.".into(),
        name: "jo".into(),
        time: "2026-03-02T10:00:00Z".into(),
        previous: String::new(),
    };
    let amended = Amended {
        amendment,
        signature: by("jo", ONE),
        lead: decision.map(|own| (by("kim", TWO), decided(own))),
    };
    Signed {
        amendments: vec![amended],
        ..Signed::default()
    }
}

// RFC 8032 section 7.1, tests 1 and 2: the public keys, in OpenSSH's encoding.
const ONE: &str =
    "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAINdamAGCsQq31Uv+08lkBzoO4XLz2qYjJa8CGmj3B1Ea";
const TWO: &str =
    "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAID1AF8PoQ4lakrcKp00bfrycmCzPLsSWjMDNVfEq9GYM";

#[test]
fn an_identity_is_amended_by_keys_that_count_and_by_whoever_is_alone() {
    let both = "technician@evenfire,lead@evenfire";
    let alone = format!("jo namespaces=\"{both}\" {ONE}\n");
    let two = format!("{alone}kim namespaces=\"lead@evenfire\" {TWO}\n");
    let (accepted, returned) = (Some(Ruling::Accepted), Some(Ruling::Returned));
    for (decision, lines, revoked, counts) in [
        (accepted, &two, "", true),
        (returned, &two, "", false),
        (None, &two, "", false),
        (accepted, &two, ONE, false),
        (accepted, &two, TWO, false),
        (None, &alone, "", true),
        (None, &alone, ONE, false),
    ] {
        let at = |name| std::path::Path::new(name);
        let roster = Roster::parse((at("signers"), lines), (at("revoked"), revoked)).unwrap();
        let read = identity(&record(), &amended(decision), &roster);
        let told = format!("{decision:?} {lines} {revoked}");
        assert_eq!(read.as_deref() == Some("EX 9"), counts, "{told}");
        let once = identity_once_accepted(&record(), &amended(decision), &roster);
        let may_count = revoked != ONE && decision != returned;
        assert_eq!(once.as_deref() == Some("EX 9"), may_count, "{told}");
    }
}

/// What was returned corrects nothing, whatever is accepted after it; what waited when something was accepted does.
#[test]
fn what_was_returned_stays_so() {
    let lines = format!(
        "jo namespaces=\"technician@evenfire,lead@evenfire\" {ONE}\nkim namespaces=\"lead@evenfire\" {TWO}\n"
    );
    let at = |name| std::path::Path::new(name);
    let roster = Roster::parse((at("signers"), &lines), (at("revoked"), "")).unwrap();
    for (first, counts) in [(Some(Ruling::Returned), false), (None, true)] {
        let mut signed = amended(first);
        let mut second = amended(Some(Ruling::Accepted)).amendments.remove(0);
        second.amendment.corrects = WHOLE_JOB.into();
        signed.amendments.push(second);
        let read = [
            identity(&record(), &signed, &roster),
            identity_once_accepted(&record(), &signed, &roster),
            corrected(&record(), &signed, "vehicle identity")
                .or(record().lines.get("vehicle identity").cloned()),
        ];
        for read in read {
            assert_eq!(
                read.as_deref() == Some("EX 9"),
                counts,
                "{first:?}: {read:?}"
            );
        }
    }
}
