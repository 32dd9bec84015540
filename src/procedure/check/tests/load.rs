//! Files that are refused when they are read.

use super::{SOUND, broken, expect, problems, problems_of};

#[test]
fn equal_keys_are_refused() {
    expect(
        "    danger: Belts turn.\n",
        "    danger: Belts turn.\n    danger: Nothing.\n",
        &["50:5: `danger` stands twice; the first is in line 49"],
    );
}

#[test]
fn anchors_aliases_and_tags_are_refused() {
    expect(
        "finding: Not tested.",
        "finding: &a Not tested.",
        &["84:14: an anchor (`&name`) is not allowed here"],
    );
    expect(
        "finding: Not tested.",
        "finding: !!str Not tested.",
        &["84:14: a tag (`!name`) is not allowed here"],
    );
    expect(
        "finding: Not tested.",
        "finding: *a",
        &["84:14: a text that begins with `*` stands without quotes"],
    );
}

#[test]
fn a_second_document_is_refused() {
    let text = format!("{SOUND}---\nprocedure: other\n");
    assert_eq!(
        problems(&text),
        ["85:1: a second document (`---`) in one file"]
    );
}

#[test]
fn what_is_too_deep_or_too_large_is_refused() {
    for depth in [20, 200_000] {
        let deep = format!("finding: {}x{}", "[".repeat(depth), "]".repeat(depth));
        let found = problems(&broken("finding: Not tested.", &deep));
        assert_eq!(found.len(), 1);
        assert!(found[0].contains("nested more than 16 deep") || found[0].contains("limit"));
    }
    let large = format!("{SOUND}# {}\n", "x".repeat(1 << 20));
    assert_eq!(problems(&large).len(), 1);
    assert!(problems(&large)[0].contains("more than 1048576"));
}

#[test]
fn words_that_yaml_takes_for_something_else_are_refused() {
    expect(
        "finding: Not tested.",
        "finding: no",
        &["84:14: `finding` is `no` without quotes"],
    );
    expect(
        "finding: Not tested.",
        "finding: 12",
        &["84:14: `finding` is `12` without quotes"],
    );
    assert_eq!(
        problems(&broken("finding: Not tested.", "finding: \"no\"")),
        [""; 0]
    );
}

#[test]
fn text_cut_by_a_comment_is_refused() {
    expect(
        "do: Crank for seven",
        "do: Crank # for seven",
        &["50:15: ` #` cuts `do` off here"],
    );
    // comments elsewhere are fine
    let text = broken("work: crank", "work: crank # as said");
    assert_eq!(problems(&text), [""; 0]);
}

#[test]
fn letters_that_steer_or_hide_are_refused() {
    expect(
        "finding: Not tested.",
        "finding: Not \u{202e}tested.",
        &["84:18: the character U+202E is not allowed"],
    );
    expect(
        "finding: Not tested.",
        "finding: \"Not\\e[2Ktested.\"",
        &["84:14: the character U+001B is not allowed"],
    );
    expect(
        "finding: Not tested.",
        "finding: Not\u{1b}[2K tested.",
        &["84:17: the character U+001B is not allowed"],
    );
}

#[test]
fn what_is_no_yaml_is_refused_with_its_place() {
    expect(
        "finding: Not tested.",
        "finding: Not: tested.",
        &["84:17: `: ` stands in a text without quotes"],
    );
    expect(
        "    danger: Belts turn.\n",
        "\tdanger: Belts turn.\n",
        &["49:1: a tab stands in the indentation"],
    );
    assert_eq!(problems(""), ["1:1: the file is empty"]);
    assert_eq!(
        problems("[]"),
        ["1:1: the procedure wants lines `key: value`, here stands a list"]
    );
    assert_eq!(
        problems("just words"),
        ["1:1: the procedure wants lines `key: value`, here stands one text"]
    );
}

#[test]
fn a_missing_procedure_and_a_ring_are_refused() {
    let call = "  found:\n    call: other\n    then: turned-away\n";
    let caller = SOUND.replace(
        "  found:\n    outcome: fault-found\n    finding: Cylinder {judge.lowest cylinder} is low.\n    advice: \"{judge.why}\"\n",
        call,
    );
    assert_eq!(problems(&caller), ["79:11: there is no procedure `other`"]);
    let ring = "procedure: other\nrevision: 1\ntitle: t\npurpose: p\nsteps:\n  back:\n    phase: p\n    call: sound\n    then: end\n  end:\n    outcome: not-done\n    finding: f\n";
    assert_eq!(
        problems_of(&[("sound", &caller), ("other", ring)]),
        ["8:11: procedures call each other in a ring: sound → other → sound"]
    );
}

#[test]
fn a_decimal_comma_gets_one_message() {
    expect(
        "resolution: 0.01,",
        "resolution: 0,01,",
        &["23:55: `resolution: 0,01` has a comma: the decimal sign is a point"],
    );
    expect(
        "possible: \"[0..20]\",",
        "possible: 0,5..20,",
        &["23:71: `possible: 0,5..20` has a comma: the decimal sign is a point"],
    );
    expect(
        "possible: \"[0..20]\",",
        "possible: \"[0,5..20]\",",
        &["23:71: `[0,5..20]` is no closed range: the decimal sign is a point: write 0.5, not 0,5"],
    );
    expect(
        "measure: {quantity: voltage, unit: V, resolution: 0.01, possible: \"[0..20]\", expected: \"[11.5..13]\"}",
        "measure:\n      unit: V\n      resolution: 0,01\n      possible: \"[0..20]\"",
        &["25:19: `resolution` is `0,01`: the decimal sign is a point"],
    );
    expect(
        "when: \"< 12.20\"",
        "when: \"< 12,20\"",
        &[
            "25:15: `when: < 12,20` is no test: `12,20` would be two tests, `< 12` and `20`: write 12.20 for one \
             number, or a blank after the comma for two tests",
        ],
    );
}

