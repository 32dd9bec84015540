//! The procedures that come with the program are sound, and would not be with any one of their
//! protections taken out: that shows both that the sheets carry nothing idle and that the proofs see it.

use super::problems_of;

const OUTER: &str = include_str!("../../../../procedures/relative-compression.yaml");
const CALLED: &str = include_str!("../../../../procedures/leak-down.yaml");

fn problems(outer: &str, called: &str) -> Vec<String> {
    problems_of(&[("relative-compression", outer), ("leak-down", called)])
}

/// The sheet without its line of that number, and the line.
fn without(sheet: &str, number: usize) -> (String, &str) {
    let lines: Vec<&str> = sheet.lines().collect();
    let kept = lines.iter().enumerate().filter(|(at, _)| *at != number);
    let kept: Vec<&str> = kept.map(|(_, line)| *line).collect();
    (kept.join("\n"), lines[number])
}

/// Numbers of the lines that say what holds, is put back or is work. What a step revokes is not among
/// them: an author may have something made sure of again that no proof asks for.
fn protections(sheet: &str) -> Vec<usize> {
    let keys = ["establishes:", "restores:", "work:"];
    let is_one = |line: &str| keys.iter().any(|key| line.trim_start().starts_with(key));
    let lines = sheet.lines().enumerate();
    lines.filter(|(_, l)| is_one(l)).map(|(at, _)| at).collect()
}

#[test]
fn the_shipped_procedures_are_sound() {
    assert_eq!(problems(OUTER, CALLED), [""; 0]);
    assert_eq!(problems_of(&[("leak-down", CALLED)]), [""; 0]);
}

#[test]
fn no_protection_of_theirs_is_idle() {
    let mut idle = Vec::new();
    for number in protections(OUTER) {
        let (sheet, line) = without(OUTER, number);
        if problems(&sheet, CALLED).is_empty() {
            idle.push(format!("relative-compression.yaml:{}: {line}", number + 1));
        }
    }
    for number in protections(CALLED) {
        let (sheet, line) = without(CALLED, number);
        if problems(OUTER, &sheet).is_empty() {
            idle.push(format!("leak-down.yaml:{}: {line}", number + 1));
        }
    }
    assert_eq!(idle, [""; 0]);
}
