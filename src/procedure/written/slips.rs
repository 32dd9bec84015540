//! Slips of the pen that make a file unreadable, told from the lines where reading stopped: a parser speaks of
//! what it expected, which is seldom what was forgotten.

mod brackets;
mod dashes;
mod quotes;
mod words;

use super::keys;

/// A slip: line and column from one, what it is, how it is mended.
pub(crate) struct Slip {
    pub(crate) line: usize,
    pub(crate) column: usize,
    pub(crate) message: String,
    pub(crate) remedy: String,
}

/// Blanks that look like one and are none to YAML.
pub(crate) const NO_BLANKS: [char; 4] = ['\u{a0}', '\u{2007}', '\u{202f}', '\u{3000}'];

/// Quotes that are none to YAML.
const CURLY: [char; 3] = ['“', '”', '„'];

/// The slip that stopped reading at a place (line from one, column from none), where it is one of those that
/// are simple to recognise.
pub(crate) fn recognised(text: &str, line: usize, column: usize) -> Option<Slip> {
    let lines: Vec<&str> = text.lines().collect();
    let last = line.min(lines.len()).checked_sub(1)?;
    let written = |at: &usize| {
        let content = lines[*at].trim();
        !content.is_empty() && !content.starts_with('#')
    };
    let before = (0..last).rev().find(written);
    let near = || [before, Some(last)].into_iter().flatten();
    // the parser tells of a tab at the end of what it read before
    (last..lines.len().min(last + 2))
        .find_map(|at| tab(lines[at], at))
        .or_else(|| near().find_map(|at| no_blank(lines[at], at)))
        .or_else(|| {
            [Some(last), before]
                .into_iter()
                .flatten()
                .find_map(|at| no_quotes(lines[at], at))
        })
        .or_else(|| quotes::found(&lines, last, column))
        .or_else(|| brackets::not_closed(&lines, last))
        .or_else(|| brackets::too_many(lines[last], last, column))
        .or_else(|| brackets::no_comma(lines[last], last, column))
        .or_else(|| near().find_map(|at| no_blank_after_dash(&lines, at)))
        .or_else(|| near().find_map(|at| no_space_after_colon(lines[at], at)))
        .or_else(|| near().find_map(|at| no_colon(lines[at], at)))
        .or_else(|| words::colon_behind(lines[last], last))
        .or_else(|| words::no_brace(lines[last], last))
        .or_else(|| words::colon_in_text(lines[last], last, column))
        .or_else(|| words::colon_in_lines(&lines, last))
        .or_else(|| before.and_then(|before| dashes::found(&lines, last, before)))
        .or_else(|| words::not_deeper(&lines, last))
        .or_else(|| before.and_then(|before| words::lone(&lines, before, last)))
        .or_else(|| near().find_map(|at| dashes::before_step(lines[at], at)))
        .or_else(|| dashes::under_list(&lines, last))
        .or_else(|| words::parent_missing(&lines, last, before?))
        .or_else(|| indentation(&lines, last, before?))
}

fn slip(line: usize, column: usize, message: String, remedy: String) -> Option<Slip> {
    Some(Slip {
        line: line + 1,
        column: column + 1,
        message,
        remedy,
    })
}

/// A tab in the indentation, or after the colon of a key.
fn tab(content: &str, at: usize) -> Option<Slip> {
    if let Some((key, _)) = content.split_once(":\t").filter(|(key, _)| is_key(key)) {
        let word = key.trim_start_matches([' ', '-']);
        let message = format!("a tab stands after the colon of `{word}`");
        let remedy = "Put a blank in its place.".to_owned();
        return slip(at, key.chars().count() + 1, message, remedy);
    }
    let indentation = content.chars().take_while(|c| c.is_whitespace());
    let column = indentation.take_while(|c| *c != '\t').count();
    if content.chars().nth(column) != Some('\t') {
        return None;
    }
    let message = "a tab stands in the indentation".to_owned();
    let remedy = "Put spaces in place of the tab, as many as in the lines around it.".to_owned();
    slip(at, column, message, remedy)
}

