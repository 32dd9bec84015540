//! Numbers and times in one form. Escaping for HTML is the HTML renderer's business.

use chrono::{DateTime, Utc};

use crate::text::clean;

/// A number with that many decimal places, never "-0".
#[must_use]
pub(super) fn number(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
        _ => text,
    }
}

/// A measured number of unknown size, to about three digits, without trailing zeros.
#[must_use]
pub(super) fn measured(value: f64) -> String {
    let places = match value.abs() {
        size if size >= 100.0 => 0,
        size if size >= 10.0 => 1,
        size if size >= 1.0 => 2,
        _ => 3,
    };
    let text = number(value, places);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A time as written in records, "2026-03-02 09:14:05", in UTC; what is no RFC 3339 time is shown as
/// it stands.
#[must_use]
pub(super) fn time(text: &str) -> String {
    match DateTime::parse_from_rfc3339(text) {
        Ok(time) => time
            .with_timezone(&Utc)
            .format("%Y-%m-%d %H:%M:%S")
            .to_string(),
        Err(_) => clean(text),
    }
}

/// Names as a sentence lists them: "1, 3 and 5".
#[must_use]
pub(super) fn list(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// The text in lines of at most `width` characters, the second and later ones indented; a word that
/// is too long is cut.
#[must_use]
pub(crate) fn wrap(text: &str, width: usize, indent: usize) -> String {
    let room = width.saturating_sub(indent).max(1);
    let mut lines: Vec<String> = vec![String::new()];
    for word in clean(text).split_whitespace() {
        let mut rest: Vec<char> = word.chars().collect();
        while !rest.is_empty() {
            let here = lines.len();
            let line = &mut lines[here - 1];
            let used = line.chars().count();
            let limit = if here == 1 { width.max(1) } else { room };
            let gap = usize::from(used > 0);
            if used + gap + rest.len() <= limit {
                line.extend(std::iter::repeat_n(' ', gap));
                line.extend(rest.drain(..));
            } else if used == 0 {
                line.extend(rest.drain(..limit.min(rest.len())));
            } else {
                lines.push(String::new());
            }
        }
    }
    lines.join(&format!("\n{}", " ".repeat(indent)))
}

/// The text in the room that a name of `names` columns leaves in lines of `columns`, the second and later ones
/// begun below the first.
#[must_use]
pub(crate) fn beside(text: &str, columns: usize, names: usize) -> String {
    wrap(text, columns.saturating_sub(names), 0).replace('\n', &format!("\n{}", " ".repeat(names)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_read_as_people_write_them() {
        assert_eq!(number(-0.004, 2), "0.00");
        assert_eq!(number(-0.4, 1), "-0.4");
        assert_eq!(measured(0.9), "0.9");
        assert_eq!(measured(187.4), "187");
        assert_eq!(measured(3.0), "3");
        assert_eq!(measured(100.0), "100");
        assert_eq!(measured(0.0), "0");
    }

    #[test]
    fn times_are_utc_whatever_was_written() {
        assert_eq!(time("2026-03-02T10:14:05+01:00"), "2026-03-02 09:14:05");
        assert_eq!(time("yester\u{1b}day"), "yesterday");
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
    }
}
