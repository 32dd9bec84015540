//! A procedure far larger than any that a shop writes: proved on the graph, whose paths could never be
//! listed.

use std::fmt::Write;
use std::time::{Duration, Instant};

use super::problems_of;

/// Steps of the generated procedure.
const STEPS: usize = 2_000;

/// In a debug build, on a busy machine; a release build takes a small part of it.
const LONGEST: Duration = Duration::from_secs(15);

/// A sound procedure of that many steps: every fifth measures and forks, every seventh disables what
/// the end restores, every eleventh may be come back to.
pub(crate) fn large(steps: usize) -> String {
    let mut text = "procedure: large\nrevision: 1\ntitle: t\npurpose: p\nsteps:\n".to_owned();
    let last = steps - 3;
    let mut things = String::new();
    for n in 0..last {
        // writing to a String does not fail
        let next = if n + 1 == last {
            "back".to_owned()
        } else {
            format!("s{}", n + 1)
        };
        let over = if n + 2 >= last {
            "back".to_owned()
        } else {
            format!("s{}", n + 2)
        };
        let phase = if n == 0 { "    phase: p\n" } else { "" };
        let _ = match n % 11 {
            0 | 3 => write!(
                text,
                "  s{n}:\n{phase}    ask: Volts\n    measure: {{unit: V, resolution: 0.01, possible: \"[0..20]\"}}\n    then:\n      - when: \"< 12.20\"\n        go: {next}\n      - when: \">= 12.20\"\n        go: {over}\n"
            ),
            10 => write!(
                text,
                "  s{n}:\n    confirm: Try again?\n    at-most: {{times: 3, then: {next}}}\n    then: {next}\n    if-not: s{}\n",
                n - 6
            ),
            7 => {
                let _ = write!(
                    things,
                    "{}thing {n}",
                    if things.is_empty() { "" } else { ", " }
                );
                write!(
                    text,
                    "  s{n}:\n    do: Take it off.\n    work: none\n    needs: [held {}]\n    disables: {{thing {n}: Put it back.}}\n    confirm: It is off.\n    then: {next}\n    if-not: {next}\n",
                    n - 1
                )
            }
            6 => write!(
                text,
                "  s{n}:\n    do: Hold it.\n    work: none\n    confirm: Held.\n    establishes: [held {n}]\n    then: {next}\n    if-not: back\n"
            ),
            _ => write!(
                text,
                "  s{n}:\n    note: text\n    ask: What do you see?\n    then: {next}\n"
            ),
        };
    }
    let _ = write!(
        text,
        "  back:\n    do: Put all back.\n    work: none\n    restores: [{things}]\n    confirm: Back.\n    then: end\n    if-not: again\n  end:\n    outcome: not-done\n    finding: f\n"
    );
    text
}

#[test]
fn two_thousand_steps_are_proved_at_once() {
    let text = large(STEPS);
    let begun = Instant::now();
    let found = problems_of(&[("large", &text)]);
    assert_eq!(found, [""; 0]);
    assert!(begun.elapsed() < LONGEST, "{:?}", begun.elapsed());
}

/// One flaw deep inside is found, with the way that shows it.
#[test]
fn a_flaw_among_two_thousand_steps_is_found() {
    let text = large(STEPS).replace("establishes: [held 1337]", "establishes: [gripped 1337]");
    let found = problems_of(&[("large", &text)]);
    assert!(
        found.iter().any(|told| told.contains("needs `held 1337`")),
        "{found:?}"
    );
}
