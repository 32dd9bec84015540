//! What the documents say is so: the set-up, its further keys and the list of clamps that
//! `sample-captures/README.md` describes are ones that the program reads, and the commands that it gives make the shipped captures again, byte for byte. The texts are
//! read here rather than repeated, so that they cannot go stale.
#![allow(clippy::unwrap_used)]

#[path = "documents/forms.rs"]
mod forms;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use evenfire::capture::clamps;
use evenfire::capture::keys::TimeUnit;
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

/// Of those that ask nothing, the ones whose options hang together: the project's README and the command's own help.
#[test]
fn the_captures_that_are_told_how_to_make_are_made() {
    let readme = std::fs::read_to_string(sources().join("README.md")).unwrap();
    let mut asked = Command::cargo_bin("evenfire").unwrap();
    let help = asked.args(["simulate", "--help"]).output().unwrap();
    let help = String::from_utf8(help.stdout).unwrap();
    let told = readme.split('`').chain(help.lines());
    let told: Vec<&str> = told
        .filter_map(|text| text.strip_prefix("evenfire simulate "))
        .filter(|rest| rest.contains("--"))
        .collect();
    assert!(told.len() > 4, "{told:?}");
    for rest in told {
        let folder = tempfile::tempdir().unwrap();
        let mut evenfire = Command::cargo_bin("evenfire").unwrap();
        evenfire.arg("simulate").args(rest.split_whitespace());
        evenfire.arg("--into").arg(folder.path());
        evenfire.assert().success();
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

/// The files that the captures' README describes: a set-up, the keys for what a file leaves in doubt, clamps.
fn examples() -> [String; 3] {
    let readme = std::fs::read_to_string(shipped().join("README.md")).unwrap();
    let found: Vec<String> = readme
        .split("```yaml\n")
        .skip(1)
        .map(|part| part.split_once("```").unwrap().0.to_owned())
        .collect();
    found.try_into().unwrap()
}

#[test]
fn the_keys_that_settle_a_doubt_are_read_as_described() {
    let [_, keys, list] = examples();
    let clamps = clamps::read(&list, "README.md").unwrap();
    let shown: Vec<&str> = keys
        .lines()
        .map(|line| line.strip_prefix("# ").unwrap())
        .collect();
    let alternatives = |left_out: &[&str]| -> String {
        let kept = shown
            .iter()
            .filter(|line| !left_out.iter().any(|key| line.contains(key)));
        let engine = "engine: {cylinders: 4, firing_order: [1, 3, 4, 2]}";
        let lines = std::iter::once(&engine).chain(kept);
        lines.map(|line| format!("{line}\n")).collect()
    };
    let rows = alternatives(&["unit: ms", "clamp: big"]);
    let setup = setup::read_with(&rows, "README.md", &clamps).unwrap();
    assert_eq!(setup.keys.rate_hz, Some(1000.0));
    assert_eq!(setup.keys.table.header_line, Some(12));
    assert_eq!(
        setup.keys.scaling["starter_current"].millivolt_per_ampere,
        Some(10.0)
    );
    assert_eq!(setup.keys.scaling["battery_voltage"].scale, Some(10.0));
    let units = alternatives(&["rate_hz", "millivolt_per_ampere"]);
    let setup = setup::read_with(&units, "README.md", &clamps).unwrap();
    assert_eq!(setup.keys.time_unit, Some(TimeUnit::Milliseconds));
    assert_eq!(
        setup.keys.scaling["starter_current"].clamp.as_deref(),
        Some("big")
    );
    let clamp = clamps.find("big").unwrap();
    assert_eq!((clamp.factor().times, clamp.zero()), (1000.0, -2.5));
}

#[test]
fn the_set_up_that_is_described_is_read_as_it_says() {
    let examples = examples();
    let setup = setup::read(&examples[0], "README.md").unwrap();
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

/// The policy that a new shop is given, with what it holds in comments, and the one in `procedures/README.md`: the
/// shipped procedures are sound by both.
#[test]
fn the_example_policies_hold_for_the_shipped_procedures() {
    let folder = tempfile::tempdir().unwrap();
    let shop = folder.path().join("shop");
    let run = |arguments: &[&str]| {
        let mut command = Command::cargo_bin("evenfire").unwrap();
        let ran = command.args(arguments).output().unwrap();
        let told = String::from_utf8(ran.stdout).unwrap() + &String::from_utf8(ran.stderr).unwrap();
        (ran.status.code(), told)
    };
    let at = shop.to_str().unwrap();
    let founded = run(&[
        "init",
        at,
        "--name",
        "S",
        "--technician",
        "jo",
        "--lead",
        "kim",
        "--practice-keys",
        "--with-procedures",
    ]);
    assert_eq!(founded.0, Some(0), "{}", founded.1);
    let policy = shop.join("policy.yaml");
    let new = std::fs::read_to_string(&policy).unwrap();
    let examples: String = new
        .lines()
        .map(|line| match line.strip_prefix("# ") {
            // a sentence stays a comment; a key does not
            Some(key) if key.starts_with("  ") || key.split(':').next().is_some_and(is_key) => key,
            _ => line,
        })
        .map(|line| format!("{line}\n"))
        .collect();
    let readme = std::fs::read_to_string(sources().join("procedures/README.md")).unwrap();
    let (_, described) = readme.split_once("```yaml\nshop: ").unwrap();
    let described = format!("shop: {}", described.split_once("```").unwrap().0);
    let procedures = shop.join("procedures");
    let mut files = vec![procedures.join("relative-compression.yaml")];
    files.push(procedures.join("follow-up.yaml"));
    for text in [examples, described] {
        for key in ["needs:", "steps_before:", "waivers:", "revisions:"] {
            assert!(
                text.lines().any(|line| line.starts_with(key)),
                "{key} in {text}"
            );
        }
        std::fs::write(&policy, &text).unwrap();
        let names: Vec<&str> = files.iter().map(|file| file.to_str().unwrap()).collect();
        let arguments = [&["check", "--shop", at][..], &names].concat();
        let (status, told) = run(&arguments);
        assert_eq!(status, Some(0), "{text}\n{told}");
    }
}

fn is_key(text: &str) -> bool {
    !text.is_empty() && text.chars().all(|c| c.is_ascii_lowercase() || c == '_')
}

/// The rooms of `lib.rs` with the number of their paragraph: earlier ones know nothing of later ones.
fn rooms() -> Vec<(String, usize)> {
    let text = std::fs::read_to_string(sources().join("src/lib.rs")).unwrap();
    let list = &text[text.find("pub mod ").unwrap()..];
    let mut rooms = Vec::new();
    for (layer, paragraph) in list.split("\n\n").enumerate() {
        for line in paragraph.lines() {
            let name = line.strip_prefix("pub mod ").unwrap();
            rooms.push((name.split(';').next().unwrap().to_owned(), layer));
        }
    }
    rooms
}

/// The sources below a folder, tests left out.
fn sources_below(folder: &Path, into: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        if path.is_dir() && name != "tests" {
            sources_below(&path, into);
        } else if path.extension().is_some_and(|ending| ending == "rs") && name != "tests" {
            into.push(path);
        }
    }
}

#[test]
fn data_flows_one_way_through_the_rooms() {
    let rooms = rooms();
    assert!(rooms.len() > 10, "{rooms:?}");
    let layer = |name: &str| rooms.iter().find(|room| room.0 == name).map(|room| room.1);
    let mut looked_at = 0;
    for (room, own) in &rooms {
        let mut files = vec![sources().join(format!("src/{room}.rs"))];
        files.retain(|file| file.exists());
        let folder = sources().join("src").join(room);
        if folder.exists() {
            sources_below(&folder, &mut files);
        }
        for file in files {
            let text = std::fs::read_to_string(&file).unwrap();
            let text = text.split("#[cfg(test)]").next().unwrap();
            for line in text
                .lines()
                .filter(|line| !line.trim_start().starts_with("//"))
            {
                for used in line.split("crate::").skip(1) {
                    let end = used.find(|c: char| !c.is_alphanumeric() && c != '_');
                    let used = &used[..end.unwrap_or(used.len())];
                    let Some(of) = layer(used).filter(|_| used != room) else {
                        continue;
                    };
                    looked_at += 1;
                    assert!(
                        of < *own,
                        "{}: `{room}` uses `{used}`, which is not below it",
                        file.display()
                    );
                }
            }
        }
    }
    assert!(looked_at > 100, "{looked_at}");
}
