//! Files made to harm: they are refused, and at once.

use std::time::{Duration, Instant};

use super::{SOUND, broken, problems, problems_of};
use crate::record::shop::policy::Policy;

/// Far longer than any of these takes (a second at most in a release build), far shorter than what they aim
/// at; in an unoptimised build on a busy machine too.
const AT_ONCE: Duration = Duration::from_secs(15);

fn refused(text: &str) -> Vec<String> {
    let begun = Instant::now();
    let found = problems(text);
    assert!(
        begun.elapsed() < AT_ONCE,
        "{:?}: {found:?}",
        begun.elapsed()
    );
    assert!(!found.is_empty());
    found
}

/// Nine levels of ten aliases each: a thousand million nodes where aliases are followed.
fn alias_bomb() -> String {
    let mut text = String::from("a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n");
    for level in 1..10 {
        let aliases = vec![format!("*a{}", level - 1); 10].join(", ");
        text.push_str(&format!("a{level}: &a{level} [{aliases}]\n"));
    }
    text
}

#[test]
fn alias_bombs() {
    let found = refused(&alias_bomb());
    let named = |told: &String| told.contains("an anchor (`&name`) is not allowed here");
    assert!(found.iter().any(named) && found.len() < 60, "{found:?}");
    assert!(Policy::read("policy.yaml", &alias_bomb()).is_err());
}

#[test]
fn deep_nesting() {
    for open in ["[", "{a: ", "- ", "? "] {
        let found = refused(&format!("steps: {}", open.repeat(100_000)));
        assert!(found.len() < 5, "{found:?}");
        assert!(Policy::read("policy.yaml", &open.repeat(100_000)).is_err());
    }
}

#[test]
fn fifty_megabytes() {
    let found = refused(&"a: 1\n".repeat(10 << 20));
    assert_eq!(
        found,
        ["1:1: the file has 52428800 bytes, more than 1048576"]
    );
}

/// As long as a file may be: many keys, many problems, one long line.
#[test]
fn as_large_as_allowed() {
    refused(&"a:\n".repeat((1 << 20) / 3));
    refused(
        &(0..90_000)
            .map(|n| format!("k{n}: v\n"))
            .collect::<String>(),
    );
    refused(&format!("procedure: {}", "x".repeat((1 << 20) - 20)));
    refused(&format!("procedure: \"{}\"", "\\e".repeat((1 << 19) - 20)));
    refused(&format!(
        "{SOUND}{}",
        "  s: {outcome: not-done, finding: f}\n".repeat(20_000)
    ));
}

/// A procedure of that many steps, each written by its number.
fn of_steps(count: usize, step: impl Fn(usize) -> String) -> String {
    let head = "procedure: sound\nrevision: 1\ntitle: t\npurpose: p\nsteps:\n".to_owned();
    let end = "  end:\n    phase: p\n    outcome: not-done\n    finding: f\n";
    head + &(0..count).map(step).collect::<String>() + end
}

/// Every step leads nowhere: the nearest name is not looked for thousands of times, and beyond what a
/// person could go through nothing is looked for.
#[test]
fn many_unknown_steps() {
    let step = |n: usize| format!("  s{n}:\n    note: text\n    ask: q\n    then: t{n}\n");
    // each, and the first has no phase
    assert_eq!(refused(&of_steps(4_000, step)).len(), 4_001);
    assert_eq!(
        refused(&of_steps(20_000, step)),
        ["20006:3: more than 5000 entries in one list or mapping"]
    );
}

/// Each step needs another condition, shows another value, that nothing gives.
#[test]
fn many_conditions_and_values() {
    let needs = |n: usize| {
        let next = if n == 599 {
            "end".to_owned()
        } else {
            format!("s{}", n + 1)
        };
        format!(
            "  s{n}:\n    phase: p\n    confirm: q\n    needs: [number {n} there]\n    then: {next}\n    if-not: end\n"
        )
    };
    assert_eq!(refused(&of_steps(600, needs)).len(), 600);
    let shows = |n: usize| {
        let next = if n == 599 {
            "end".to_owned()
        } else {
            format!("s{}", n + 1)
        };
        format!(
            "  s{n}:\n    phase: p\n    do: Look at {{t{n}}}.\n    work: none\n    confirm: q\n    then: {next}\n    if-not: end\n"
        )
    };
    assert!(refused(&of_steps(600, shows)).len() >= 600);
    let list: String = (0..20_000).map(|n| format!("      - c{n} x\n")).collect();
    let one = |_: usize| {
        format!(
            "  s:\n    phase: p\n    confirm: q\n    needs:\n{list}    then: end\n    if-not: end\n"
        )
    };
    let found = refused(&of_steps(1, one));
    assert!(found[0].contains("more than 5000 entries"), "{found:?}");
}

