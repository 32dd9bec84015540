//! Bundles from strangers: nothing in them leads out of the folder, fills memory, or reaches a terminal raw.

use std::os::unix::fs::{PermissionsExt, symlink};

use evenfire::record::digest;
use evenfire::record::folder;
use evenfire::record::shop::founding::{KeySource, NewSigner, found};
use evenfire::record::shop::queue::waiting;
use evenfire::record::signing::key;
use evenfire::record::verify::{FindingKind as Kind, Status};

use crate::bundle::{Bundle, TECHNICIAN};
use crate::layers::{AMENDED, adding};

fn kinds(bundle: &Bundle) -> Vec<Kind> {
    bundle
        .verify()
        .into_iter()
        .map(|found| found.kind)
        .collect()
}

/// A link in place of any file, to a copy with the very bytes: still not the bundle's own file.
#[test]
fn links_are_never_followed() {
    let bundle = Bundle::layered();
    let outside = bundle.folder.path().join("outside");
    for name in [
        "record.json",
        "journal.jsonl",
        "captures/1.csv",
        "MANIFEST.sha256",
        "technician.sig",
        "decision.json",
        "COUNTERSIGN.sha256",
        "countersign.sig",
        "waivers/1.txt",
        "waivers/1.sig",
        "amendments/1/amendment.json",
        "amendments/1/MANIFEST.sha256",
        "amendments/1/technician.sig",
        "amendments/1/attachments/dash.txt",
        "report.html",
    ] {
        let sound = bundle.read(name);
        std::fs::write(&outside, &sound).unwrap();
        std::fs::remove_file(bundle.path(name)).unwrap();
        symlink(&outside, bundle.path(name)).unwrap();
        assert_eq!(Status::of(&bundle.verify()), Status::Unsound, "{name}");
        std::fs::remove_file(bundle.path(name)).unwrap();
        bundle.write(name, &sound);
    }
    for whole in ["amendments", "captures", "waivers"] {
        let moved = bundle.folder.path().join(whole);
        std::fs::rename(bundle.path(whole), &moved).unwrap();
        symlink(&moved, bundle.path(whole)).unwrap();
        assert_eq!(Status::of(&bundle.verify()), Status::Unsound, "{whole}");
        std::fs::remove_file(bundle.path(whole)).unwrap();
        std::fs::rename(&moved, bundle.path(whole)).unwrap();
    }
    assert_eq!(Status::of(&bundle.verify()), Status::Sound);
}

#[test]
fn names_that_lead_out_are_refused_in_every_list() {
    let bundle = Bundle::layered();
    for list in [
        "MANIFEST.sha256",
        "COUNTERSIGN.sha256",
        "amendments/1/MANIFEST.sha256",
        "amendments/1/COUNTERSIGN.sha256",
    ] {
        let sound = bundle.text(list);
        for astray in [
            "../../allowed_signers",
            "/etc/passwd",
            "amendments/../record.json",
            "a\\..\\b",
        ] {
            let line = format!("{}  {astray}\n", digest::of_bytes(b""));
            bundle.write(list, line.clone() + &sound);
            assert!(
                kinds(&bundle).contains(&Kind::ManifestMalformed),
                "{list}: {astray}"
            );
        }
        bundle.write(list, sound);
    }
}

/// Gibibytes that take no room, in place of each file that is read whole.
#[test]
fn huge_files_are_refused_by_their_length() {
    for name in [
        "record.json",
        "journal.jsonl",
        "MANIFEST.sha256",
        "technician.sig",
        "decision.json",
        "countersign.sig",
        "waivers/1.txt",
        "waivers/1.sig",
        "amendments/1/amendment.json",
        "amendments/1/MANIFEST.sha256",
        "amendments/1/technician.sig",
        "report.html",
    ] {
        let bundle = Bundle::layered();
        let file = std::fs::File::options()
            .write(true)
            .open(bundle.path(name))
            .unwrap();
        file.set_len(3 << 30).unwrap();
        assert!(kinds(&bundle).contains(&Kind::Unreadable), "{name}");
        assert!(waiting(&bundle.shop, &bundle.roster()).is_ok(), "{name}");
    }
}

