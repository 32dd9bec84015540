//! Texts longer than the terminal, a part at a time: what scrolls off its top is read by nobody.

use std::io;

use dialoguer::console::Key;

use super::keys::Keys;

/// What is said below a part. One row is kept for it.
const ON: &str = "  Space: on\n";

/// Rows of a part that are given up at most, so that it ends where a paragraph does.
const GIVEN_UP: usize = 8;

/// Show a text; where it is longer than the terminal, wait for the space bar after each part, after the last one where
/// `to_the_end` says that something else follows.
///
/// # Errors
/// As [`Keys::key`] and [`Keys::show`].
pub(super) fn show<K: Keys>(keys: &mut K, text: &str, to_the_end: bool) -> io::Result<()> {
    // a terminal of hardly any rows, or that does not know how many, shows nothing whole in any case
    let rows = keys.rows().filter(|rows| *rows > GIVEN_UP);
    let Some(rows) = rows.filter(|rows| text.lines().count() >= *rows) else {
        return keys.show(text);
    };
    let parts = parts(text, rows.saturating_sub(1));
    for (at, part) in parts.iter().enumerate() {
        keys.show(part)?;
        if at + 1 < parts.len() || to_the_end {
            keys.mark();
            keys.show(ON)?;
            while !matches!(keys.key()?, Key::Char(' ') | Key::Enter | Key::PageDown) {}
            keys.take_back()?;
        }
    }
    Ok(())
}

/// A text in parts of so many lines at most, each ending with a paragraph where one ends near.
fn parts(text: &str, most: usize) -> Vec<String> {
    let mut lines: Vec<&str> = text.split_inclusive('\n').collect();
    let mut parts = Vec::new();
    while lines.len() > most {
        let near = most.saturating_sub(GIVEN_UP).max(1);
        let blank = (near..most).rev().find(|at| lines[*at].trim().is_empty());
        let rest = lines.split_off(blank.map_or(most, |at| at + 1));
        parts.push(lines.concat());
        lines = rest;
    }
    parts.push(lines.concat());
    parts
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ask::tests::Person;

    fn shown(lines: usize, keys: &str, rows: Option<usize>) -> (io::Result<()>, String) {
        let text: String = (1..=lines).map(|at| format!("line {at}\n")).collect();
        let mut person = Person::new(keys, &[]);
        person.rows = rows;
        let result = show(&mut person, &text, true);
        let seen = person.seen.borrow().clone();
        (result, seen)
    }

    #[test]
    fn what_fits_is_shown_at_once_and_what_does_not_in_parts() {
        for (lines, rows) in [(9, Some(10)), (500, None), (500, Some(0))] {
            let (result, seen) = shown(lines, "", rows);
            assert!(result.is_ok() && !seen.contains("Space"), "{lines}");
        }
        let (result, seen) = shown(20, "y \n ", Some(10));
        result.unwrap();
        let parts: Vec<usize> = seen.split(ON).map(|part| part.lines().count()).collect();
        assert_eq!(parts, [9, 9, 2, 0]);
        let whole: String = seen.split(ON).collect();
        assert_eq!(whole.lines().count(), 20);
        assert!(shown(20, "", Some(10)).0.is_err(), "nobody goes on");
    }

    #[test]
    fn a_part_ends_with_a_paragraph_where_one_ends_near() {
        let text = "a\nb\n\nc\nd\ne\nf\n";
        assert_eq!(parts(text, 5), ["a\nb\n\n", "c\nd\ne\nf\n"]);
        assert_eq!(parts("a\nb\nc\n", 2), ["a\nb\n", "c\n"]);
    }
}