/// A hundred and fifty thousand names in one line, none of them too many for its list.
#[test]
fn one_long_line() {
    let names: Vec<String> = (0..4_990).map(|n| format!("a{n}")).collect();
    let step = |n: usize| format!("s{n}: {{needs: [{}]}}", names.join(", "));
    let steps: Vec<String> = (0..30).map(step).collect();
    let found = refused(&format!(
        "procedure: sound\nsteps: {{{}}}\n",
        steps.join(", ")
    ));
    let asks_nothing = |told: &&String| told.contains("asks nothing");
    assert_eq!(
        found.iter().filter(asks_nothing).count(),
        30,
        "{:?}",
        found.first()
    );
}

/// Thousands of values that do not exist: the nearest name is looked for at the first of them.
#[test]
fn many_unknown_values() {
    let step = |n: usize| {
        format!(
            "  s{n}:\n    phase: p\n    compute: agreement\n    with: {{first: u{n}, second: w{n}}}\n    then: end\n"
        )
    };
    let found = refused(&of_steps(4_000, step));
    let unknown = |told: &&String| told.contains("is neither a step nor an input");
    assert_eq!(found.iter().filter(unknown).count(), 8_000);
}

#[test]
fn terminal_escapes_and_turned_reading() {
    for letter in [
        "\u{1b}[2J",
        "\u{9b}2J",
        "\u{7}",
        "\u{8}",
        "\u{202e}",
        "\u{2066}",
        "\u{200b}",
        "\u{feff}",
    ] {
        let found = refused(&broken(
            "finding: Not tested.",
            &format!("finding: Not {letter}tested."),
        ));
        assert!(found[0].contains("is not allowed"), "{letter:?}: {found:?}");
        assert!(
            found.iter().all(|told| !told.contains(letter)),
            "{letter:?} is passed on"
        );
    }
    for escaped in ["\\e[2J", "\\x9b", "\\u202E", "\\u200B", "\\N", "\\P", "\\0"] {
        let found = refused(&broken(
            "finding: Not tested.",
            &format!("finding: \"Not {escaped} tested.\""),
        ));
        assert!(found[0].contains("is not allowed"), "{escaped}: {found:?}");
    }
}

/// A called procedure is named by plain words: no name leads to another folder.
#[test]
fn paths_in_calls() {
    for name in [
        "../secrets",
        "/etc/passwd",
        "a/b",
        "..",
        "c:\\x",
        "a.yaml",
        "~/x",
        "\"a\\0b\"",
    ] {
        let text = SOUND.replace(
            "  found:\n    outcome: fault-found\n    finding: Cylinder {judge.lowest cylinder} is low.\n    advice: \"{judge.why}\"\n",
            &format!("  found:\n    call: {name}\n    then: turned-away\n"),
        );
        let asked = std::cell::RefCell::new(Vec::new());
        let source = |wanted: &str| {
            asked.borrow_mut().push(wanted.to_owned());
            (wanted == "sound").then(|| ("sound.yaml".to_owned(), text.clone()))
        };
        let found = crate::procedure::read_library("sound", &source).unwrap_err();
        assert!(!found.is_empty());
        assert_eq!(
            asked.into_inner(),
            ["sound"],
            "{name}: another file was asked for"
        );
    }
}

/// Calls that double with every level: refused by their number of steps, not walked.
#[test]
fn calls_that_multiply() {
    let names: Vec<String> = (0..40).map(|level| format!("level-{level}")).collect();
    let sheet = |level: usize| {
        let head = format!("procedure: level-{level}\nrevision: 1\ntitle: t\npurpose: p\nsteps:\n");
        if level == 39 {
            return head + "  end:\n    phase: p\n    outcome: not-done\n    finding: f\n";
        }
        let next = level + 1;
        format!(
            "{head}  one:\n    phase: p\n    call: level-{next}\n    then: two\n  two:\n    call: level-{next}\n    then: end\n  end:\n    outcome: not-done\n    finding: f\n"
        )
    };
    let texts: Vec<String> = (0..40).map(sheet).collect();
    let files: Vec<(&str, &str)> = names
        .iter()
        .map(String::as_str)
        .zip(texts.iter().map(String::as_str))
        .collect();
    let begun = Instant::now();
    let found = problems_of(&files);
    assert!(begun.elapsed() < AT_ONCE * 5, "{:?}", begun.elapsed());
    assert!(
        found[0].contains("steps with all calls written out"),
        "{found:?}"
    );
}
