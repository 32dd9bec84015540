//! Quotes that are not closed, and quotes round a part of a text.

use super::{Slip, slip};

/// The slip in the quoted text that stands in a line, where reading stopped at its beginning or behind it.
pub(super) fn found(content: &str, at: usize, column: usize) -> Option<Slip> {
    let value = content.split_once(": ").map(|(key, _)| key.len() + 2)?;
    let value = value + content[value..].len() - content[value..].trim_start().len();
    let text = content[value..].trim_end();
    let sign = text.chars().next().filter(|c| matches!(c, '"' | '\''))?;
    let begins = content[..value].chars().count();
    if let Some(slip) = backslash(content, (at, begins), text) {
        return Some(slip);
    }
    let Some(closing) = closing(text, sign) else {
        if begins != column {
            return None;
        }
        let message = format!("the quote {sign} is not closed");
        let remedy = format!("Write {text}{sign}, or take the quote away.");
        return slip(at, begins, message, remedy);
    };
    let behind = text[closing + 1..].trim_start();
    if behind.is_empty() || behind.starts_with(['#', ',', '}', ']', ':']) || column <= begins {
        return None;
    }
    let message = "the quotes stand round a part of the text".to_owned();
    let other = if sign == '"' { '\'' } else { '"' };
    // outer quotes are stray where the one that seems to close them is an apostrophe or opens an inner pair
    let within = text[1..].strip_suffix(sign).filter(|within| {
        let before = within[..closing - 1].ends_with(' ');
        before || within[closing..].starts_with(char::is_alphanumeric)
    });
    let text = within.unwrap_or(text);
    let remedy = if text.contains(other) {
        format!("Put quotes round the whole text and {sign} nowhere within it.")
    } else {
        format!("Write {other}{text}{other}.")
    };
    slip(at, begins, message, remedy)
}

/// What may stand behind a backslash in double quotes.
const ESCAPES: &str = "0abt\tnvfre \"/\\N_LPxuU";

/// A backslash in double quotes that YAML takes for the beginning of a sign of its own.
fn backslash(content: &str, (at, begins): (usize, usize), text: &str) -> Option<Slip> {
    let inner = text.strip_prefix('"')?.trim_end_matches('"');
    let mut letters = inner.chars().enumerate();
    let mut found = None;
    while let Some((number, c)) = letters.next() {
        if c == '\\' {
            let (_, next) = letters.next()?;
            if !ESCAPES.contains(next) {
                found = Some(number);
                break;
            }
        }
    }
    let column = begins + 1 + found?;
    let message = "`\\` in double quotes begins a sign of YAML's own".to_owned();
    let remedy = if content.contains('\'') {
        "Write two of them for one, `\\\\`, or a stroke, `/`.".to_owned()
    } else {
        format!("Write '{inner}'.")
    };
    slip(at, column, message, remedy)
}

/// Where the quote that a text begins with is closed.
fn closing(text: &str, sign: char) -> Option<usize> {
    let mut escaped = false;
    for (at, c) in text.char_indices().skip(1) {
        match c {
            _ if escaped => escaped = false,
            '\\' if sign == '"' => escaped = true,
            c if c == sign => return Some(at),
            _ => {}
        }
    }
    None
}
