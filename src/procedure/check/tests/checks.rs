//! Every check has a paragraph of the reference and a file that fails it: the sound procedure with one thing
//! changed. A new check without either fails here.

use super::{broken, problems_by, problems_of};
use crate::procedure::rules::Rules;

/// What describes the language to trainers.
const REFERENCE: &str = include_str!("../../../../procedures/README.md");

/// The room's list of checks, and of what they are built from.
const ROOM: &str = include_str!("../mod.rs");
const MACHINERY: [&str; 7] = [
    "flat", "grid", "handed", "misfit", "passing", "sets", "tests",
];

/// A check, what is written, what is written in its place, what is said of it.
type Fixture = (&'static str, &'static str, &'static str, &'static str);

const FIXTURES: [Fixture; 21] = [
    (
        "tree",
        "revision: 1\n",
        "revision: 1\nrevision: 2\n",
        "`revision` stands twice",
    ),
    (
        "letters",
        "finding: Not tested.",
        "finding: Not \u{202e}tested.",
        "the character U+202E is not allowed",
    ),
    (
        "load",
        "restores: [fuel pump relay]",
        "restore: [fuel pump relay]",
        "has an unknown key `restore`",
    ),
    (
        "never_held",
        "revokes: [fuel off proved]",
        "revokes: [fuel off proved, relay in its place]",
        "step `cut-fuel` revokes `relay in its place`, which no step establishes",
    ),
    (
        "resolve",
        "then: judge",
        "then: jugde",
        "there is no step `jugde`",
    ),
    (
        "library",
        "    outcome: fault-found\n    finding: Cylinder {judge.lowest cylinder} is low.\n    advice: \"{judge.why}\"\n",
        "    call: nowhere\n    then: turned-away\n",
        "`nowhere`",
    ),
    (
        "branches",
        "\">= 12.20\"",
        "\"> 12.20\"",
        "no branch of step `rest-reading` takes this: 12.20",
    ),
    (
        "values",
        "finding: Not tested.",
        "finding: Not tested at {rest-reading}.",
        "which does not exist on every way to it",
    ),
    (
        "kinds",
        "{judge.lowest cylinder} is",
        "{judge.lowest} is",
        "gives no fact `lowest`",
    ),
    (
        "signatures",
        "{capture: crank}",
        "{captur: crank}",
        "does not hand over `capture`",
    ),
    (
        "braces",
        "Belts turn.",
        "Belts turn at {rest-reading}.",
        "a value in braces stands in `danger`",
    ),
    (
        "fills",
        "    ask: Battery voltage",
        "    fills: odometer\n    ask: Battery voltage",
        "cannot fill the line `odometer`",
    ),
    (
        "work",
        "    danger: Belts turn.\n",
        "",
        "work that can hurt, without a hazard",
    ),
    (
        "conditions",
        "    work: crank\n",
        "    work: crank\n    needs: [lead tight]\n",
        "needs `lead tight`, which does not hold on every way to it",
    ),
    (
        "revoking",
        "    revokes: [fuel off proved]\n",
        "",
        "must revoke `fuel off proved`",
    ),
    (
        "put_back",
        "    then: crank\n    if-not: back-not-done",
        "    then: crank\n    if-not: turned-away",
        "`fuel pump relay` can still be disabled at the outcome",
    ),
    (
        "loops",
        "    at-most: {times: 3, then: back-not-done}\n",
        "",
        "a loop without an end",
    ),
    (
        "reach",
        "        go: back-found",
        "        go: back-not-done",
        "no way leads to step `back-found`",
    ),
    (
        "contrary",
        "    outcome: fault-found\n",
        "    outcome: nothing-found\n",
        "`low` leads by `back-found` to nothing but `nothing-found`",
    ),
    (
        "spelling",
        "establishes: [drive checked]",
        "establishes: [drive cheked]",
        "is written nearly like `drive checked`",
    ),
    // by a policy that wants revision 2
    (
        "policy",
        "revision: 1\n",
        "revision: 1\n",
        "the shop works by revision 2 or later",
    ),
];

#[test]
fn every_check_has_a_file_that_fails_it() {
    for (check, written, mistaken, told) in FIXTURES {
        let text = broken(written, mistaken);
        let found = if check == "policy" {
            let rules = crate::record::shop::policy::Policy::read(
                "policy.yaml",
                "shop: A\nrevisions: {sound: 2}\n",
            );
            problems_by(&rules.unwrap().rules, &[("sound", super::SOUND)])
        } else {
            assert_eq!(
                problems_by(&Rules::default(), &[("sound", super::SOUND)]),
                [""; 0]
            );
            problems_of(&[("sound", &text)])
        };
        assert!(
            found.iter().any(|message| message.contains(told)),
            "{check}: {found:#?}"
        );
    }
}

#[test]
fn every_check_has_a_paragraph_of_its_own() {
    let rooms = ROOM.lines().filter_map(|line| line.strip_prefix("mod "));
    let rooms = rooms.filter_map(|line| line.strip_suffix(';'));
    let checks: Vec<&str> = rooms.filter(|room| !MACHINERY.contains(room)).collect();
    assert!(checks.len() > 10);
    for check in &checks {
        let has = FIXTURES.iter().any(|(known, ..)| known == check);
        assert!(has, "`{check}` has no file that fails it");
    }
    for (check, ..) in FIXTURES {
        let head = format!("(`{check}`)");
        let own = REFERENCE
            .lines()
            .filter(|line| line.starts_with("* **") && line.contains(&head));
        assert_eq!(own.count(), 1, "`{check}` in procedures/README.md");
    }
}

/// The tables of work and of units are those that are built in.
#[test]
fn the_tables_of_the_reference_are_those_of_the_program() {
    let row = |name: &str, listed: Vec<String>| {
        let listed: Vec<String> = listed.iter().map(|item| format!("`{item}`")).collect();
        let listed = match &listed[..] {
            [] => "nothing".to_owned(),
            listed => listed.join(", "),
        };
        let row = format!("| `{name}` | {listed} |");
        assert!(REFERENCE.lines().any(|line| line == row), "{row}");
    };
    for work in crate::procedure::work::Work::ALL {
        let needs = work.needs().into_iter();
        row(work.name(), needs.map(|need| need.0).collect());
    }
    for (name, quantity) in crate::procedure::load::QUANTITIES {
        let units = crate::quantity::Unit::all().filter(|unit| unit.quantity() == quantity);
        row(name, units.map(|unit| unit.symbol().to_owned()).collect());
    }
}
