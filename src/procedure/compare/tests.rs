//! What is said of single edits to a small procedure.

use super::{Change, Weakens, changes};
use crate::procedure::model::Library;
use crate::procedure::read_library;

const SOUND: &str = include_str!("../check/tests/sound.yaml");

fn library(text: &str) -> Library {
    let source = |_: &str| Some(("sound.yaml".to_owned(), text.to_owned()));
    read_library("sound", &source).unwrap_or_else(|found| panic!("{found:#?}"))
}

fn told(edits: &[(&str, &str)]) -> Vec<String> {
    let mut text = SOUND.replace("revision: 1", "revision: 2");
    for (from, to) in edits {
        assert!(text.contains(from), "{from}");
        text = text.replacen(from, to, 1);
    }
    let said = |change: Change| {
        let mark = if change.weakens == Weakens::Yes {
            "! "
        } else {
            ""
        };
        let step = change
            .step
            .map(|step| format!("{step}: "))
            .unwrap_or_default();
        format!("{mark}{step}{}", change.told)
    };
    changes(&library(SOUND), &library(&text))
        .into_iter()
        .map(said)
        .collect()
}

#[test]
fn nothing_but_the_revision() {
    assert_eq!(told(&[]), ["revision 1 becomes 2"]);
    assert_eq!(changes(&library(SOUND), &library(SOUND)), []);
}

#[test]
fn a_changed_file_wants_another_revision() {
    let changed = SOUND.replace("Belts turn.", "Belts and fans turn.");
    let found = changes(&library(SOUND), &library(&changed));
    assert!(
        found
            .iter()
            .any(|c| c.told == "changed, and still revision 1: raise it")
    );
}

#[test]
fn hazards_first() {
    assert_eq!(
        told(&[(
            "danger: The engine may start.",
            "warning: The engine may start."
        )]),
        [
            "! prove: DANGER becomes WARNING: \"The engine may start.\"",
            "revision 1 becomes 2"
        ]
    );
    assert_eq!(
        told(&[("    warning: The vehicle may move.\n", "")]),
        [
            "! held: WARNING taken away: \"The vehicle may move.\"",
            "revision 1 becomes 2"
        ]
    );
}

#[test]
fn limits_and_their_ways() {
    assert_eq!(
        told(&[
            ("\"< 12.20\"", "\"< 12.40\""),
            ("\">= 12.20\"", "\">= 12.40\"")
        ]),
        [
            "rest-reading: \"< 12.20\" → turned-away taken away",
            "rest-reading: \"< 12.40\" → turned-away added",
            "rest-reading: \">= 12.20\" → cut-fuel taken away",
            "rest-reading: \">= 12.40\" → cut-fuel added",
            "revision 1 becomes 2",
        ]
    );
    assert_eq!(
        told(&[("times: 3", "times: 5"), ("[11.5..13]", "[11..13]")]),
        [
            "! crank: at most 3 visits becomes at most 5 visits",
            "rest-reading: 0 to 20 V, resolution 0.01, expected 11.5 to 13 becomes 0 to 20 V, resolution 0.01, expected 11 to 13",
            "revision 1 becomes 2",
        ]
    );
}

/// A way past a step shows as a path, whatever else stands in between.
#[test]
fn paths_that_pass_a_step_no_longer() {
    let past = "then: ask\n    if-not: turned-away\n  ask:\n    confirm: Measure the battery?\n    then: rest-reading\n    if-not: cut-fuel\n";
    let found = told(&[
        ("then: rest-reading\n    if-not: turned-away\n", past),
        ("at {rest-reading} V", "now"),
        ("gives: {volts: rest-reading}\n", ""),
    ]);
    let has = |wanted: &str| found.iter().any(|told| told == wanted);
    assert!(
        has("! `found` can now be reached without: rest-reading"),
        "{found:#?}"
    );
    assert!(has("held: yes → rest-reading becomes → ask"), "{found:#?}");
    assert!(has("ask: new step"), "{found:#?}");
}