/// What a slip is called, at the line where it was made.
#[test]
fn slips_are_told_in_plain_words_where_they_are() {
    let cases = [
        (
            "    work: none\n    confirm: The vehicle",
            "    work:none\n    confirm: The vehicle",
            "16:9: `work:none` has no blank after the colon",
        ),
        (
            "    work: none\n    confirm: The vehicle",
            "    work none\n    confirm: The vehicle",
            "16:9: `work none` has no colon",
        ),
        (
            "if-not: turned-away\n  rest-reading",
            "if-not:turned-away\n  rest-reading",
            "20:11: `if-not:turned-away` has no blank after the colon",
        ),
        (
            "expected: \"[11.5..13]\"}",
            "expected: \"[11.5..13]\"",
            "23:14: `{` is not closed",
        ),
        (
            "then: back-not-done}",
            "then: back-not-done",
            "54:14: `{` is not closed",
        ),
        (
            "[drive checked]",
            "[drive checked",
            "10:18: `[` is not closed",
        ),
        (
            "ask: Battery",
            "ask:\u{a0}Battery",
            "22:9: a no-break space (U+00A0) stands where a blank must",
        ),
        (
            "    ask: Battery",
            "   \u{a0}ask: Battery",
            "22:4: a no-break space (U+00A0) stands where a blank must",
        ),
        (
            "    confirm: The vehicle",
            "   confirm: The vehicle",
            "17:4: `confirm` stands in by 3 blanks, as no line above it does",
        ),
        (
            "    confirm: The vehicle",
            "     confirm: The vehicle",
            "17:6: `confirm` stands in by 5 blanks, the line above by 4",
        ),
        (
            "  held:\n",
            "   held:\n",
            "13:4: step `held` stands in by 3 blanks, the other steps by 2",
        ),
        (
            "  held:\n",
            " held:\n",
            "13:2: step `held` stands in by 1 blank, the other steps by 2",
        ),
        (
            "confirm: The vehicle cannot",
            "confirm: Check: the vehicle cannot",
            "17:19: `: ` stands in a text without quotes",
        ),
    ];
    for (from, to, wanted) in cases {
        expect(from, to, &[wanted]);
    }
}

/// What follows from a slip is not told beside it.
#[test]
fn a_slip_is_told_without_what_follows_from_it() {
    let cases = [
        (
            "    if-not: turned-away\n",
            "    if_not: turned-away\n",
            "has an unknown key `if_not`",
        ),
        (
            "title:",
            "titel:",
            "the procedure has an unknown key `titel`",
        ),
        ("    phase: ", "    phaze: ", "has an unknown key `phaze`"),
        (
            "    work: crank\n",
            "    work: cranking\n",
            "`cranking` is no kind of work",
        ),
        (
            "    work: crank\n",
            "    wrok: crank\n",
            "step `crank` has an unknown key `wrok`",
        ),
        (
            "    danger: Belts",
            "    hazard: Belts",
            "step `crank` has an unknown key `hazard`",
        ),
        (
            "    revokes: [key away]\n    capture",
            "    revoke: [key away]\n    capture",
            "has an unknown key `revoke`",
        ),
        (
            "    revokes: [fuel off, fuel off proved]\n",
            "    revoke: [fuel off, fuel off proved]\n",
            "unknown key `revoke`",
        ),
        (
            "    confirm: The vehicle",
            "    confrim: The vehicle",
            "has an unknown key `confrim`",
        ),
        (
            "    with: {capture: crank}",
            "    wiht: {capture: crank}",
            "has an unknown key `wiht`",
        ),
        (
            "    test: verdict",
            "    tset: verdict",
            "has an unknown key `tset`",
        ),
        (
            "[vehicle held,",
            "[vehicle hold,",
            "the condition `vehicle hold` is written nearly like `vehicle held`",
        ),
        (
            "  back-found:\n",
            "  held:\n    note: text\n    ask: Twice\n    then: found\n  back-found:\n",
            "`held` stands twice",
        ),
    ];
    for (from, to, told) in cases {
        let found = problems(&broken(from, to));
        assert!(
            found.len() == 1 && found[0].contains(told),
            "{to}: {found:#?}"
        );
    }
}

/// Signs that YAML takes for its own, and quotes that are none to it.
#[test]
fn texts_that_want_quotes_are_told_so() {
    let cases = [
        (
            "\">= 12.20\"",
            ">= 12.20",
            "27:15: a text that begins with `>` stands without quotes",
        ),
        (
            "Cylinder {judge.lowest cylinder} is low.",
            "{judge.lowest cylinder} is low.",
            "80:14: a text that begins with `{` stands without quotes",
        ),
        (
            "\"{judge.why}\"",
            "{judge.why}",
            "81:13: `advice` wants one text, here stands `key: value` lines",
        ),
        (
            "\"[0..20]\"",
            "“[0..20]”",
            "23:71: quotes must be straight ones to YAML",
        ),
    ];
    for (from, to, told) in cases {
        assert_eq!(problems(&broken(from, to)), [told], "{to}");
    }
}
