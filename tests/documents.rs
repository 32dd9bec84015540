//! What the documents say is so: the README's set-up file is one that the program reads, and the commands
//! that `sample-captures/README.md` gives make the shipped captures again, byte for byte. The texts are
//! read here rather than repeated, so that they cannot go stale.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use evenfire::capture::setup::{self, Coupling, Edge, Polarity};

/// What one practice capture consists of.
const ENDINGS: [&str; 3] = ["csv", "setup.yaml", "truth.yaml"];

fn sources() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn shipped() -> PathBuf {
    sources().join("sample-captures")
}

/// The commands of the captures' README, without the program's name: `simulate NAME --seed 4 …`.
fn commands() -> Vec<Vec<String>> {
    let readme = std::fs::read_to_string(shipped().join("README.md")).unwrap();
    let joined = readme.replace("\\\n", " ");
    joined
        .lines()
        .filter_map(|line| line.strip_prefix("evenfire "))
        .map(|command| command.split_whitespace().map(str::to_owned).collect())
        .collect()
}

#[test]
fn every_sample_capture_is_made_again_byte_for_byte() {
    let folder = tempfile::tempdir().unwrap();
    for command in commands() {
        let mut evenfire = Command::cargo_bin("evenfire").unwrap();
        evenfire.args(&command).arg("--into").arg(folder.path());
        evenfire.assert().success();
        for ending in ENDINGS {
            let file = format!("{}.{ending}", command[1]);
            let again = std::fs::read(folder.path().join(&file)).unwrap();
            let there = std::fs::read(shipped().join(&file)).unwrap();
            assert!(
                again == there,
                "{file} is not what this makes; write it anew or mend the README: {command:?}"
            );
        }
    }
}

#[test]
fn every_sample_capture_has_its_command() {
    let named: BTreeSet<String> = commands()
        .iter()
        .map(|command| format!("{}.csv", command[1]))
        .collect();
    let there: BTreeSet<String> = std::fs::read_dir(shipped())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.ends_with(".csv"))
        .collect();
    assert_eq!(named, there);
}

#[test]
fn the_set_up_in_the_readme_is_read_as_it_says() {
    let readme = std::fs::read_to_string(sources().join("README.md")).unwrap();
    let (_, rest) = readme.split_once("```yaml\n").unwrap();
    let (example, _) = rest.split_once("```").unwrap();
    let setup = setup::read(example, "README.md").unwrap();
    assert_eq!(setup.engine.firing_order(), [1, 3, 4, 2]);
    assert_eq!(setup.time_column.as_deref(), Some("time_s"));
    let voltage = setup.channels.battery_voltage.unwrap();
    assert_eq!(voltage.coupling, Coupling::Ac);
    assert_eq!(voltage.polarity, Some(Polarity::LoadDown));
    assert_eq!((voltage.bits, voltage.full_scale), (Some(12), Some(2.0)));
    let reference = setup.channels.reference.unwrap();
    assert_eq!((reference.cylinder, reference.every_deg), (1, 720.0));
    assert_eq!(reference.edge, Edge::Rising);
}
