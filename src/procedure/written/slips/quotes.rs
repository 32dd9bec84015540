//! Quotes that are not closed, and quotes round a part of a text.

use super::{Slip, slip};

/// The slip in the quoted text at which reading stopped, at its beginning or behind it.
pub(super) fn found(lines: &[&str], at: usize, column: usize) -> Option<Slip> {
    of_key(lines[at], at, column)
        .or_else(|| of_item(lines[at], at, column))
        .or_else(|| begun_above(lines, at, column))
}

/// In the text of a line's first key.
fn of_key(content: &str, at: usize, column: usize) -> Option<Slip> {
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
    let within = text[1..].strip_suffix(sign).unwrap_or(&text[1..]);
    let before = within[..closing - 1].ends_with(' ');
    let stray = before || within[closing..].starts_with(char::is_alphanumeric);
    let text = if stray { within } else { text };
    let remedy = if text.contains(other) {
        format!("Put quotes round the whole text and {sign} nowhere within it.")
    } else {
        format!("Write {other}{text}{other}.")
    };
    slip(at, begins, message, remedy)
}

/// A quote that is not closed where an item of a list or something between brackets begins with it.
fn of_item(content: &str, at: usize, column: usize) -> Option<Slip> {
    let (stopped, found) = content.char_indices().nth(column)?;
    let is_quote = |c: &char| matches!(c, '"' | '\'');
    // it is closed by the next one's quote where a comma or a colon stands before that
    let before = content[..stopped].trim_end();
    let by_next = before.chars().last().filter(is_quote).and_then(|sign| {
        let inner = before.strip_suffix(sign)?;
        let begins = inner.rfind(sign)?;
        let to_next = inner.trim_end().ends_with([',', ':']);
        to_next.then_some((begins, sign))
    });
    let own = is_quote(&found).then_some((stopped, found));
    let own = own.filter(|(begins, sign)| !content[begins + 1..].contains(*sign));
    let (begins, sign) = own.or(by_next)?;
    let rest = content[begins + 1..].trim_end();
    // where it was to be closed: before the next item, the next key, or the bracket
    let open = content[..begins].rfind(['[', '{']);
    let end = match open.map(|open| &content[open..=open]) {
        Some("[") => rest.find([',', ']']),
        Some(_) => {
            let next = rest.find(": ").and_then(|colon| rest[..colon].rfind(", "));
            next.or_else(|| rest.find('}'))
        }
        None => None,
    };
    let text = &rest[..end.unwrap_or(rest.len())];
    let message = format!("the quote {sign} is not closed");
    let remedy = format!("Write {sign}{text}{sign}, or take the quote away.");
    slip(at, content[..begins].chars().count(), message, remedy)
}

/// A text over several lines that is closed within one of them, and goes on.
fn begun_above(lines: &[&str], at: usize, column: usize) -> Option<Slip> {
    let before: String = lines[at].chars().take(column).collect();
    let sign = before.trim_end().chars().last()?;
    if !matches!(sign, '"' | '\'') {
        return None;
    }
    let (key, content) = lines[..at]
        .iter()
        .enumerate()
        .rev()
        .find_map(|(line, content)| Some((line, content.split_once(": ")?)))?;
    let text = content.1.trim();
    if !text.starts_with(sign) || closing(text, sign).is_some() {
        return None;
    }
    let column = content.0.chars().count() + 2;
    let other = if sign == '"' { '\'' } else { '"' };
    let message = format!(
        "the quotes that open here are closed within the text, in line {}",
        at + 1
    );
    let remedy = format!("Open and close the whole text with {other}, or take {sign} out of it.");
    slip(key, column, message, remedy)
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
