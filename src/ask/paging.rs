//! Texts longer than the terminal, a part at a time: what scrolls off its top is read by nobody.

use std::io;

use dialoguer::console::Key;

use super::keys::Keys;

/// What is said below a part of a question. One row is kept for it.
const ON: &str = "  Space or Enter: on\n";

/// The same below what may be left unread.
const ON_OR_LEAVE: &str = "  Any key: on   q: leave this\n";

/// What is said below the end of what may be left, where a question follows it.
const TO_QUESTION: &str = "  Any key: back to the question\n";

/// Rows of a part that are given up at most, so that it ends where a paragraph does.
const GIVEN_UP: usize = 8;

/// What a text is, and what follows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Read {
    /// A question: it is read to its end, which stays on the screen.
    Question,
    /// What is told: where it is longer than the terminal, its end is waited for as well, because something else
    /// follows.
    Told,
    /// What was asked for beside a question, which is shown again after it.
    Beside,
}

/// The letter that begins a command at a question. It answers nothing, so whoever types it has one in mind.
pub(super) const COMMAND: char = ':';

/// What a key does while a text is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Pressed {
    On,
    Leave,
    /// It leaves the text for the question beside it, and begins a command there.
    Command,
}

/// Show a text; where it is longer than the terminal, wait for a key after each part. Whether the last of them began a
/// command, which belongs to the question beside which the text was read.
///
/// # Errors
/// As [`Keys::key`] and [`Keys::show`].
pub(super) fn show<K: Keys>(keys: &mut K, text: &str, read: Read) -> io::Result<bool> {
    // a terminal of hardly any rows, or that does not know how many, shows nothing whole in any case
    let rows = keys.rows().filter(|rows| *rows > GIVEN_UP);
    let Some(rows) = rows.filter(|rows| text.lines().count() >= *rows || read == Read::Beside)
    else {
        keys.show(text)?;
        return Ok(false);
    };
    let parts = parts(text, rows.saturating_sub(1));
    for (at, part) in parts.iter().enumerate() {
        keys.show(part)?;
        let on = match read {
            Read::Question if at + 1 == parts.len() => break,
            Read::Question => ON,
            Read::Beside if at + 1 == parts.len() => TO_QUESTION,
            Read::Told | Read::Beside => ON_OR_LEAVE,
        };
        keys.mark();
        keys.show(on)?;
        let pressed = waited(keys, read)?;
        keys.take_back()?;
        if pressed != Pressed::On {
            return Ok(pressed == Pressed::Command);
        }
    }
    Ok(false)
}

/// Wait for a key that goes on or leaves the rest. What must be read is not left, and goes on by no key that could be
/// meant for its answer.
fn waited<K: Keys>(keys: &mut K, read: Read) -> io::Result<Pressed> {
    loop {
        return Ok(match (keys.key()?, read) {
            (Key::Char(' ') | Key::Enter | Key::PageDown | Key::ArrowDown, _) => Pressed::On,
            (Key::Unknown, _) | (_, Read::Question) => continue,
            (Key::Char('q' | 'Q') | Key::Escape, _) => Pressed::Leave,
            (Key::Char(COMMAND), Read::Beside) => Pressed::Command,
            _ => Pressed::On,
        });
    }
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

    fn shown(
        lines: usize,
        keys: &str,
        rows: Option<usize>,
        read: Read,
    ) -> (io::Result<bool>, String) {
        let text: String = (1..=lines).map(|at| format!("line {at}\n")).collect();
        let mut person = Person::new(keys, &[]);
        person.rows = rows;
        let result = show(&mut person, &text, read);
        let seen = person.seen.borrow().clone();
        (result, seen)
    }

    #[test]
    fn what_fits_is_shown_at_once_and_what_does_not_in_parts() {
        for (lines, rows) in [(9, Some(10)), (500, None), (500, Some(0))] {
            let (result, seen) = shown(lines, "", rows, Read::Told);
            assert!(result.is_ok() && !seen.contains("key"), "{lines}");
        }
        let (result, seen) = shown(20, "yq \n", Some(10), Read::Question);
        result.unwrap();
        let parts: Vec<usize> = seen.split(ON).map(|part| part.lines().count()).collect();
        assert_eq!(
            parts,
            [9, 9, 2],
            "its end stays, and what answers it is no key to go on"
        );
        let whole: String = seen.split(ON).collect();
        assert_eq!(whole.lines().count(), 20);
        assert!(
            shown(20, " ", Some(10), Read::Question).0.is_err(),
            "nobody goes on"
        );
    }

    #[test]
    fn what_is_told_goes_on_by_any_key_and_is_left_by_q() {
        let (result, seen) = shown(20, "x\nx", Some(10), Read::Told);
        result.unwrap();
        let parts: Vec<usize> = seen
            .split(ON_OR_LEAVE)
            .map(|part| part.lines().count())
            .collect();
        assert_eq!(parts, [9, 9, 2, 0]);
        let (result, seen) = shown(20, "q", Some(10), Read::Told);
        assert!(
            result.is_ok() && seen.contains("line 9") && !seen.contains("line 10"),
            "{seen}"
        );
        let (result, seen) = shown(2, "", Some(10), Read::Beside);
        assert!(
            result.is_err(),
            "what stands beside a question is read first"
        );
        assert!(seen.ends_with(TO_QUESTION), "{seen}");
    }

    #[test]
    fn a_part_ends_with_a_paragraph_where_one_ends_near() {
        let text = "a\nb\n\nc\nd\ne\nf\n";
        assert_eq!(parts(text, 5), ["a\nb\n\n", "c\nd\ne\nf\n"]);
        assert_eq!(parts("a\nb\nc\n", 2), ["a\nb\n", "c\n"]);
    }
}
