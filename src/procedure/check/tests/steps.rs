//! Flaws that one step shows by itself.

use super::{broken, expect, problems};

#[test]
fn unknown_steps_are_named_with_the_nearest() {
    expect(
        "then: judge",
        "then: jugde",
        &["55:11: there is no step `jugde`"],
    );
    expect(
        "then: back-not-done}",
        "then: nowhere}",
        &["54:31: there is no step `nowhere`"],
    );
    expect(
        "same-as: back-found",
        "same-as: back-fond",
        &["76:14: there is no step `back-fond` to be the same as"],
    );
    let twice = broken("same-as: back-found", "same-as: back-fond")
        + "  again: {same-as: back-fond, then: turned-away}\n";
    assert_eq!(
        problems(&twice)[0],
        "76:14: there is no step `back-fond` to be the same as, named at lines 76, 85"
    );
    // one that is misspelt where it is defined is told once for all that name it
    expect(
        "  back-found:\n",
        "  back-fuond:\n",
        &[
            "62:13: there is no step `back-found`",
            "76:14: there is no step `back-found` to be the same as",
        ],
    );
    expect(
        "  back-not-done:\n",
        "  back-not-doen:\n",
        &["38:13: there is no step `back-not-done`, named at lines 38, 47, 54, 66"],
    );
}

#[test]
fn unknown_keys_are_refused() {
    expect(
        "restores: [fuel pump relay]",
        "restore: [fuel pump relay]",
        &["70:5: step `back-found` has an unknown key `restore`"],
    );
    expect(
        "    capture: cranking",
        "    capture: cranking\n    finding: x",
        &["54:5: `finding` does not belong in step `crank`"],
    );
}

#[test]
fn a_step_asks_one_thing() {
    expect(
        "    capture: cranking\n",
        "    capture: cranking\n    note: text\n",
        &["54:5: step `crank` asks 2 things: capture, note"],
    );
    expect(
        "    capture: cranking\n",
        "",
        &["48:3: step `crank` asks nothing"],
    );
    // what a step adds to the one that it is the same as is taken away in itself
    expect(
        "    same-as: back-found\n",
        "    same-as: back-found\n    note: text\n",
        &["77:5: step `back-not-done` asks 2 things: confirm, note"],
    );
}

#[test]
fn work_must_be_said_with_its_hazards() {
    expect(
        "    work: none\n    restores",
        "    restores",
        &["68:9: step `back-found` has something to do but no `work`"],
    );
    expect(
        "    work: crank",
        "    work: cranc",
        &["51:11: `cranc` is no kind of work"],
    );
    expect(
        "    danger: Belts turn.\n",
        "",
        &["50:11: step `crank` is work that can hurt, without a hazard"],
    );
    expect(
        "    work: crank\n",
        "    work: none\n",
        &["53:14: step `crank` captures cranking, but its `work` is not `crank`"],
    );
    expect(
        "    work: crank\n",
        "    work: [crank, none]\n",
        &["51:11: `none` stands beside another kind of work"],
    );
    expect(
        "work: proving crank",
        "work: none",
        &["45:19: step `prove` establishes `fuel off proved` without a proving crank"],
    );
    expect(
        "    revokes: [key away]\n    capture",
        "    capture",
        &["51:11: step `crank` (crank) does not revoke `key away`"],
    );
}

#[test]
fn a_hazard_says_what_work_it_belongs_to() {
    expect(
        "    confirm: No high-voltage drive.\n",
        "    danger: High voltage.\n    confirm: No high-voltage drive.\n",
        &["7:3: step `drive` has a hazard but no `work`"],
    );
}

#[test]
fn only_yes_establishes() {
    expect(
        "    capture: cranking\n",
        "    capture: cranking\n    establishes: [leads safe]\n",
        &["54:18: step `crank` has `establishes` but is no `confirm` step"],
    );
    expect(
        "    establishes: [fuel off proved]\n    then",
        "    then",
        &[
            "50:11: step `crank` needs `fuel off proved`, which does not hold on every way to it (its work is crank)",
        ],
    );
}

