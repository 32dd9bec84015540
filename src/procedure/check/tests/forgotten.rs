//! Signs and lines that were forgotten: what a brace, a comma, a blank or a line above would have said.

use super::{SOUND, broken};
use crate::procedure::{Problem, read_library};

fn found(text: &str) -> Vec<Problem> {
    let source = |_: &str| Some(("sound.yaml".to_owned(), text.to_owned()));
    read_library("sound", &source).unwrap_err()
}

/// What is written, what is written by mistake, what is said of it, and how the way to mend it begins.
const FORGOTTEN: [(&str, &str, &str, &str); 14] = [
    (
        "at-most: {times: 3, then: back-not-done}",
        "at-most: {times: 3 then: back-not-done}",
        "54:24: `,` is missing before `then`",
        "Write `times: 3, then: …`.",
    ),
    (
        "possible: \"[0..20]\", expected",
        "possible: \"[0..20]\" expected",
        "23:81: `,` is missing before `expected`",
        "Write `possible: \"[0..20]\", expected: …`.",
    ),
    (
        "bystanders clear, belts clear,",
        "bystanders clear belts clear,",
        "18:33: under `establishes`, `bystanders clear belts clear` is two conditions without a comma",
        "Write `[bystanders clear, belts clear]`.",
    ),
    (
        "steps:\n",
        "",
        "6:3: a line such as `steps:` is missing above `drive`",
        "Write `steps:` on a line of its own above it",
    ),
    (
        "    do: Brake on",
        "  do: Brake on",
        "15:3: `do` stands in by 2 blanks, the keys around it by 4",
        "Give it 2 blanks more.",
    ),
    (
        "measure: {quantity:",
        "measure: quantity:",
        "23:14: `{` is missing before `quantity`",
        "Write `measure: {quantity: voltage, unit: V,",
    ),
    (
        "  back-not-done:\n    same-as: back-found\n    then: turned-away\n",
        "  back-not-done: same-as: back-found, then: turned-away}\n",
        "75:18: `{` is missing before `same-as`",
        "Write `back-not-done: {same-as: back-found, then: turned-away}`.",
    ),
    (
        "      - when: low\n        go: back-found\n      - when: inconclusive\n        go: crank\n",
        "      - {when: low, go: back-found\n      - {when: inconclusive, go: crank}\n",
        "61:9: `{` is not closed",
        "Write `}` where it ends",
    ),
    (
        "    finding: Not tested.",
        "    finding: Not tested.\n    restores: [fuel pump relay",
        "85:15: `[` is not closed",
        "Write `]` where it ends",
    ),
    (
        "{capture: crank}",
        "{capture:crank}",
        "58:12: `capture:crank` has no blank after the colon",
        "Write `capture: crank`.",
    ),
    (
        "{times: 3,",
        "{times:3,",
        "54:15: `times:3` has no blank after the colon",
        "Write `times: 3`.",
    ),
    (
        "      - when: low\n        go: back-found\n",
        "      - {when:low, go: back-found}\n",
        "61:10: `when:low` has no blank after the colon",
        "Write `when: low`.",
    ),
    (
        "    revokes: [fuel off, fuel off proved]\n    confirm: Everything",
        "    revokes:\n      - fuel off\n      -fuel off proved\n    confirm: Everything",
        "73:7: `-fuel off proved` has no blank after the dash",
        "Write `- fuel off proved`.",
    ),
    (
        "when: \"< 12.20\"",
        "when: [5..12]",
        "25:15: `when` wants one text, here stands a list",
        "Write \"[5..12]\", with quotes round it.",
    ),
];

#[test]
fn what_was_forgotten_is_told_once_where_it_belongs() {
    let mut wrong = Vec::new();
    for (written, mistaken, told, mend) in FORGOTTEN {
        let found = found(&broken(written, mistaken));
        let first: Vec<String> = found
            .iter()
            .map(|p| {
                let Problem {
                    position,
                    message,
                    remedy,
                    ..
                } = p;
                format!(
                    "{}:{}: {message} / {remedy}",
                    position.line, position.column
                )
            })
            .collect();
        let right =
            found.len() == 1 && first[0].starts_with(told) && found[0].remedy.starts_with(mend);
        if !right {
            wrong.push((told, first));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// The statement is there, and only the line that has it establish something is not.
#[test]
fn a_statement_that_establishes_nothing_is_named() {
    let text = SOUND.replace(
        "    confirm: No high-voltage drive.\n    establishes: [drive checked]\n",
        "    confirm: I have checked it, there is no high voltage.\n",
    );
    assert_ne!(text, SOUND);
    let wanted = "No step establishes `drive checked`. Step `drive` seems to say it: if it does, give that step the line \
                  `establishes: [drive checked]`.";
    let told: Vec<String> = found(&text).into_iter().map(|p| p.remedy).collect();
    assert!(told.iter().any(|remedy| remedy == wanted), "{told:#?}");
}