/// A no-break space in the indentation or after the colon of a key.
fn no_blank(content: &str, at: usize) -> Option<Slip> {
    let column = content.chars().position(|c| NO_BLANKS.contains(&c))?;
    let before: String = content.chars().take(column).collect();
    let found = content.chars().nth(column)?;
    let is_key = before.ends_with(':') && is_key(before.trim_end_matches(':'));
    if !before.trim().is_empty() && !is_key {
        return None;
    }
    let message = format!(
        "a no-break space (U+{:04X}) stands where a blank must",
        u32::from(found)
    );
    let remedy = "It cannot be seen: delete what is between the words and type a blank.".to_owned();
    slip(at, column, message, remedy)
}

/// Whether a line's beginning, without its colon, is a key of ours.
pub(super) fn is_key(before: &str) -> bool {
    let word = before.trim_start_matches([' ', '-']);
    let all = [&keys::FILE[..], &keys::STEP, &keys::MEASURE];
    let all = all.into_iter().chain([&keys::BRANCH[..], &keys::AT_MOST]);
    all.flatten().any(|(known, _)| *known == word)
}

/// A key of ours and what it says, with no colon between.
fn no_colon(content: &str, at: usize) -> Option<Slip> {
    if content.contains(':') {
        return None;
    }
    let words = content.trim_start_matches([' ', '-']);
    let (key, value) = words.split_once(' ')?;
    if !is_key(key) {
        return None;
    }
    let column = content.chars().count() - words.chars().count() + key.chars().count();
    let message = format!("`{}` has no colon", words.trim_end());
    let value = value.trim_start_matches([' ', '=']).trim_end();
    let remedy = format!("Write `{key}: {value}`.");
    slip(at, column, message, remedy)
}

/// Where the text of a line begins, in bytes, and what it belongs to: behind a key's colon, or behind a dash.
fn text_of(content: &str) -> Option<(usize, &str)> {
    let blanks = content.len() - content.trim_start().len();
    let listed = content[blanks..].strip_prefix("- ");
    if let Some(text) =
        listed.filter(|text| text.trim_start().starts_with(['{', '[', '@', '`', '%']))
    {
        let begins = content.len() - text.trim_start().len();
        return Some((begins, &content[..begins]));
    }
    let (key, _) = content.split_once(": ")?;
    Some((key.len() + 2, key))
}

/// A text that begins with a sign which YAML takes for its own, or that typographic quotes stand round.
fn no_quotes(content: &str, at: usize) -> Option<Slip> {
    let (byte, key) = text_of(content)?;
    let value = content[byte..].trim();
    let column = content[..byte].chars().count();
    if let Some(found) = content[byte..].chars().position(|c| CURLY.contains(&c)) {
        let message = "quotes must be straight ones to YAML".to_owned();
        let remedy = "Put \" in place of each of them.".to_owned();
        return slip(at, column + found, message, remedy);
    }
    let begun = value.chars().next()?;
    if !is_own(begun, value, key) {
        return None;
    }
    let message = format!("a text that begins with `{begun}` stands without quotes");
    let mark = if value.contains('"') { '\'' } else { '"' };
    slip(at, column, message, format!("Write {mark}{value}{mark}."))
}

/// Whether YAML takes the sign at a text's beginning for its own, so that the text cannot be read.
fn is_own(begun: char, value: &str, key: &str) -> bool {
    let rest = value[begun.len_utf8()..].trim_start();
    match begun {
        // after these YAML wants a line break, a digit or a sign
        '>' | '|' => {
            let apart = value[begun.len_utf8()..].starts_with(' ');
            let text = apart || rest.len() > 2 || rest.starts_with('=');
            !rest.is_empty() && text && !rest.starts_with('#')
        }
        '{' | '[' => {
            let closing = value.find(if begun == '{' { '}' } else { ']' });
            let behind = closing.map(|closing| value[closing + 1..].trim_start());
            let words = behind.is_some_and(|behind| {
                !behind.is_empty() && !behind.starts_with(['#', ',', '}', ']'])
            });
            words && !key.contains(['{', '['])
        }
        '@' | '`' | '%' | '*' | '&' | '!' => true,
        '?' => value.starts_with("? "),
        _ => false,
    }
}

