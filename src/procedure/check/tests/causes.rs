//! Slips of which only the cause is told, and how each is mended.

use super::{SOUND, broken};
use crate::procedure::{Problem, read_library};

fn found(text: &str) -> Vec<Problem> {
    let source = |_: &str| Some(("sound.yaml".to_owned(), text.to_owned()));
    read_library("sound", &source).unwrap_err()
}

/// What is broken, what by, and what the one problem says: its message, and what mends it.
const SLIPS: [(&str, &str, &str, &str); 52] = [
    (
        "work: proving crank",
        "work: proving\u{a0}crank",
        "a no-break space (U+00A0) stands in `work` where a blank must",
        "type a blank",
    ),
    (
        "- when: \">= 12.20\"",
        "-when: \">= 12.20\"",
        "`-when` has no blank after the dash",
        "Write `- when: \">= 12.20\"`.",
    ),
    (
        "advice: \"{judge.why}\"",
        "advice: \"{judge.why}",
        "the quote \" is not closed",
        "Write \"{judge.why}\", or take the quote away.",
    ),
    (
        "advice: \"{judge.why}\"",
        "advice: \"Repair\" it.",
        "the quotes stand round a part of the text",
        "Write '\"Repair\" it.'.",
    ),
    (
        "  held:\n",
        "  held\n",
        "`held` has no colon",
        "Write `held:`.",
    ),
    (
        "do: Brake on, wheels chocked,",
        "do: Brake on,\n    wheels chocked,",
        "`wheels chocked, belts and bystanders clear, charger off.` does not stand deeper than `do`, whose text it goes on with",
        "Write it behind `Brake on,` on the same line, or give it more blanks than `do` has.",
    ),
    (
        "        go: turned-away\n",
        "        then: turned-away\n",
        "a branch has an unknown key `then`",
        "Did you mean `go`?",
    ),
    (
        "    then: rest-reading\n",
        "    yes: rest-reading\n",
        "step `held` has an unknown key `yes`",
        "Did you mean `then`?",
    ),
    (
        "    then: rest-reading\n    if-not: turned-away",
        "    then: rest-reading\n    no: turned-away",
        "step `held` has an unknown key `no`",
        "Did you mean `if-not`?",
    ),
    (
        "    danger: The engine",
        "    DANGER: The engine",
        "step `prove` has an unknown key `DANGER`",
        "Did you mean `danger`?",
    ),
    (
        "  held:\n",
        "  drive:\n",
        "`drive` stands twice; the first is in line 7",
        "give the other its own name",
    ),
    (
        "  held:\n",
        "  Vehicle Held:\n",
        "`Vehicle Held` cannot be a step's id",
        "lower-case letters",
    ),
    (
        "when: low\n",
        "when: lower\n",
        "`lower` never comes here",
        "Did you mean `low`?",
    ),
    (
        "when: low\n        go: back-found\n      - when: inconclusive\n        go: crank\n      - when: otherwise",
        "when: weak\n        go: back-found\n      - when: inconclusive\n        go: crank\n      - when: even",
        "`weak` never comes here",
        "Did you mean `low`? No branch takes it yet.",
    ),
    (
        "    confirm: Everything is back.\n",
        "    note: text\n",
        "step `back-found` has no `ask`",
        "That line holds for `back-not-done` too",
    ),
    (
        "at-most: {times: 3, then: back-not-done}",
        "at-most: 4",
        "`at-most` does not say where the next visit leads",
        "Write `at-most: {times: 4, then: step-id}`.",
    ),
    (
        "    then: rest-reading\n    if-not: turned-away",
        "    then: [rest-reading, turned-away]",
        "`then` of step `held` names two steps",
        "Write `then: rest-reading` for yes and, on a line of its own, `if-not: turned-away` for no.",
    ),
    (
        "    danger: Belts turn.\n",
        "    danger: Belts turn.\n    danger: Fans too.\n",
        "`danger` stands twice; the first is in line 49",
        "Write `danger:` once, and under it each text on a line of its own",
    ),
    (
        "    then: rest-reading\n    if-not: turned-away",
        "    then: rest-reading\n  if-not: turned-away",
        "`if-not` stands among the steps, not among the keys of one",
        "Give it as many blanks as the other keys of `held` have.",
    ),
    (
        "when: \"< 12.20\"",
        "when: \"[0.00-12.19]\"",
        "`when: [0.00-12.19]` is no test: for between write `[0.00..12.19]`; a comma between two tests means or",
        "Forms",
    ),
    (
        "when: \"< 12.20\"",
        "when: \">= 0.00 and < 12.20\"",
        "`when: >= 0.00 and < 12.20` is no test: for between write `[0.00..12.20]`; a comma between two tests means or",
        "Forms",
    ),
    (
        "when: \"< 12.20\"",
        "when: \">= 0.01, < 12.20\"",
        "`>= 0.01, < 12.20` and `>= 12.20` both hold for 12.20 to 20.00",
        "The comma in `>= 0.01, < 12.20` means or: it takes everything. For between write \"[0.01..12.20)\".",
    ),
    (
        "{judge.lowest cylinder} is",
        "{Judge.Lowest cylinder} is",
        "`finding` of step `found`: `Judge.Lowest cylinder` is no path to a value",
        "Did you mean `{judge.lowest cylinder}`?",
    ),
    (
        "Cylinder {judge",
        "At {Rest_Reading} V cylinder {judge",
        "`finding` of step `found`: `Rest_Reading` is no path to a value",
        "Did you mean `{rest-reading}`?",
    ),
    (
        "  back-not-done:\n",
        "  back-not-doen:\n",
        "there is no step `back-not-done`, named at lines 38, 47, 54, 66",
        "Did you mean `back-not-doen` (line 75)? No other step leads there, so its own name may be the misspelt one.",
    ),
    (
        "disables: {fuel pump relay:",
        "disables: {pump relay:",
        "`pump relay` is no thing that is known to cut the fuel",
        "Did you mean `fuel pump relay`?",
    ),
    (
        "disables: {fuel pump relay:",
        "disables: {fuel pump relais:",
        "`fuel pump relais` is no thing that is known to cut the fuel",
        "Did you mean `fuel pump relay`?",
    ),
    (
        "    then: held\n",
        "    then:\theld\n",
        "a tab stands after the colon of `then`",
        "Put a blank",
    ),
    (
        "        go: turned-away\n",
        "      go: turned-away\n",
        "`go` stands in by 6 blanks, `when` of the same branch by 8",
        "Give it 2 blanks more, so that it stands under `when`.",
    ),
    (
        "do: Crank for two",
        "do: - Crank for two",
        "a dash stands behind `do:` on the same line",
        "Write `do: Crank for two seconds at most.`",
    ),
    (
        "    then: held\n",
        "    then: held:\n",
        "a colon stands behind `held`",
        "Write `then: held`.",
    ),
    (
        "      - when: low\n",
        "        when: low\n",
        "`when` has no dash before it",
        "write `- when: low`",
    ),
    (
        "      - when: low\n        go: b",
        "      when: low\n        go: b",
        "`when` has no dash before it",
        "write `- when: low`",
    ),
    (
        "      - when: inconclusive\n",
        "        when: inconclusive\n",
        "`when` stands twice in one branch; the first is in line 61",
        "write `- when:` here",
    ),
    (
        "do: Refit what",
        "do: >-\n    Refit what",
        "the text of `do: >-` does not stand deeper than `do`",
        "Give each of its lines 6 blanks",
    ),
    (
        "do: Refit what was taken off.",
        "do: >-\n    Refit what\n    was taken off.",
        "the text of `do: >-` does not stand deeper than `do`",
        "Give each of its lines 6 blanks",
    ),
    (
        "do: Refit what was taken off.",
        "do: 'The starter's leads.'",
        "the quotes stand round a part of the text",
        "Write \"The starter's leads.\".",
    ),
    (
        "do: Refit what was taken off.",
        "do: \"Use \"fused\" leads.\"",
        "the quotes stand round a part of the text",
        "Write 'Use \"fused\" leads.'.",
    ),
    (
        "  held:\n",
        "  2:\n",
        "`2` cannot be a step's id",
        "Begin with a letter: `step-2`.",
    ),
    (
        "when: \"< 12.20\"",
        "when: \"< 12,2\"",
        "`when: < 12,2` is no test: `12,2` would be two tests, `< 12` and `2`: write 12.2 for one number, or a blank after the comma for two tests",
        "Write \"< 12.2\".",
    ),
    (
        "when: \"< 12.20\"",
        "when: 12.20 V",
        "`when: 12.20 V` is no test: `12.20 V` is no number; leave the unit out, it is the step's",
        "Write \"12.20\" for exactly that, \"< 12.20\"",
    ),
    (
        "when: otherwise",
        "when: otherwhise",
        "`otherwhise` is written nearly like `otherwise`",
        "Did you mean `otherwise`?",
    ),
    (
        "when: inconclusive\n",
        "when: inconclusive or low\n",
        "`when: inconclusive or low` is no test: `inconclusive or low` is no number; a comma between two tests means or",
        "For or write a comma: \"inconclusive, low\".",
    ),
    (
        "when: inconclusive\n",
        "when: [inconclusive, even]\n",
        "`when` wants one text, here stands a list",
        "Write `inconclusive, even`, without brackets.",
    ),
    (
        "with: {capture: crank}",
        "with: {capture: {crank}}",
        "`crank` stands in braces where a value is handed over",
        "Write `capture: crank`, without braces.",
    ),
    (
        "with: {capture: crank}",
        "with: {capture: \"{crank}\"}",
        "`{crank}` is no path to a value",
        "Write `capture: crank`, without braces.",
    ),
    (
        "with: {capture: crank}",
        "with: {capture: 180}",
        "`180` is no path to a value",
        "ask for it in one and write its id, `capture: step-id`",
    ),
    (
        "    restores: [fuel pump relay]\n",
        "",
        "step `back-found` asks until the answer is yes, and restores nothing",
        "write `restores: [fuel pump relay]` in it",
    ),
    (
        "at-most: {times: 3, then: back-not-done}",
        "at-most: {times: 3, then: judge}",
        "a loop without an end: crank → judge → crank",
        "The `at-most` of `crank` leads to `judge`, which goes round with it again.",
    ),
    (
        "disables: {fuel pump relay: Refit the fuel pump relay.}",
        "disables: [fuel pump relay]",
        "`disables` wants lines `thing: how it is put back`, here stands a list",
        "for each thing: `fuel pump relay: Refit",
    ),
    (
        "      - when: low\n        go: back-found\n",
        "      - back-found\n",
        "a branch wants two lines, `when` and `go`, here stands one text",
        "`go: back-found`",
    ),
    (
        "    with: {capture: crank}",
        "    with: crank",
        "`with` wants lines `input: step-id`, here stands one text",
        "`with: {input: step-id}`",
    ),
];

