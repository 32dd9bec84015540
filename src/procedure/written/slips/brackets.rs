//! Brackets and braces that are not closed, and those that close nothing.

use super::{Slip, indent, slip};

/// Lines that are looked back through for what is still open.
const MOST_LINES: usize = 20;

/// A bracket or brace that is still open where a line begins that stands no deeper.
pub(super) fn not_closed(lines: &[&str], last: usize) -> Option<Slip> {
    let opens = |at: usize| {
        let listed = lines[at].trim_start().strip_prefix("- ");
        let value = listed.filter(|value| value.trim_start().starts_with(['{', '[']));
        let value = value.or_else(|| Some(lines[at].split_once(": ")?.1))?;
        let opens = value.trim_start().starts_with(['{', '[']);
        opens.then_some((at, lines[at].len() - value.trim_start().len()))
    };
    let ends = lines[last + 1..]
        .iter()
        .all(|content| content.trim().is_empty());
    let stays_open = |(from, byte): &(usize, usize)| {
        let after = *from < last
            && indent(lines[last]) <= indent(lines[*from])
            && lines[last].contains(':');
        let to = if ends && !after { last + 1 } else { last };
        let mut open = 0_i32;
        let mut all = (*from..to).map(|at| {
            brackets(if at == *from {
                &lines[at][*byte..]
            } else {
                lines[at]
            })
        });
        (after || ends)
            && all.all(|more| {
                open += more;
                open > 0
            })
    };
    let first = (last + 1).saturating_sub(MOST_LINES);
    let mut candidates = (first..=last).rev().filter_map(opens);
    let (from, byte) = candidates.find(stays_open)?;
    let first = &lines[from][byte..];
    let (sign, closing) = if first.starts_with('{') {
        ("{", "}")
    } else {
        ("[", "]")
    };
    let message = format!("`{sign}` is not closed");
    let remedy =
        format!("Write `{closing}` where it ends, before the next line that begins with a key.");
    slip(from, lines[from][..byte].chars().count(), message, remedy)
}

/// Brackets and braces opened, less those closed, outside quotes and comments.
fn brackets(content: &str) -> i32 {
    let mut open = 0;
    let mut quote = None;
    let mut before = ' ';
    for c in content.chars() {
        match (quote, c) {
            (Some(sign), c) if c == sign => quote = None,
            (None, '"' | '\'') if !before.is_alphanumeric() => quote = Some(c),
            (None, '#') if before == ' ' => break,
            (None, '{' | '[') => open += 1,
            (None, '}' | ']') => open -= 1,
            _ => {}
        }
        before = c;
    }
    open
}

/// A bracket or brace that closes nothing, at which reading stopped.
pub(super) fn too_many(content: &str, at: usize, column: usize) -> Option<Slip> {
    let byte = content.char_indices().nth(column)?.0;
    let sign = content[byte..]
        .chars()
        .next()
        .filter(|c| matches!(c, ']' | '}'))?;
    if brackets(&content[..byte]) > 0 {
        return None;
    }
    let opening = if sign == ']' { '[' } else { '{' };
    let message = format!("`{sign}` closes nothing");
    let remedy = format!("Take it away, or write the `{opening}` that it belongs to.");
    slip(at, column, message, remedy)
}

/// A key in braces that stands right behind the value before it: the comma between them was forgotten. Reading stops at
/// its colon, or behind quotes at the key itself.
pub(super) fn no_comma(content: &str, at: usize, column: usize) -> Option<Slip> {
    let byte = content.char_indices().nth(column)?.0;
    let key_at = match content[byte..].starts_with(": ") {
        true => content[..byte].rfind(' ')? + 1,
        false => byte,
    };
    let (before, rest) = content.split_at(key_at);
    let (next, _) = rest.split_once(": ")?;
    let (key, value) = before[begins(before)?..].split_once(": ")?;
    let (key, value) = (key.trim(), value.trim());
    let is_word = |word: &str| !word.is_empty() && !word.contains([' ', '"', '\'', ':', ',']);
    if value.is_empty() || !is_word(key) || !is_word(next) {
        return None;
    }
    let message = format!("`,` is missing before `{next}`");
    let remedy = format!("Write `{key}: {value}, {next}: …`.");
    slip(at, before.chars().count(), message, remedy)
}

/// Where the last entry of the braces begins that are still open at a line's end, in bytes.
fn begins(content: &str) -> Option<usize> {
    let mut open = Vec::new();
    let mut quote = None;
    for (byte, c) in content.char_indices() {
        match (quote, c) {
            (Some(sign), c) if c == sign => quote = None,
            (None, '"' | '\'') if content[..byte].ends_with([' ', '[', '{', ',']) => {
                quote = Some(c)
            }
            (None, '{' | '[') => open.push((c, byte + 1)),
            (None, '}' | ']') => drop(open.pop()?),
            (None, ',') => open.last_mut()?.1 = byte + 1,
            _ => {}
        }
    }
    let (sign, from) = open.pop()?;
    (sign == '{' && quote.is_none()).then_some(from)
}