#[test]
fn undoing_a_protection_revokes_it() {
    expect(
        "    revokes: [fuel off, fuel off proved]\n",
        "",
        &[
            "70:15: step `back-found` must revoke `fuel off`, `fuel off proved`: it puts back `fuel pump relay`",
        ],
    );
    expect(
        "    revokes: [fuel off proved]\n",
        "",
        &["32:11: step `cut-fuel` must revoke `fuel off proved`: it touches fuel"],
    );
}

#[test]
fn gaps_overlaps_and_tests_that_never_hold_are_found() {
    expect(
        "\">= 12.20\"",
        "\"> 12.20\"",
        &["27:9: no branch of step `rest-reading` takes this: 12.20"],
    );
    expect(
        "\"< 12.20\"",
        "\"<= 12.20\"",
        &["27:9: `<= 12.20` and `>= 12.20` both hold for 12.20"],
    );
    expect(
        "\"< 12.20\"",
        "\"< 12.20, > 20\"",
        &["25:9: a test in `< 12.20, > 20` never holds"],
    );
    expect(
        "\"< 12.20\"",
        "\"< 12.205\"",
        &["25:9: `< 12.205` is finer than the resolution 0.01"],
    );
    expect(
        "\"< 12.20\"",
        "low",
        &["25:9: `low` is tested where a number comes"],
    );
    expect(
        "\"[0..20]\"",
        "\"[0..20.001]\"",
        &["23:71: an end of `possible` is no multiple of the resolution 0.01"],
    );
    expect(
        "\"[11.5..13]\"",
        "\"[11.5..23]\"",
        &["23:92: what is expected is not possible"],
    );
    expect(
        "\">= 12.20\"",
        "< 13",
        &[
            "27:9: `< 12.20` and `< 13` both hold for 0.00 to 12.19",
            "27:9: no branch of step `rest-reading` takes this: 13.00 to 20.00",
        ],
    );
    expect(
        "\">= 12.20\"",
        "> 13",
        &["27:15: a text that begins with `>` stands without quotes"],
    );
}

#[test]
fn names_are_taken_once_each() {
    expect(
        "when: otherwise",
        "when: even, inconclusive",
        &["65:9: `inconclusive` is taken twice: here and by `inconclusive`"],
    );
    expect("when: low", "when: lo", &["61:9: `lo` never comes here"]);
    expect(
        "when: otherwise",
        "when: \"not(low, inconclusive, even)\"",
        &["65:9: no branch of step `judge` takes this: even"],
    );
    expect(
        "when: inconclusive",
        "when: \"not(low)\"",
        &["65:9: `otherwise` never holds: the others take everything"],
    );
    expect(
        "    test: verdict\n",
        "",
        &["56:3: step `judge` does not say which fact its branches test"],
    );
    expect(
        "test: verdict",
        "test: verdic",
        &["59:11: `relative compression` gives no fact `verdic`"],
    );
    expect(
        "test: verdict",
        "test: why",
        &["61:7: step `judge` has branches over something that cannot be tested"],
    );
}