#[test]
fn one_slip_is_told_once_with_what_mends_it() {
    for (from, to, message, mend) in SLIPS {
        let found = found(&broken(from, to));
        assert_eq!(found.len(), 1, "{to}: {found:#?}");
        assert_eq!(found[0].message, message);
        assert!(found[0].remedy.contains(mend), "{to}: {}", found[0].remedy);
    }
}

/// Where nothing establishes what is needed: the condition that seems to be meant, and what a called procedure can do.
#[test]
fn what_may_mend_a_missing_condition_is_named() {
    let slips = [
        (
            "establishes: [vehicle held, bystanders",
            "establishes: [vehicle secured, bystanders",
            "No step establishes `vehicle held`. One has `vehicle secured`",
        ),
        (
            "    establishes: [drive checked]\n",
            "",
            "have it take a value from its caller (`takes:`)",
        ),
    ];
    for (from, to, mend) in slips {
        let found = found(&broken(from, to));
        assert!(found[0].remedy.contains(mend), "{}", found[0].remedy);
    }
}

/// A step that is only misspelt is told all the same beside one whose id is doubled.
#[test]
fn a_misspelt_step_is_told_beside_a_doubled_one() {
    let text = SOUND.replacen("  held:\n", "  drive:\n", 1);
    let text = text.replacen("    then: cut-fuel", "    then: cut-feul", 1);
    let text = text.replacen("        go: cut-fuel", "        go: cut-feul", 1);
    let messages: Vec<String> = found(&text).into_iter().map(|p| p.message).collect();
    assert_eq!(
        messages,
        [
            "`drive` stands twice; the first is in line 7",
            "there is no step `cut-feul`"
        ]
    );
}

/// An id that cannot be one is told where it is declared, not again where it is named.
#[test]
fn an_id_that_cannot_be_one_is_told_once() {
    for (id, mend) in [("2", "`step-2`"), ("veh held", "`veh-held`")] {
        let text = SOUND.replacen("  held:\n", &format!("  {id}:\n"), 1);
        let found = found(&text.replacen("then: held", &format!("then: {id}"), 1));
        assert_eq!(found.len(), 1, "{found:#?}");
        assert_eq!(found[0].message, format!("`{id}` cannot be a step's id"));
        assert!(found[0].remedy.contains(mend), "{}", found[0].remedy);
    }
}
