//! Texts made fit to show, whatever they are about: nothing in them steers a terminal, long ones are broken
//! between words.

pub mod html;

use std::borrow::Borrow;
use std::fmt::Display;

use dialoguer::console::measure_text_width;

/// Whether a character steers a terminal, turns the reading direction or cannot be seen, so that what is
/// shown would not be what is written: control characters (line ends and tabs among them), and of Unicode
/// the marks, embeddings, overrides and isolates of direction (Standard Annex 9, section 2), zero-width
/// characters, the soft hyphen, line and paragraph separators, interlinear marks and tags.
#[must_use]
pub fn steers(c: char) -> bool {
    c.is_control()
        || matches!(
            u32::from(c),
            0x00AD
                | 0x061C
                | 0x200B..=0x200F
                | 0x2028..=0x202E
                | 0x2060..=0x206F
                | 0xFEFF
                | 0xFFF9..=0xFFFB
                | 0xE0000..=0xE007F
        )
}

/// The text without what steers; line breaks and tabs become spaces.
#[must_use]
pub fn clean(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\n' | '\r' | '\t' => ' ',
            other => other,
        })
        .filter(|c| !steers(*c))
        .collect()
}

/// A word or path as a shell takes it literally: who copies a command must not run somebody's name.
#[must_use]
pub fn shell_quoted(word: &str) -> String {
    let harmless = |c: char| c.is_ascii_alphanumeric() || "/._@+-".contains(c);
    if !word.is_empty() && word.chars().all(harmless) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', r"'\''"))
    }
}

/// So many of something that takes an s: "1 job", "2 jobs".
#[must_use]
pub fn counted<N: Display + PartialEq + From<u8>>(number: N, what: &str) -> String {
    let ending = if number == N::from(1) { "" } else { "s" };
    format!("{number} {what}{ending}")
}

/// Names as a sentence lists them: "1, 3 and 5".
#[must_use]
pub fn list<S: Borrow<str>>(items: &[S]) -> String {
    joined(items, "and")
}

/// Names as a sentence offers them: "1, 3 or 5".
#[must_use]
pub fn one_of<S: Borrow<str>>(items: &[S]) -> String {
    joined(items, "or")
}

fn joined<S: Borrow<str>>(items: &[S], last_by: &str) -> String {
    match items {
        [most @ .., last] if !most.is_empty() => {
            format!("{} {last_by} {}", most.join(", "), last.borrow())
        }
        _ => items.concat(),
    }
}

/// The text in lines of at most `width` columns, the second and later ones indented; a word that is too long
/// is cut.
#[must_use]
pub fn wrap(text: &str, width: usize, indent: usize) -> String {
    let room = width.saturating_sub(indent).max(1);
    let mut lines: Vec<String> = vec![String::new()];
    let mut used = 0;
    for word in clean(text).split_whitespace() {
        let mut rest = word;
        while !rest.is_empty() {
            let limit = if lines.len() == 1 { width.max(1) } else { room };
            let gap = usize::from(used > 0);
            let wide = measure_text_width(rest);
            let here = lines.len() - 1;
            if used + gap + wide <= limit {
                lines[here].extend(std::iter::repeat_n(' ', gap));
                lines[here].push_str(rest);
                used += gap + wide;
                rest = "";
            } else if used == 0 {
                let (fits, over) = rest.split_at(fitting(rest, limit));
                lines[here].push_str(fits);
                used = measure_text_width(fits);
                rest = over;
            } else {
                lines.push(String::new());
                used = 0;
            }
        }
    }
    lines.join(&format!("\n{}", " ".repeat(indent)))
}

/// Bytes of a word's beginning that fits into so many columns; one letter at least.
fn fitting(word: &str, columns: usize) -> usize {
    let ends = word.char_indices().map(|(at, c)| at + c.len_utf8());
    let mut fits = ends.filter(|end| measure_text_width(&word[..*end]) <= columns);
    let first = word.chars().next().map_or(0, char::len_utf8);
    fits.next_back().unwrap_or(0).max(first)
}

/// The text in the room that a name of `names` columns leaves in lines of `columns`, the second and later ones
/// begun below the first.
#[must_use]
pub fn beside(text: &str, columns: usize, names: usize) -> String {
    wrap(text, columns.saturating_sub(names), 0).replace('\n', &format!("\n{}", " ".repeat(names)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_steers_a_terminal_is_gone() {
        assert_eq!(clean("a\u{1b}[31mred\u{7}\u{9b}2J"), "a[31mred2J");
        assert_eq!(
            clean("one\ntwo\tthree\u{202e}four\u{200b}"),
            "one two threefour"
        );
        assert_eq!(clean("10 °C, 3 Ω, Zoë"), "10 °C, 3 Ω, Zoë");
    }

    /// All that steers, one by one in the order of their numbers: what neither is missing nor too much.
    #[test]
    fn the_whole_set_is_this() {
        let found: Vec<u32> = ('\0'..=char::MAX)
            .filter(|c| steers(*c))
            .map(u32::from)
            .collect();
        let meant = [
            0x00..=0x1F, // control characters
            0x7F..=0x9F,
            0xAD..=0xAD,       // soft hyphen
            0x61C..=0x61C,     // Arabic letter mark
            0x200B..=0x200D,   // zero-width space, non-joiner, joiner
            0x200E..=0x200F,   // left-to-right and right-to-left mark
            0x2028..=0x2029,   // line and paragraph separator
            0x202A..=0x202E,   // embeddings and overrides
            0x2060..=0x2065,   // word joiner, invisible operators
            0x2066..=0x2069,   // isolates
            0x206A..=0x206F,   // outdated format characters
            0xFEFF..=0xFEFF,   // zero-width no-break space
            0xFFF9..=0xFFFB,   // interlinear marks
            0xE0000..=0xE007F, // tags
        ];
        let meant: Vec<u32> = meant.into_iter().flatten().collect();
        assert_eq!(found, meant);
        for c in meant.into_iter().filter_map(char::from_u32) {
            let left = if matches!(c, '\n' | '\r' | '\t') {
                "a b"
            } else {
                "ab"
            };
            assert_eq!(clean(&format!("a{c}b")), left, "U+{:04X}", u32::from(c));
        }
    }

    #[test]
    fn a_name_cannot_become_a_command() {
        assert_eq!(shell_quoted("ada.thorn"), "ada.thorn");
        assert_eq!(shell_quoted("keys/lead"), "keys/lead");
        assert_eq!(shell_quoted("$(rm -r .); 'x"), r"'$(rm -r .); '\''x'");
        assert_eq!(shell_quoted(""), "''");
    }

    #[test]
    fn long_words_are_cut_and_nothing_is_lost() {
        assert_eq!(wrap("one two three", 7, 2), "one two\n  three");
        assert_eq!(wrap("abcdefghij", 4, 0), "abcd\nefgh\nij");
        assert_eq!(wrap("a abcdefghij", 4, 1), "a\n abc\n def\n ghi\n j");
        assert_eq!(wrap("", 4, 1), "");
        assert_eq!(wrap("ab", 0, 3), "a\n   b");
    }

    #[test]
    fn lists_read_as_sentences() {
        let names = |n: &[&str]| n.iter().map(|s| (*s).to_owned()).collect::<Vec<_>>();
        assert_eq!(list(&names(&[])), "");
        assert_eq!(list(&names(&["3"])), "3");
        assert_eq!(list(&names(&["1", "3", "5"])), "1, 3 and 5");
        assert_eq!(one_of(&["km"]), "km");
        assert_eq!(one_of(&["km", "mi", "m"]), "km, mi or m");
    }
}