/// Escapes in every text that somebody else wrote: told, and told tamely.
#[test]
fn nothing_raw_reaches_a_terminal() {
    const RAW: &str = "\u{1b}]0;owned\u{7}\u{1b}[2J\u{202e}";
    let json = |text: String| text.replace("Looked at.", "Looked at.\\u001b[2J\\u202e");
    let mut checked = 0;
    for name in [
        "record.json",
        "decision.json",
        "amendments/1/amendment.json",
        "waivers/1.txt",
        "MANIFEST.sha256",
        "journal.jsonl",
    ] {
        let bundle = Bundle::layered();
        let text = json(bundle.text(name))
            .replace("0001", RAW)
            .replace("odometer", RAW)
            .replace("warm-up", RAW);
        bundle.write(name, text);
        for found in bundle.verify() {
            let raw = found
                .sentence
                .chars()
                .any(|c| c.is_control() || c == '\u{202e}');
            assert!(!raw, "{name}: {:?}", found.sentence);
            checked += 1;
        }
    }
    let bundle = Bundle::layered();
    bundle.write(&format!("captures/{RAW}"), "x");
    for found in bundle.verify() {
        assert!(!found.sentence.contains('\u{1b}'), "{:?}", found.sentence);
        checked += 1;
    }
    assert!(checked > 10, "{checked}");
}

/// Keys lie in a folder for their owner only, each file too; a passphrase is in no file of shop or job.
#[test]
fn what_is_secret_stays_with_its_owner() {
    const PASSPHRASE: &str = "four words in order";
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("shop");
    let person = NewSigner {
        identity: TECHNICIAN.into(),
        key: KeySource::New {
            passphrase: PASSPHRASE.into(),
        },
    };
    let shop = found(&root, "Quiet Lane Motors", &person, None).unwrap();
    let mode =
        |path: &std::path::Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode(&shop.keys()), 0o700);
    let private = shop.key_file(evenfire::record::shop::roster::Role::Technician);
    assert_eq!(mode(&private), 0o600);
    assert!(key::open(&private, &mut || Ok(PASSPHRASE.into())).is_ok());
    let bundle = Bundle::layered();
    let mut read = 0;
    for place in [shop.root(), bundle.shop.root()] {
        read += holds_no_secret(place, PASSPHRASE);
    }
    assert!(read > 20, "{read}");
}

fn holds_no_secret(place: &std::path::Path, passphrase: &str) -> usize {
    let mut read = 0;
    for entry in std::fs::read_dir(place).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            read += holds_no_secret(&path, passphrase);
            continue;
        }
        let text = String::from_utf8_lossy(&std::fs::read(&path).unwrap()).into_owned();
        assert!(!text.contains(passphrase), "{path:?}");
        let is_key = path.parent().unwrap().ends_with("keys") && path.extension().is_none();
        assert!(is_key || !text.contains("PRIVATE KEY"), "{path:?}");
        read += 1;
    }
    read
}

/// Two that amend at once: one is first, the other is refused, and nothing is half there.
#[test]
fn two_amendments_at_once() {
    let bundle = Bundle::signed();
    let made: usize = std::thread::scope(|scope| {
        let both: Vec<_> = (0..2)
            .map(|_| scope.spawn(|| bundle.amend(&bundle.technician, adding(), AMENDED).is_ok()))
            .collect();
        both.into_iter()
            .map(|one| usize::from(one.join().unwrap()))
            .sum()
    });
    assert!(made >= 1);
    assert_eq!(Status::of(&bundle.verify()), Status::Open);
    let there = std::fs::read_dir(bundle.path(folder::AMENDMENTS))
        .unwrap()
        .count();
    assert_eq!(there, made);
}
