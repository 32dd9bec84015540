//! Words that stand where a key must, colons that stand in a text, and texts that do not stand deep enough.

use super::{Slip, head, indent, is_key, keys, slip};
use crate::procedure::names::is_kebab;
use crate::procedure::nearest::nearest;
use crate::procedure::work::Work;

/// Lines of one text that are looked through for its beginning.
const MOST_LINES: usize = 20;

/// Words without a colon on a line of their own: a step's id, or a text that goes on without standing deeper.
pub(super) fn lone(lines: &[&str], at: usize, after: usize) -> Option<Slip> {
    let words = lines[at].trim();
    let follows = head(lines[after].trim_start_matches([' ', '-'])).is_some();
    if lines[at].contains(':') || words.starts_with(['-', '#', '"', '\'']) || !follows {
        return None;
    }
    let own = indent(lines[at]);
    if indent(lines[after]) > own && is_kebab(words) {
        let message = format!("`{words}` has no colon");
        let remedy = format!("Write `{words}:`.");
        return slip(at, lines[at].trim_end().chars().count(), message, remedy);
    }
    let written = |at: &usize| !lines[*at].trim().is_empty();
    let begun = (0..at).rev().find(written)?;
    let text = lines[begun].trim();
    let empty = text.strip_suffix(':').map(|key| (key, ""));
    let (key, value) = text.split_once(": ").or(empty)?;
    if indent(lines[begun]) < own || !is_key(key) {
        return None;
    }
    let message =
        format!("`{words}` does not stand deeper than `{key}`, whose text it goes on with");
    let remedy = format!(
        "Write it behind `{}` on the same line, or give it more blanks than `{key}` has.",
        if value.is_empty() {
            text
        } else {
            value.trim_end()
        }
    );
    slip(at, own, message, remedy)
}

/// Keys with a value of their own, behind which their braces begin, and steps that say all in one line.
pub(super) fn no_brace(content: &str, at: usize) -> Option<Slip> {
    let (key, value) = content.split_once(": ")?;
    let (inner, _) = value.split_once(": ")?;
    let is = |keys: &[(&str, &str)]| keys.iter().any(|(known, _)| *known == inner);
    let fits = match key.trim() {
        "measure" => is(&keys::MEASURE),
        "at-most" => is(&keys::AT_MOST),
        id => is_kebab(id) && !is_key(id) && is(&keys::STEP),
    };
    if !fits {
        return None;
    }
    let (key, inside) = (key.trim(), value.trim().trim_end_matches('}'));
    let column = content.len() - value.trim_start().len();
    let message = format!("`{{` is missing before `{inner}`");
    slip(at, column, message, format!("Write `{key}: {{{inside}}}`."))
}

/// What stands deeper than the line above, which has nothing under it: the line that it belongs under was forgotten.
pub(super) fn parent_missing(lines: &[&str], last: usize, before: usize) -> Option<Slip> {
    let word = head(lines[last])?;
    let bare = lines[last].trim_end().ends_with(':');
    let has = |key: &str| {
        let key = format!("{key}:");
        lines.iter().any(|content| content.starts_with(&key))
    };
    let parent = match keys::over(word) {
        _ if has("procedure") => (bare && is_kebab(word) && !is_key(word)).then_some("steps")?,
        Some(parent) => parent,
        None => Work::parse(word).map(|_| "needs")?,
    };
    if has(parent) || indent(lines[before]) > 0 || indent(lines[last]) == 0 {
        return None;
    }
    let message = format!("a line such as `{parent}:` is missing above `{word}`");
    let remedy = format!("Write `{parent}:` on a line of its own above it, with no blank before.");
    slip(last, indent(lines[last]), message, remedy)
}

