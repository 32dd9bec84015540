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
