//! Brackets and braces that are not closed, and those that close nothing.

use super::{Slip, indent, slip};

/// A bracket or brace that is still open where a line begins that stands no deeper.
pub(super) fn not_closed(lines: &[&str], last: usize) -> Option<Slip> {
    let opens = |at: &usize| {
        let (_, value) = lines[*at].split_once(": ")?;
        let first = value.trim_start().chars().next()?;
        matches!(first, '{' | '[').then_some((*at, lines[*at].len() - value.trim_start().len()))
    };
    let (from, byte) = (0..last).rev().find_map(|at| opens(&at))?;
    if indent(lines[last]) > indent(lines[from]) || !lines[last].contains(':') {
        return None;
    }
    let first = &lines[from][byte..];
    let between = lines[from + 1..last].iter().copied();
    let mut open = 0_i32;
    for content in [first].into_iter().chain(between) {
        open += brackets(content);
        if open <= 0 {
            return None;
        }
    }
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