/// A text without quotes that holds `: `.
pub(super) fn colon_in_text(content: &str, at: usize, column: usize) -> Option<Slip> {
    let byte = content.char_indices().nth(column)?.0;
    let (before, rest) = content.split_at(byte);
    let (_, text) = before.split_once(": ")?;
    let ends = rest.trim_end() == ":";
    if !(rest.starts_with(": ") || ends)
        || text
            .trim_start()
            .starts_with(['"', '\'', '{', '[', '>', '|'])
    {
        return None;
    }
    let message = if ends {
        "a text without quotes ends with a colon".to_owned()
    } else {
        "`: ` stands in a text without quotes".to_owned()
    };
    let remedy = format!(
        "Put the text in quotes: \"{}{}\".",
        text.trim(),
        rest.trim_end()
    );
    slip(at, column, message, remedy)
}

/// The same in a line with which the text of a key goes on: reading stops only behind it, mostly where the text ends.
pub(super) fn colon_in_lines(lines: &[&str], last: usize) -> Option<Slip> {
    let may_go_on = |at: &usize| !lines[*at].trim_start().starts_with(['#', '-']);
    let first = (last + 1).saturating_sub(MOST_LINES);
    (first..=last).filter(may_go_on).find_map(|at| {
        let words = head(lines[at]).filter(|words| !is_key(words))?;
        let mut above = lines[..at].iter().rev().take(MOST_LINES);
        // a misspelt key that stands too deep is something else
        let goes_on = above.clone().next()?.trim_end().ends_with(',');
        let meant = nearest(words, keys::STEP.iter().map(|(known, _)| *known));
        if meant.is_some() && !goes_on {
            return None;
        }
        let begun = above.find(|line| head(line).is_some())?;
        let (key, text) = begun.split_once(": ")?;
        let text = text.trim();
        let plain = !text.is_empty() && !text.starts_with(['"', '\'', '{', '[', '>', '|', '#']);
        if !plain || !is_key(key) || indent(begun) >= indent(lines[at]) {
            return None;
        }
        let word = key.trim_start_matches([' ', '-']);
        let column = indent(lines[at]) + words.chars().count();
        let remedy = format!(
            "A text with `: ` in it stands in quotes: write `{word}: \"{text}` and another \" where the text ends."
        );
        let message = "`: ` stands in a text without quotes".to_owned();
        slip(at, column, message, remedy)
    })
}

/// `then: meter:`.
pub(super) fn colon_behind(content: &str, at: usize) -> Option<Slip> {
    let (key, value) = content.split_once(": ")?;
    let name = value.trim().strip_suffix(':')?;
    if !is_key(key) || !is_kebab(name) {
        return None;
    }
    let word = key.trim_start_matches([' ', '-']);
    let message = format!("a colon stands behind `{name}`");
    let column = content.trim_end().chars().count() - 1;
    slip(at, column, message, format!("Write `{word}: {name}`."))
}

/// A text over several lines (`>-`) whose first line does not stand deeper than its key.
pub(super) fn not_deeper(lines: &[&str], last: usize) -> Option<Slip> {
    let folds = |at: &usize| {
        let (key, sign) = lines[*at].split_once(": ")?;
        let sign = sign.trim();
        let is_sign = sign.starts_with(['>', '|']) && sign.len() <= 2;
        (is_sign && is_key(key)).then_some((*at, key, sign))
    };
    let (begun, key, sign) = (0..last).rev().take(MOST_LINES).find_map(|at| folds(&at))?;
    let first = (begun + 1..=last).find(|at| !lines[*at].trim().is_empty())?;
    let own = indent(lines[begun]);
    let (found, word) = (indent(lines[first]), key.trim_start_matches([' ', '-']));
    if found > own || head(lines[first]).is_some_and(|word| is_key(word) || is_kebab(word)) {
        return None;
    }
    let message = format!("the text of `{word}: {sign}` does not stand deeper than `{word}`");
    let remedy = format!(
        "Give each of its lines {} blanks, 2 more than `{word}` has.",
        own + 2
    );
    slip(first, found, message, remedy)
}
