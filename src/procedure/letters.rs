//! Characters that a text must not hold: those that steer a terminal, turn the reading direction or
//! cannot be seen, so that what is shown would not be what is written.

use saphyr_parser::ScalarStyle;

use super::model::{Position, Source};
use super::problem::Findings;

/// Most such characters reported of one file.
const MOST_REPORTED: usize = 20;

const WHY: &str = "It could hide or rearrange words on the screen, a hazard's among them.";

/// Whether a character must not stand in a text. Line feed, carriage return and tab may.
#[must_use]
pub fn is_refused(c: char) -> bool {
    let steers = c.is_control() && !matches!(c, '\n' | '\r' | '\t');
    // bidirectional marks, embeddings, overrides, isolates (Unicode Standard Annex 9)
    let turns = matches!(c, '\u{061c}' | '\u{200e}' | '\u{200f}'
        | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    // zero-width characters, separators, tag characters
    let hidden = matches!(c, '\u{00ad}' | '\u{200b}'..='\u{200d}' | '\u{2028}' | '\u{2029}'
        | '\u{2060}'..='\u{2064}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}');
    steers || turns || hidden
}

/// Check the file as written. A byte-order mark may stand at its very beginning.
pub(crate) fn check_file(source: &Source, findings: &mut Findings) {
    let text = source.text.strip_prefix('\u{feff}').unwrap_or(&source.text);
    let found = text.split('\n').enumerate().flat_map(|(line, words)| {
        words
            .chars()
            .enumerate()
            .filter(|(_, c)| is_refused(*c))
            .map(move |(column, c)| (line + 1, column + 1, c))
    });
    for (line, column, c) in found.take(MOST_REPORTED) {
        let position = Position {
            file: source.file.clone(),
            line,
            column,
        };
        report(c, &position, findings);
    }
}

/// Check a text after its escapes were read: `"\e[2K"` is written with innocent letters.
pub(crate) fn check_scalar(
    value: &str,
    style: ScalarStyle,
    position: &Position,
    findings: &mut Findings,
) {
    if style == ScalarStyle::DoubleQuoted
        && let Some(c) = value.chars().find(|c| is_refused(*c))
        && !findings
            .list
            .iter()
            .any(|p| p.position.line == position.line)
    {
        report(c, position, findings);
    }
}

fn report(c: char, position: &Position, findings: &mut Findings) {
    findings.doubt(
        position,
        format!("the character U+{:04X} is not allowed", u32::from(c)),
        WHY,
        "Delete it and type the text anew.".to_owned(),
    );
}
