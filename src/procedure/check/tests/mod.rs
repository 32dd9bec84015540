//! One broken file for each check: a small sound procedure with one thing changed. Each test asserts
//! place and message, and that nothing else is reported.

mod calls;
mod causes;
mod checks;
mod forgotten;
mod harm;
mod hostile;
mod layout;
mod load;
mod mistakes;
mod one_slip;
mod places;
mod policy;
mod scale;
mod shipped;
mod slips;
mod steps;
mod ways;

use crate::procedure::read_library_by;
use crate::procedure::rules::Rules;

/// The procedure that the others are made from.
pub(super) const SOUND: &str = include_str!("sound.yaml");

/// First lines of the problems of one file, after the file's name.
pub(super) fn problems(text: &str) -> Vec<String> {
    problems_of(&[("sound", text)])
}

/// The same of several files, the outermost first.
pub(super) fn problems_of(files: &[(&str, &str)]) -> Vec<String> {
    problems_by(&Rules::default(), files)
}

/// The same, proved by a shop's rules as well.
pub(super) fn problems_by(rules: &Rules, files: &[(&str, &str)]) -> Vec<String> {
    let source = |name: &str| {
        let found = files.iter().find(|(known, _)| *known == name);
        found.map(|(name, text)| (format!("{name}.yaml"), (*text).to_owned()))
    };
    let found = read_library_by(rules, files[0].0, &source)
        .err()
        .unwrap_or_default();
    let first = |problem: &crate::procedure::Problem| {
        let position = &problem.position;
        format!("{}:{}: {}", position.line, position.column, problem.message)
    };
    found.iter().map(first).collect()
}

/// The sound procedure with one piece of text replaced by another.
pub(super) fn broken(from: &str, to: &str) -> String {
    assert!(SOUND.contains(from), "{from}");
    SOUND.replacen(from, to, 1)
}

/// Breaking this leads to exactly that.
pub(super) fn expect(from: &str, to: &str, wanted: &[&str]) {
    assert_eq!(problems(&broken(from, to)), wanted);
}

#[test]
fn the_sound_one_is_sound() {
    assert_eq!(problems(SOUND), [""; 0]);
    let with_mark = format!("\u{feff}{}", SOUND.replace('\n', "\r\n"));
    assert_eq!(problems(&with_mark), [""; 0]);
}
