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

/// A clamp that is put on, read and taken off, by steps of which three are the same but for where they lead.
const CLAMPED: &str = "procedure: clamped\nrevision: 1\ntitle: t\npurpose: p\nsteps:\n  clamp-on:\n    phase: measure\n    \
                       do: Clamp on.\n    work: none\n    disables: {clamp: Take the clamp off.}\n    \
                       confirm: It is on.\n    then: read\n    if-not: clamp-off\n  read:\n    ask: Current\n    \
                       measure: {unit: A, resolution: 1, possible: \"[0..900]\"}\n    then:\n      \
                       - {when: \"< 100\", go: clamp-off-low}\n      - {when: \">= 100\", go: clamp-off-high}\n  clamp-off:\n    \
                       phase: put back\n    do: Clamp off.\n    work: none\n    restores: [clamp]\n    \
                       confirm: It is off.\n    then: not-done\n    if-not: again\n  \
                       clamp-off-low: {same-as: clamp-off, then: low}\n  clamp-off-high: {same-as: clamp-off, then: high}\n  not-done:\n    \
                       outcome: not-done\n    finding: f\n  low:\n    outcome: fault-found\n    finding: f\n  high:\n    \
                       outcome: nothing-found\n    finding: f\n";

/// A family of steps that put back: without what it restores it is told once, and not as a loop that wants a bound.
#[test]
fn a_family_that_restores_nothing_is_one_problem() {
    assert_eq!(told(&[("clamped", CLAMPED)]), []);
    let no_restores = CLAMPED.replace("    restores: [clamp]\n", "");
    let nothing = no_restores.replace("    disables: {clamp: Take the clamp off.}\n", "");
    let closing = nothing.replace("phase: put back", "phase: close");
    let message = "step `clamp-off` asks until the answer is yes, and restores nothing";
    let lacks = told(&[("clamped", &no_restores)]);
    assert_eq!(
        (lacks.len(), lacks[0].1.as_str()),
        (1, message),
        "{lacks:#?}"
    );
    assert!(
        lacks[0]
            .2
            .starts_with("If it puts that back, write `restores: [clamp]` in it.")
    );
    for text in [&nothing, &closing] {
        let told = told(&[("clamped", text)]);
        assert_eq!(told.len(), 1, "{told:#?}");
        let (place, found, remedy) = &told[0];
        assert_eq!(
            (place.as_str(), found.as_str()),
            ("clamped.yaml:25:13", message)
        );
        assert!(
            remedy.contains("under `restores`, and under `disables`"),
            "{remedy}"
        );
        assert!(
            remedy.ends_with(
                "That line holds for `clamp-off-high`, `clamp-off-low` too (`same-as`)."
            ),
            "{remedy}"
        );
    }
}

/// What asks again in the midst of the work is a loop as before.
#[test]
fn what_puts_nothing_back_wants_a_bound() {
    let (_, message, remedy) = only(
        "then: held\n    if-not: turned-away",
        "then: held\n    if-not: again",
    );
    assert_eq!(message, "a loop without an end: drive → drive");
    assert!(remedy.starts_with("Give one of these steps a bound"));
}
