//! One slip that two places show: told once, where it was made, with a mend that no other contradicts.

use super::{SOUND, broken};
use crate::procedure::{Problem, read_library};

/// Problems of files by their names, the outermost first.
fn found(files: &[(&str, &str)]) -> Vec<Problem> {
    let source = |name: &str| {
        let found = files.iter().find(|(known, _)| *known == name);
        found.map(|(name, text)| (format!("{name}.yaml"), (*text).to_owned()))
    };
    read_library(files[0].0, &source).err().unwrap_or_default()
}

/// Place, message and remedy of each.
fn told(files: &[(&str, &str)]) -> Vec<(String, String, String)> {
    let told = found(files).into_iter().map(|p| {
        let at = &p.position;
        let place = format!("{}:{}:{}", at.file, at.line, at.column);
        (place, p.message, p.remedy)
    });
    told.collect()
}

/// The one problem of the sound procedure with one piece of text replaced.
fn only(from: &str, to: &str) -> (String, String, String) {
    let mut told = told(&[("sound", &broken(from, to))]);
    assert_eq!(told.len(), 1, "{to}: {told:#?}");
    told.remove(0)
}

/// What is taken off under a wrong name is put back under the right one.
#[test]
fn a_fuel_cut_misspelt_where_it_is_taken_off_is_told_there() {
    for name in ["fuel relay", "relay", "relay of the pump"] {
        let (place, message, remedy) = only(
            "disables: {fuel pump relay:",
            &format!("disables: {{{name}:"),
        );
        assert_eq!(place, "sound.yaml:33:16");
        assert_eq!(
            message,
            format!("`{name}` is no thing that is known to cut the fuel")
        );
        assert_eq!(
            remedy,
            "Did you mean `fuel pump relay`? That is what step `back-found` puts back."
        );
    }
    // one that is put back under its own name is its own thing
    let own = SOUND.replace("fuel pump relay", "horn relay");
    let own = told(&[("sound", &own)]);
    assert!(
        own[0]
            .1
            .starts_with("step `cut-fuel` says `fuel off` where nothing"),
        "{own:#?}"
    );
}
