//! Flaws of one step that would hurt people, or keep from them what they must read.

use super::{SOUND, broken, expect, problems};

/// Hands at the vehicle and an engine that turns are two steps, whatever else the step revokes.
#[test]
fn hands_and_a_turning_engine_are_two_steps() {
    // all that either of them needs holds, and nothing is asked in between
    let text = SOUND.replace("work: crank\n", "work: [connect leads, crank]\n");
    let text = text.replace(
        "[fuel off proved]\n    then",
        "[fuel off proved, key away, leads safe]\n    then",
    );
    let text = text.replace("go: crank", "go: back-not-done");
    assert_eq!(
        problems(&text),
        [
            "51:11: step `crank` has hands at the vehicle (connect leads) and turns the engine (crank) in one step"
        ]
    );
    // each alone is what it was
    let texts = ["[crank, proving crank]", "[connect leads, open fuel]"].map(|work| {
        let found = problems(&broken("work: crank\n", &format!("work: {work}\n")));
        found.iter().any(|told| told.contains("in one step"))
    });
    assert_eq!(texts, [false, false]);
}

/// What sits on the crank is off it before a starter or air turns it.
#[test]
fn a_tool_on_the_crank_is_off_before_it_turns() {
    let told = |item: &str, work: &str| {
        let on = SOUND
            .replace(
                "Refit the fuel pump relay.}",
                &format!("Refit the fuel pump relay., {item}: Take it off.}}"),
            )
            .replace(
                "restores: [fuel pump relay]",
                &format!("restores: [fuel pump relay, {item}]"),
            );
        problems(&on.replace("work: crank\n", &format!("work: {work}\n")))
    };
    let on =
        |item: &str, line: &str| format!("{line} the {item} may still be on the crank at step");
    let found = told("turning tool", "crank");
    assert_eq!(
        found,
        [
            on("turning tool", "42:11:") + " `prove` (its work is proving crank)",
            on("turning tool", "51:11:") + " `crank` (its work is crank)"
        ]
    );
    assert_eq!(told("crank lock", "crank").len(), 2);
    assert_eq!(told("oil filler cap", "crank"), [""; 0]);
    // a lock holds the crank against air
    let by_air = |item: &str| {
        let found = told(item, "pressurise cylinder");
        found
            .iter()
            .filter(|told| told.contains("`crank` (its work is pressurise"))
            .count()
    };
    assert_eq!((by_air("turning tool"), by_air("crank lock")), (1, 0));
}

/// An engine that fired at the proof, or ran in a capture, was not cut off.
#[test]
fn an_engine_that_fired_is_cut_off_anew() {
    let again = SOUND.replace(
        "    then: crank\n    if-not: back-not-done",
        "    at-most: {times: 3, then: back-not-done}\n    then: crank\n    if-not: again",
    );
    assert_eq!(
        problems(&again),
        [
            "42:11: step `prove` needs `fuel off`, which does not hold on every way to it (its work is proving crank)",
            "52:11: step `crank` needs `fuel off`, which does not hold on every way to it (its work is crank)"
        ]
    );
    let ran = |to: &str| {
        let branches = format!(
            "    test: result\n    then:\n      - when: running\n        go: {to}\n      - when: even, unclear, range\n        go: back-not-done\n      \
             - when: otherwise\n        go: back-found\n  back-found"
        );
        let (head, tail) = SOUND.split_once("    test: verdict").unwrap();
        let (_, tail) = tail.split_once("  back-found").unwrap();
        problems(&format!("{head}{branches}{tail}"))
    };
    assert_eq!(ran("back-not-done"), [""; 0]);
    let found = ran("crank");
    assert!(
        found
            .iter()
            .any(|told| told.contains("step `crank` needs `fuel off")),
        "{found:?}"
    );
}

/// Words that are still to come warn of nothing, and a statement without any lets a yes stand for nothing.
#[test]
fn placeholders_are_no_words() {
    for to_come in ["TODO", "...", "tbd."] {
        let told = format!("49:13: the hazard of step `crank` is not written yet: \"{to_come}\"");
        expect(
            "danger: Belts turn.",
            &format!("danger: {to_come}"),
            &[&told],
        );
    }
    expect(
        "confirm: The vehicle cannot move.",
        "confirm: OK?",
        &["17:14: the statement of step `held` says nothing: \"OK?\""],
    );
    // where nothing rests on it, it may be short
    expect("confirm: Everything is back.", "confirm: Ready.", &[]);
}

/// A notice warns of damage to things; it says nothing of the people whom the work can hurt.
#[test]
fn a_notice_is_no_hazard_of_work_that_hurts() {
    expect(
        "    danger: Belts turn.\n",
        "    notice: Belts turn.\n",
        &["49:13: step `crank` is work that can hurt people, and has only a notice"],
    );
    expect(
        "    danger: Belts turn.\n",
        "    danger: Belts turn.\n    notice: The starter grows hot.\n",
        &[],
    );
    // where nobody can be hurt, things are what there is to look after
    expect(
        "    warning: The vehicle may move.\n",
        "    notice: The vehicle may move.\n",
        &[],
    );
}

/// Wherever nothing fills them in, braces would be read as they stand.
#[test]
fn braces_that_nothing_fills_are_refused_wherever_they_stand() {
    expect(
        "title: A small",
        "title: A {rest-reading}",
        &["3:10: a value in braces stands in `title` of the procedure"],
    );
    expect(
        "purpose: The others",
        "purpose: The {others}",
        &["4:14: a value in braces stands in `purpose` of the procedure"],
    );
    expect(
        "phase: make safe",
        "phase: make {safe}",
        &["8:17: a value in braces stands in `phase` of step `drive`"],
    );
    expect(
        "Refit the fuel pump relay.}",
        "\"Refit at {rest-reading} V.\"}",
        &["33:43: a value in braces stands in `disables` of step `cut-fuel`"],
    );
    expect(
        "    then: rest-reading\n    if-not: turned-away\n  rest-reading:\n",
        "    then: rough\n    if-not: turned-away\n  rough:\n    ask: How much?\n    choose:\n      more: More than {limit}\n      less: Less\n    \
         then: rest-reading\n  rest-reading:\n",
        &["24:23: a value in braces stands in `choose` of step `rough`"],
    );
}