#[test]
fn values_fit_where_they_are_used() {
    expect(
        "{capture: crank}",
        "{capture: rest-reading}",
        &[
            "58:12: `capture` of `relative compression` must be a capture; `rest-reading` is a voltage",
        ],
    );
    expect(
        "{capture: crank}",
        "{captur: crank}",
        &[
            "57:14: step `judge` does not hand over `capture`",
            "58:12: `relative compression` takes no `captur`",
        ],
    );
    expect(
        "{judge.lowest cylinder} is",
        "{judge.lowest} is",
        &["80:23: `relative compression` gives no fact `lowest`"],
    );
    expect(
        "{judge.lowest cylinder} is",
        "{judge} is",
        &[
            "80:23: what is shown in a text must be a choice, a number or a text; `judge` is the whole result of \
             `relative compression`",
        ],
    );
    expect(
        "{judge.lowest cylinder} is",
        "{judge.why is",
        &["80:23: `finding` of step `found`: a brace `{` is not closed"],
    );
    expect(
        "Belts turn.",
        "Belts turn at {rest-reading}.",
        &["49:27: a value in braces stands in `danger` of step `crank`"],
    );
    expect(
        "gives: {volts: rest-reading}",
        "gives: {volts: rest-readin}",
        &["5:16: `gives: volts`: `rest-readin` is neither a step nor an input"],
    );
}

#[test]
fn record_lines_want_their_form() {
    expect(
        "    ask: Battery voltage",
        "    fills: odometer\n    ask: Battery voltage",
        &["22:12: step `rest-reading` cannot fill the line `odometer`"],
    );
    expect(
        "    ask: Battery voltage",
        "    fills: odometre\n    ask: Battery voltage",
        &["22:12: the record has no line `odometre`"],
    );
}

#[test]
fn slips_of_the_pen_in_conditions_are_found() {
    expect(
        "establishes: [drive checked]",
        "establishes: [drive cheked]",
        &["10:19: the condition `drive cheked` is written nearly like `drive checked`"],
    );
    let digits = broken(
        "then: crank\n",
        "needs: [lead 1 tight, lead 2 tight]\n    then: crank\n",
    );
    // two that differ by a digit are two: both are missing
    assert_eq!(problems(&digits).len(), 2);
}

/// What is wanted and what is there, for choices, numbers and whole results.
#[test]
fn what_does_not_fit_is_told_with_what_would() {
    let computed = |asks: &str, with: &str, what: &str| {
        let judge = "  judge:\n    compute: relative compression\n    with: {capture: crank}\n";
        let steps = format!(
            "  asked:\n{asks}    then: sized\n  sized:\n    compute: {what}\n    with: {with}\n    then: judge\n{judge}"
        );
        let found = problems(&broken(judge, &steps).replacen("then: judge", "then: asked", 1));
        found
            .iter()
            .map(|told| told.splitn(3, ':').nth(2).unwrap().trim().to_owned())
            .collect::<Vec<_>>()
    };
    let choose = "    ask: Which battery?\n    choose: {gel: Gel, agm: Glass mat}\n";
    assert_eq!(
        computed(
            choose,
            "{voltage: rest-reading, system: asked, kind: asked}",
            "rested battery"
        ),
        [
            "`system` of `rested battery` must be a choice among twelve-volts, twenty-four-volts; `asked` is a \
             choice among gel, agm",
            "`kind` of `rested battery` must be a choice among flooded, enhanced-flooded, mat, gel, lithium; \
             `asked` also has agm",
        ]
    );
    let ampere =
        "    ask: Current\n    measure: {unit: A, resolution: 1, possible: \"[0..900]\"}\n";
    assert_eq!(
        computed(ampere, "{dry: asked, wet: rest-reading}", "wet gain"),
        [
            "`dry` of `wet gain` must be a gauge pressure; `asked` is a current",
            "`wet` of `wet gain` must be a gauge pressure; `rest-reading` is a voltage",
        ]
    );
}

#[test]
fn who_writes_hazard_is_told_its_words() {
    let text = broken(
        "    warning: The vehicle may move.\n",
        "    hazard: The vehicle may move.\n",
    );
    let source = |_: &str| Some(("sound.yaml".to_owned(), text.clone()));
    let found = crate::procedure::read_library("sound", &source).unwrap_err();
    let told = found
        .iter()
        .find(|p| p.message.contains("unknown key `hazard`"))
        .unwrap();
    assert_eq!(
        told.remedy,
        "Hazards are written `danger`, `warning`, `caution` or `notice`, by how bad they are."
    );
}
