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

/// How long to crank stands in words: another number is not read over.
#[test]
fn a_number_changed_in_what_is_done_is_marked() {
    let do_ = |to: &str| told(&[("do: Crank for two seconds at most.", to)]);
    assert_eq!(
        do_("do: Crank for twelve seconds at most."),
        [
            "! prove: do: numbers changed (2 → 12), \"Crank for two seconds at most.\" becomes \"Crank for twelve \
             seconds at most.\"",
            "revision 1 becomes 2",
        ]
    );
    assert_eq!(
        do_("do: Crank two seconds at most."),
        [
            "prove: do: \"Crank for two seconds at most.\" becomes \"Crank two seconds at most.\"",
            "revision 1 becomes 2",
        ]
    );
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
    // one in other words is one change, and may say less
    assert_eq!(
        told(&[("warning: The vehicle may move.", "warning: It may move.")]),
        [
            "! held: WARNING: \"The vehicle may move.\" becomes \"It may move.\"",
            "revision 1 becomes 2"
        ]
    );
    assert_eq!(
        told(&[("warning: The vehicle may move.", "warning: Hot parts burn.")]),
        [
            "! held: WARNING taken away: \"The vehicle may move.\"",
            "held: WARNING added: \"Hot parts burn.\"",
            "revision 1 becomes 2"
        ]
    );
}

/// What a step warned of is told with it: that may be all that it was there for.
#[test]
fn a_step_that_is_gone_is_told_with_its_hazards() {
    let step = "  look:\n    danger: The fan starts by itself.\n    warning: Hot parts burn.\n    work: none\n    confirm: Nothing leaks.\n    \
                then: rest-reading\n    if-not: turned-away\n  rest-reading:\n";
    let with_step = SOUND.replacen("  rest-reading:\n", step, 1);
    let with_step = with_step.replacen("    then: rest-reading\n", "    then: look\n", 1);
    let found = changes(&library(&with_step), &library(SOUND));
    let told: Vec<&str> = found
        .iter()
        .filter(|change| change.step.as_deref() == Some("look") && change.weakens == Weakens::Yes)
        .map(|change| change.told.as_str())
        .collect();
    for wanted in [
        "DANGER taken away: \"The fan starts by itself.\"",
        "WARNING taken away: \"Hot parts burn.\"",
        "step taken away",
    ] {
        assert!(told.contains(&wanted), "{wanted}: {told:?}");
    }
}

#[test]
fn limits_and_their_ways() {
    assert_eq!(
        told(&[
            ("\"< 12.20\"", "\"< 12.40\""),
            ("\">= 12.20\"", "\">= 12.40\"")
        ]),
        [
            "! rest-reading: limit moved: `< 12.20` becomes `< 12.40` (→ turned-away)",
            "revision 1 becomes 2",
        ]
    );
    assert_eq!(
        told(&[("times: 3", "times: 5"), ("[11.5..13]", "[11..13]")]),
        [
            "! crank: at most 3 visits becomes at most 5 visits",
            "! rest-reading: 0 to 20 V, resolution 0.01, expected 11.5 to 13 becomes 0 to 20 V, resolution 0.01, expected 11 to 13",
            "revision 1 becomes 2",
        ]
    );
}

/// Whether a range got wider is marked, whether narrower is not; to expect nothing asks nothing again.
#[test]
fn ranges_that_refuse_and_ask_less() {
    let form = "resolution: 0.01, possible: \"[0..20]\", expected: \"[11.5..13]\"";
    for (now, marked) in [
        (
            "resolution: 0.01, possible: \"[0..24]\", expected: \"[11.5..13]\"",
            true,
        ),
        ("resolution: 0.01, possible: \"[0..20]\"", true),
        (
            "resolution: 0.01, possible: \"[5..18]\", expected: \"[11.6..13]\"",
            false,
        ),
    ] {
        let found = told(&[(form, now)]);
        assert_eq!(found.len(), 2, "{found:#?}");
        let line = found
            .iter()
            .find(|line| line.contains("rest-reading: "))
            .unwrap();
        assert_eq!(line.starts_with("! "), marked, "{found:#?}");
    }
}

/// Readings that go another way, be it by the included end, by the target or by a branch more.
#[test]
fn readings_that_go_another_way() {
    let found = told(&[
        ("\"< 12.20\"", "\"<= 12.20\""),
        ("\">= 12.20\"", "\"> 12.20\""),
    ]);
    assert_eq!(
        found[0],
        "! rest-reading: limit moved: `< 12.20` becomes `<= 12.20` (→ turned-away)"
    );
    assert_eq!(found.len(), 2, "{found:#?}");
    let split = "\"[0..12.20)\"\n        go: turned-away\n      - when: \"[15..20]\"\n        go: turned-away\n      - when: \"[12.20..15)\"";
    let found = told(&[(
        "\"< 12.20\"\n        go: turned-away\n      - when: \">= 12.20\"",
        split,
    )]);
    let marked = found
        .iter()
        .filter(|told| told.starts_with("! rest-reading: "));
    assert_eq!(marked.count(), 2, "{found:#?}");
}

#[test]
fn words_that_a_yes_stands_for() {
    for (from, to, marked) in [
        (
            "confirm: The vehicle cannot move.",
            "confirm: The vehicle stands.",
            true,
        ),
        (
            "confirm: Everything is back.",
            "confirm: Nearly everything is back.",
            true,
        ),
        (
            "Refit the fuel pump relay.",
            "See to the fuel pump relay.",
            true,
        ),
        (
            "ask: Battery voltage at the posts",
            "ask: Battery voltage",
            false,
        ),
    ] {
        let found = told(&[(from, to)]);
        let of_steps = || found.iter().filter(|told| !told.starts_with("revision"));
        assert!(of_steps().count() > 0, "{found:#?}");
        assert!(
            of_steps().all(|told| told.starts_with("! ") == marked),
            "{found:#?}"
        );
    }
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

/// A verdict that leads to another kind of end is marked, wherever its step stands.
#[test]
fn a_verdict_that_comes_to_another_end_is_marked() {
    let found = told(&[(
        "      - when: inconclusive\n        go: crank",
        "      - when: inconclusive\n        go: back-not-done",
    )]);
    let has = |wanted: &str| found.iter().any(|told| told == wanted);
    assert!(
        has("! judge: \"inconclusive\" → crank becomes → back-not-done"),
        "{found:#?}"
    );
}
