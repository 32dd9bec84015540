//! What a bundle comes to as a whole: sound, stale report, something to do, broken.

use evenfire::record::bundle::decision::Ruling;
use evenfire::record::bundle::seal::seal;
use evenfire::record::folder;
use evenfire::record::shop::founding::{KeySource, NewSigner, found, practice_key};
use evenfire::record::shop::roster::{Role, Roster};
use evenfire::record::signing;
use evenfire::record::signing::key;
use evenfire::record::signing::sshsig;
use evenfire::record::verify::{Against, FindingKind as Kind, Status, verify};

use crate::bundle::{Bundle, DECIDED, LEAD, SEALED, TECHNICIAN, work};
use crate::way::remove;

fn kinds(bundle: &Bundle) -> Vec<Kind> {
    bundle
        .verify()
        .into_iter()
        .map(|finding| finding.kind)
        .collect()
}

#[test]
fn a_whole_bundle_is_sound() {
    let bundle = Bundle::whole();
    assert_eq!(bundle.verify(), []);
    assert!(bundle.sha256sum_passes() && bundle.ssh_keygen_passes());
}

/// Three gibibytes that take no room: found by the length, without reading them.
#[test]
fn a_file_without_end_keeps_nobody_waiting() {
    let bundle = Bundle::whole();
    let path = bundle.path("captures/1.csv");
    let file = std::fs::File::options().write(true).open(path).unwrap();
    file.set_len(3 << 30).unwrap();
    assert_eq!(kinds(&bundle), [Kind::Unreadable]);
}

/// A byte in any listed file: the sums fail. A byte in a manifest, or in a signature: the signatures do.
#[test]
fn a_changed_byte_is_found_wherever_it_is() {
    let bundle = Bundle::whole();
    let listed = [
        folder::RECORD,
        folder::JOURNAL,
        "procedures/look.yaml",
        "captures/1.csv",
        "captures/1.setup.yaml",
    ];
    let signed = [
        folder::MANIFEST,
        folder::COUNTERSIGN,
        folder::TECHNICIAN_SIGNATURE,
        folder::COUNTERSIGNATURE,
    ];
    for name in listed.into_iter().chain(signed) {
        let sound = bundle.read(name);
        for place in [0, sound.len() / 3, sound.len() / 2, sound.len() - 2] {
            let mut changed = sound.clone();
            changed[place] ^= 1;
            bundle.write(name, &changed);
            let status = Status::of(&bundle.verify());
            assert_eq!(status, Status::Unsound, "{name}, byte {place}");
            if listed.contains(&name) {
                assert!(!bundle.sha256sum_passes(), "{name}, byte {place}");
            } else {
                assert!(!bundle.ssh_keygen_passes(), "{name}, byte {place}");
            }
        }
        bundle.write(name, &sound);
    }
    assert_eq!(bundle.verify(), []);
}

#[test]
fn what_is_still_to_be_done_has_a_status_of_its_own() {
    for (bundle, found) in [
        (Bundle::worked(), vec![Kind::NotSealed]),
        (
            Bundle::sealed(),
            vec![Kind::NotSigned, Kind::NotCountersigned, Kind::ReportMissing],
        ),
        (
            Bundle::signed(),
            vec![Kind::NotCountersigned, Kind::ReportMissing],
        ),
    ] {
        assert_eq!(kinds(&bundle), found);
        assert_eq!(Status::of(&bundle.verify()), Status::Open);
    }
    let returned = Bundle::signed();
    returned.countersign(
        Ruling::Returned,
        Some("The clamp's date is missing.\u{1b}[2J"),
    );
    returned.write_report();
    let findings = returned.verify();
    assert_eq!(findings.len(), 1);
    assert_eq!(findings[0].kind, Kind::Returned);
    assert!(
        findings[0].sentence.contains("clamp's date") && !findings[0].sentence.contains('\u{1b}')
    );
}

#[test]
fn a_report_that_differs_or_is_missing_has_a_status_of_its_own() {
    let bundle = Bundle::whole();
    let report = bundle.text(folder::REPORT);
    bundle.write(folder::REPORT, report.replace("All alike", "All  alike"));
    assert_eq!(kinds(&bundle), [Kind::ReportDiffers]);
    assert_eq!(Status::of(&bundle.verify()), Status::ReportStale);
    remove(&bundle, folder::REPORT);
    assert_eq!(kinds(&bundle), [Kind::ReportMissing]);
    assert_eq!(Status::of(&bundle.verify()), Status::ReportStale);
}

#[test]
fn a_shop_of_one_is_sound_with_one_signature() {
    let bundle = Bundle::signed();
    bundle.edit_roster(|text| {
        text.lines()
            .filter(|line| !line.starts_with(LEAD))
            .map(|line| format!("{line}\n"))
            .collect()
    });
    bundle.write_report();
    assert_eq!(kinds(&bundle), [Kind::OneSignature]);
    assert_eq!(Status::of(&bundle.verify()), Status::Sound);
}

/// A key that has ended still vouches for what it signed before; OpenSSH agrees, told the time.
#[test]
fn who_left_later_still_counts() {
    let bundle = Bundle::whole();
    bundle.edit_roster(|text| {
        text.replace(
            &format!("{TECHNICIAN} "),
            &format!("{TECHNICIAN} valid-before=\"20260302101500Z\","),
        )
    });
    assert_eq!(bundle.verify(), []);
    assert!(bundle.ssh_keygen_passes());
    assert!(SEALED < DECIDED);
}

#[test]
fn a_second_key_of_the_same_name_signs_nothing() {
    let bundle = Bundle::whole();
    let other = key::make(TECHNICIAN, false).unwrap();
    let signature = sshsig::sign(&other, Role::Technician, &bundle.read(folder::MANIFEST)).unwrap();
    bundle.write(folder::TECHNICIAN_SIGNATURE, signature);
    bundle.countersign_again(&bundle.lead);
    assert_eq!(kinds(&bundle), [Kind::SignerRefused]);
}

/// The way of a demonstration: practice keys, nothing asked, and practice said at the end.
#[test]
fn practice_is_signed_without_asking_and_stays_practice() {
    let folder = tempfile::tempdir().unwrap();
    let person = |identity: &str| NewSigner {
        identity: identity.into(),
        key: KeySource::Practice,
    };
    let root = folder.path().join("shop");
    let lead = person(LEAD);
    let shop = found(&root, "Quiet Lane Motors", &person(TECHNICIAN), Some(&lead)).unwrap();
    let roster = Roster::of(&shop).unwrap();
    let job = shop.new_job().unwrap();
    let why = vec!["practice keys".to_owned()];
    seal(&shop, &job, &work(&job, why)).unwrap();
    let against = Against {
        roster: &roster,
        number: Some("0001"),
        report: &|_, _| "page".into(),
    };
    let key = practice_key(&shop, Role::Technician).unwrap();
    signing::sign(&job, &against, &key).unwrap();
    let key = practice_key(&shop, Role::Lead).unwrap();
    let accepted = (Ruling::Accepted, None);
    signing::countersign(&job, &against, &key, accepted, DECIDED.parse().unwrap()).unwrap();
    std::fs::write(job.file(folder::REPORT), "page").unwrap();
    let findings = verify(&job, &against).unwrap();
    let kinds: Vec<Kind> = findings.iter().map(|finding| finding.kind).collect();
    assert_eq!(kinds, [Kind::Practice]);
    assert_eq!(Status::of(&findings), Status::Sound);
}
