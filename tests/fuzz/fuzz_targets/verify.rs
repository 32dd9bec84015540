//! A whole sound bundle with one file replaced: `verify` ends, and never calls it sound.
#![no_main]

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use evenfire::record::folder::JobFolder;
use evenfire::record::shop::roster::Roster;
use evenfire::record::verify::{Against, Status, verify};
use libfuzzer_sys::fuzz_target;

const NAMES: [&str; 12] = [
    "record.json", "journal.jsonl", "MANIFEST.sha256", "technician.sig", "decision.json", "COUNTERSIGN.sha256",
    "countersign.sig", "waivers/1.txt", "waivers/1.sig", "amendments/1/amendment.json",
    "amendments/1/MANIFEST.sha256", "amendments/1/technician.sig",
];

static FOLDER: OnceLock<PathBuf> = OnceLock::new();

fn kept() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../record/kept/form-1")
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let target = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy(&path, &target);
        } else {
            std::fs::copy(path, target).unwrap();
        }
    }
}

fuzz_target!(|bytes: &[u8]| {
    let Some((which, bytes)) = bytes.split_first() else {
        return;
    };
    let folder = FOLDER.get_or_init(|| {
        let folder = std::env::temp_dir().join(format!("evenfire-fuzz-{}", std::process::id()));
        copy(&kept(), &folder);
        folder
    });
    let name = NAMES[usize::from(*which) % NAMES.len()];
    let file = folder.join("jobs/0001").join(name);
    let sound = std::fs::read(&file).unwrap();
    if sound == bytes {
        return;
    }
    let read = |name: &str| std::fs::read_to_string(folder.join(name)).unwrap();
    let names = (folder.join("allowed_signers"), folder.join("revoked"));
    let (roster, revoked) = (read("allowed_signers"), read("revoked"));
    let roster = Roster::parse((&names.0, &roster), (&names.1, &revoked)).unwrap();
    let against = Against { roster: &roster, number: Some("0001"), report: &|_, _| String::new() };
    std::fs::write(&file, bytes).unwrap();
    let findings = verify(&JobFolder::at(folder.join("jobs/0001")), &against).unwrap();
    std::fs::write(&file, sound).unwrap();
    assert_eq!(Status::of(&findings), Status::Unsound, "{name}");
});
