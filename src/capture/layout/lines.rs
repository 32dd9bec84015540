//! The beginning of a file as lines, and lines as cells. Only what is looked at closely goes this way;
//! the many rows after it are `rows`' business.

use std::borrow::Cow;

use crate::capture::setup::keys::Delimiter;

/// A line of the file's beginning.
#[derive(Debug, Clone, Copy)]
pub struct Line<'t> {
    /// Its number, from 1.
    pub number: u64,
    /// Where it begins, bytes.
    pub start: usize,
    /// Its bytes without the line end.
    pub text: &'t [u8],
}

impl Line<'_> {
    /// Nothing but blanks.
    #[must_use]
    pub fn is_blank(&self) -> bool {
        self.text.trim_ascii().is_empty()
    }

    /// A remark of whoever wrote the file.
    #[must_use]
    pub fn is_comment(&self) -> bool {
        comment_sign(self.text).is_some()
    }
}

/// Length of the sign that makes a line a comment, blanks about it included.
#[must_use]
pub fn comment_sign(line: &[u8]) -> Option<usize> {
    let text = line.trim_ascii_start();
    let before = line.len() - text.len();
    let sign = [b"#".as_slice(), b"%", b"//"]
        .into_iter()
        .find(|sign| text.starts_with(sign))?;
    Some(before + sign.len())
}

/// Lines of a text.
#[must_use]
pub fn split(text: &[u8]) -> Vec<Line<'_>> {
    let mut start = 0;
    let mut lines = Vec::new();
    for (index, line) in text.split_inclusive(|byte| *byte == b'\n').enumerate() {
        let bare = line.strip_suffix(b"\n").unwrap_or(line);
        lines.push(Line {
            number: index as u64 + 1,
            start,
            text: bare.strip_suffix(b"\r").unwrap_or(bare),
        });
        start += line.len();
    }
    lines
}

/// Cells of a line, blanks and quotes about them taken off.
#[must_use]
pub fn cells(line: &[u8], delimiter: Delimiter) -> Vec<Cow<'_, [u8]>> {
    let is_end = |byte: u8| match delimiter {
        Delimiter::Blank => byte == b' ' || byte == b'\t',
        other => byte == other.byte(),
    };
    let mut all = Vec::new();
    let (mut from, mut quoted) = (0, false);
    for (at, byte) in line.iter().enumerate() {
        if *byte == b'"' {
            // a quote inside a bare cell is a letter like any other
            quoted = !quoted && line[from..at].trim_ascii().is_empty();
        } else if !quoted && is_end(*byte) {
            all.push(bare(&line[from..at]));
            from = at + 1;
        }
    }
    all.push(bare(&line[from..]));
    if delimiter == Delimiter::Blank {
        all.retain(|cell| !cell.is_empty());
    }
    all
}

fn bare(cell: &[u8]) -> Cow<'_, [u8]> {
    let cell = cell.trim_ascii();
    let inside = cell
        .strip_prefix(b"\"")
        .and_then(|cell| cell.strip_suffix(b"\""));
    let Some(inside) = inside else {
        return Cow::Borrowed(cell);
    };
    if !inside.contains(&b'"') {
        return Cow::Borrowed(inside.trim_ascii());
    }
    let mut text = Vec::with_capacity(inside.len());
    let mut after_quote = false;
    for byte in inside {
        after_quote = *byte == b'"' && !after_quote;
        if !after_quote {
            text.push(*byte);
        }
    }
    Cow::Owned(text)
}

/// Text as letters: UTF-8, or one byte a letter as in ISO 8859-1 where it is none.
#[must_use]
pub fn letters(text: &[u8]) -> String {
    match std::str::from_utf8(text) {
        Ok(text) => text.trim_start_matches('\u{feff}').to_owned(),
        Err(_) => text.iter().map(|byte| char::from(*byte)).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(line: &str, delimiter: Delimiter) -> Vec<String> {
        let cells = cells(line.as_bytes(), delimiter);
        cells.iter().map(|cell| letters(cell)).collect()
    }

    /// Quoting as RFC 4180, section 2, has it.
    #[test]
    fn cells_are_split_outside_quotes_only() {
        let comma = Delimiter::Comma;
        assert_eq!(shown("a,b , c", comma), ["a", "b", "c"]);
        assert_eq!(shown("\"a,b\",\"c\"\"d\"", comma), ["a,b", "c\"d"]);
        assert_eq!(shown("1,5\" pipe,2", comma), ["1", "5\" pipe", "2"]);
        assert_eq!(shown("a,,", comma), ["a", "", ""]);
        assert_eq!(shown("  a   b\t c ", Delimiter::Blank), ["a", "b", "c"]);
        assert_eq!(shown("\"a b\" c", Delimiter::Blank), ["a b", "c"]);
        assert_eq!(shown("", comma), [""]);
    }

    #[test]
    fn letters_of_one_byte_are_read() {
        assert_eq!(letters(b"time (\xb5s)"), "time (µs)");
        assert_eq!(letters("time (µs)".as_bytes()), "time (µs)");
    }

    #[test]
    fn lines_know_where_they_begin() {
        let lines = split(b"a\r\n\nb");
        let places: Vec<_> = lines.iter().map(|l| (l.number, l.start, l.text)).collect();
        let expected: Vec<(u64, usize, &[u8])> = vec![(1, 0, b"a"), (2, 3, b""), (3, 4, b"b")];
        assert_eq!(places, expected);
        assert!(split(b"").is_empty());
    }
}
