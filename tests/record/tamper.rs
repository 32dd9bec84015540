//! A small whole bundle, touched in every way that takes no key: every byte of every file, every file added,
//! dropped, renamed or swapped, journal and manifests cut. `verify` tells each; `--nocapture` tells how many.
#![allow(clippy::print_stdout)]

use std::path::Path;

use evenfire::record::verify::Status;

use crate::bundle::Bundle;

/// The report is in no manifest: what is done to it leaves the signed files sound.
fn expected(name: &str) -> Status {
    if name == "report.html" {
        Status::ReportStale
    } else {
        Status::Unsound
    }
}

fn files(root: &Path, inside: &str, found: &mut Vec<String>) {
    for entry in std::fs::read_dir(root.join(inside)).unwrap() {
        let entry = entry.unwrap();
        let name = format!("{inside}{}", entry.file_name().to_str().unwrap());
        if entry.path().is_dir() {
            files(root, &format!("{name}/"), found);
        } else {
            found.push(name);
        }
    }
}

fn all(bundle: &Bundle) -> Vec<String> {
    let mut found = Vec::new();
    files(bundle.job.path(), "", &mut found);
    found.sort();
    found
}

fn status(bundle: &Bundle) -> Status {
    Status::of(&bundle.verify())
}

/// Changes each byte of the bundle's files that `is_ours` takes, one at a time; the number of bytes changed.
fn change_each_byte(is_ours: impl Fn(usize) -> bool) -> usize {
    let bundle = Bundle::layered();
    let mut tried = 0;
    for (_, name) in all(&bundle)
        .iter()
        .enumerate()
        .filter(|(at, _)| is_ours(*at))
    {
        let sound = bundle.read(name);
        for place in 0..sound.len() {
            let mut changed = sound.clone();
            changed[place] ^= 1 << (place % 8);
            bundle.write(name, &changed);
            assert_eq!(status(&bundle), expected(name), "{name}, byte {place}");
        }
        bundle.write(name, &sound);
        tried += sound.len();
    }
    assert_eq!(status(&bundle), Status::Sound);
    tried
}

#[test]
fn every_byte_of_every_file() {
    // each second file in a bundle of its own, so that both cores are at work
    let (even, odd) = rayon::join(
        || change_each_byte(|at| at % 2 == 0),
        || change_each_byte(|at| at % 2 == 1),
    );
    let bundle = Bundle::layered();
    let bytes: usize = all(&bundle)
        .iter()
        .map(|name| bundle.read(name).len())
        .sum();
    println!("bytes changed, one at a time: {even} and {odd}");
    assert!(
        bytes < 20_000 && even + odd == bytes,
        "{bytes} bytes, {even} and {odd} tried"
    );
}

#[test]
fn files_added_dropped_and_renamed() {
    let bundle = Bundle::layered();
    let names = all(&bundle);
    let mut tried = 0;
    for name in &names {
        let (path, sound) = (bundle.path(name), bundle.read(name));
        std::fs::remove_file(&path).unwrap();
        assert_eq!(status(&bundle), expected(name), "{name} dropped");
        bundle.write(&format!("{name}x"), &sound);
        assert_eq!(status(&bundle), Status::Unsound, "{name} renamed");
        std::fs::remove_file(bundle.path(&format!("{name}x"))).unwrap();
        bundle.write(name, &sound);
        let beside = bundle.path(name).with_file_name("added.txt");
        std::fs::write(&beside, "x").unwrap();
        assert_eq!(status(&bundle), Status::Unsound, "beside {name}");
        std::fs::remove_file(&beside).unwrap();
        tried += 3;
    }
    assert_eq!(status(&bundle), Status::Sound);
    assert_eq!(tried, 3 * names.len());
    println!("files dropped, renamed, added: {} each", names.len());
}

#[test]
fn any_two_files_swapped() {
    let bundle = Bundle::layered();
    let names = all(&bundle);
    let mut tried = 0;
    for (at, one) in names.iter().enumerate() {
        for other in &names[at + 1..] {
            let (first, second) = (bundle.read(one), bundle.read(other));
            if first == second {
                continue;
            }
            bundle.write(one, &second);
            bundle.write(other, &first);
            assert_eq!(status(&bundle), Status::Unsound, "{one} and {other}");
            bundle.write(one, &first);
            bundle.write(other, &second);
            tried += 1;
        }
    }
    println!("pairs of files swapped: {tried}");
    assert!(tried > names.len());
    assert_eq!(status(&bundle), Status::Sound);
}

#[test]
fn everything_cut_at_every_byte() {
    let bundle = Bundle::layered();
    let mut tried = 0;
    for name in [
        "journal.jsonl",
        "MANIFEST.sha256",
        "COUNTERSIGN.sha256",
        "amendments/1/MANIFEST.sha256",
    ] {
        let sound = bundle.read(name);
        for length in 0..sound.len() {
            bundle.write(name, &sound[..length]);
            assert_eq!(
                status(&bundle),
                Status::Unsound,
                "{name}, {length} bytes left"
            );
        }
        tried += sound.len();
        bundle.write(name, &sound);
    }
    println!("journal and lists cut: {tried} lengths");
    assert!(tried > 1000);
}

/// Whatever one shop's people signed for one job is not taken for another job, nor for another file of it.
#[test]
fn files_of_another_sound_job() {
    let (bundle, other) = (Bundle::layered(), Bundle::layered());
    let mut tried = 0;
    for name in all(&bundle) {
        let sound = bundle.read(&name);
        let foreign = other.read(&name);
        if sound == foreign {
            continue;
        }
        bundle.write(&name, &foreign);
        assert_eq!(status(&bundle), expected(&name), "{name}");
        bundle.write(&name, &sound);
        tried += 1;
    }
    println!("files taken from another job: {tried}");
    assert!(tried > 5);
}
