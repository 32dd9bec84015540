//! Characters that a text must not hold: those that steer a terminal, turn the reading direction or
//! cannot be seen, so that what is shown would not be what is written.

use saphyr_parser::ScalarStyle;

use crate::procedure::model::{Position, Source};
use crate::procedure::problem::Findings;
use crate::text::steers;

/// Most such characters reported of one file.
const MOST_REPORTED: usize = 20;

const WHY: &str = "It could hide or rearrange words on the screen, a hazard's among them.";

/// Whether a character must not stand in a text. Line feed, carriage return and tab may.
fn is_refused(c: char) -> bool {
    steers(c) && !matches!(c, '\n' | '\r' | '\t')
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