/// `-when: low`.
fn no_blank_after_dash(lines: &[&str], at: usize) -> Option<Slip> {
    let content = lines[at];
    let rest = content.trim_start().strip_prefix('-')?;
    let listed = |content: &&str| {
        content.trim_start().starts_with("- ") && indent(content) == indent(lines[at])
    };
    let beside = [at.checked_sub(1), Some(at + 1)].into_iter().flatten();
    let beside = beside.filter_map(|at| lines.get(at)).any(listed);
    let one_of_list = beside && rest.starts_with(char::is_alphabetic);
    let key = head(rest).filter(|word| is_key(word) && !rest.starts_with([' ', '-']));
    let word = key.or_else(|| Some(rest.trim()).filter(|_| one_of_list))?;
    let message = format!("`-{word}` has no blank after the dash");
    let remedy = format!("Write `- {}`.", rest.trim_end());
    slip(at, indent(content), message, remedy)
}

/// `work:none`.
fn no_space_after_colon(content: &str, at: usize) -> Option<Slip> {
    let (before, after) = content.split_once(':')?;
    if !is_key(before) || after.is_empty() || after.starts_with([' ', '\t']) {
        return None;
    }
    let message = format!("`{}` has no blank after the colon", content.trim());
    let word = before.trim();
    slip(
        at,
        before.chars().count(),
        message,
        format!("Write `{word}: {after}`."),
    )
}

pub(super) fn indent(content: &str) -> usize {
    content.chars().take_while(|c| *c == ' ').count()
}

pub(super) fn blanks(count: usize) -> String {
    match count {
        1 => "1 blank".to_owned(),
        count => format!("{count} blanks"),
    }
}

/// What a line begins with, up to its colon.
pub(super) fn head(content: &str) -> Option<&str> {
    let (before, after) = content.split_once(':')?;
    let word = before.trim();
    let plain = !word.is_empty() && !word.contains(['"', '\'', '{', '[']);
    (plain && (after.is_empty() || after.starts_with(' '))).then_some(word)
}

/// A key that stands some blanks beside all those that it could belong with.
fn indentation(lines: &[&str], last: usize, before: usize) -> Option<Slip> {
    let own = indent(lines[last]);
    let above = indent(lines[before]);
    if own > above {
        return too_deep(lines, last, before);
    }
    // the nearest deeper and the nearest less deep that are open
    let (mut deeper, mut least): (Option<(usize, &str)>, usize) = (None, usize::MAX);
    for content in lines[..last].iter().rev() {
        let (depth, Some(word)) = (indent(content), head(content)) else {
            continue;
        };
        if depth >= least {
            continue;
        }
        least = depth;
        if depth == own {
            return None;
        }
        if depth > own {
            deeper = Some((depth, word));
            continue;
        }
        let (more, with) = deeper?;
        let message = format!(
            "`{}` stands in by {}, as no line above it does",
            head(lines[last])?,
            blanks(own)
        );
        let remedy = format!("Give it {more} blanks as `{with}` has, or {depth} as `{word}` has.");
        return slip(last, own, message, remedy);
    }
    None
}

/// A line that stands deeper than the one above it, under which nothing can stand: one of the two is out of place.
fn too_deep(lines: &[&str], last: usize, before: usize) -> Option<Slip> {
    let (own, above) = (indent(lines[last]), indent(lines[before]));
    let word = head(lines[last])?;
    let (_, value) = lines[before].split_once(": ")?;
    let goes_on = value.trim().is_empty() || value.trim_start().starts_with(['>', '|', '#']);
    let over = head(lines[before]).filter(|_| !goes_on)?;
    let with = lines[..before]
        .iter()
        .rev()
        .find(|content| indent(content) == own);
    let among = with
        .and_then(|content| head(content))
        .filter(|key| is_key(key));
    if is_key(over) && is_key(word) && among.is_some() {
        let message = format!(
            "`{over}` stands in by {}, the keys around it by {own}",
            blanks(above)
        );
        return slip(
            before,
            above,
            message,
            format!("Give it {} more.", blanks(own - above)),
        );
    }
    let message = format!(
        "`{word}` stands in by {}, the line above by {above}",
        blanks(own)
    );
    let remedy = format!("Give both as many: take {} away.", own - above);
    slip(last, own, message, remedy)
}
