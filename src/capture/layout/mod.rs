//! How a table is laid out: what stands between cells, which line holds the headings, whether units follow
//! in a row of their own, where the rows begin, which sign decimals have. The set-up's column names find
//! the headings; without them the table's shape does. Whatever stays in doubt is an error with the
//! choices.

mod decimal;
pub(crate) mod heading;
mod headings;
pub(crate) mod lines;
mod shape;

use self::heading::Heading;
use self::lines::Line;
use crate::capture::ReadError;
use crate::capture::reading::cell::{self, Cell};
use crate::capture::setup::keys::{Decimal, Delimiter, TableKeys};
use crate::capture::{clock, shown};

/// Lines that may stand before the headings.
const MOST_PREAMBLE: usize = 400;

/// Rows that are looked at to settle what a table's form is.
const SAMPLE: usize = 400;

/// A table's layout.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// What stands between cells.
    pub delimiter: Delimiter,
    /// Sign before decimals.
    pub decimal: Decimal,
    /// Headings from the left.
    pub headings: Vec<Heading>,
    /// Line of the headings; none where the set-up names the columns.
    pub header_line: Option<u64>,
    /// Line of the units, where they have one.
    pub unit_line: Option<u64>,
    /// Headings and units as they stand there, to be known again where they are repeated.
    pub repeated: Vec<Vec<u8>>,
    /// Line where rows begin.
    pub first_line: u64,
    /// Byte where rows begin.
    pub start: usize,
}

/// Headings found in a line.
struct Header<'t> {
    delimiter: Delimiter,
    line: Option<Line<'t>>,
    headings: Vec<Heading>,
    /// Index of the line after it.
    next: usize,
}

/// Find the layout of a table that begins with `head`. `names` are the columns that are wanted; without
/// any, the table's shape decides alone.
///
/// # Errors
/// Where there is no table, a column is missing, or its form is in doubt.
pub fn find(
    head: &[u8],
    names: &[&str],
    keys: &TableKeys,
    file: &str,
) -> Result<Layout, ReadError> {
    let lines = lines::split(head);
    if lines.iter().all(Line::is_blank) {
        let remedy = "Save the capture again and check its size.";
        return Err(ReadError::new(file, 0, 0, "the capture is empty", remedy));
    }
    let one = keys.delimiter.map(|delimiter| [delimiter]);
    let delimiters = one.as_ref().map_or(&Delimiter::ALL[..], |one| &one[..]);
    let header = match &keys.columns {
        Some(columns) => headings::told(&lines, columns, delimiters, keys.header_line, file)?,
        None if names.is_empty() || keys.header_line.is_some() => {
            shape::header(&lines, delimiters, keys.header_line, file)?
        }
        None => match headings::with_names(&lines, names, delimiters, file)? {
            Some(header) => header,
            None => shape::header(&lines, delimiters, None, file)?,
        },
    };
    settle(&lines, header, names, keys, file)
}

fn settle(
    lines: &[Line<'_>],
    header: Header<'_>,
    names: &[&str],
    keys: &TableKeys,
    file: &str,
) -> Result<Layout, ReadError> {
    let Header {
        delimiter,
        line,
        mut headings,
        mut next,
    } = header;
    let mut repeated: Vec<Vec<u8>> = line
        .iter()
        .map(|line| line.text.trim_ascii().to_vec())
        .collect();
    let mut unit_line = None;
    if line.is_some()
        && let Some(at) = following(lines, next)
        && let Some(units) = headings::unit_row(lines[at], delimiter, headings.len())
    {
        for (heading, unit) in headings.iter_mut().zip(units) {
            if !unit.is_empty() {
                heading.state(&unit);
            }
        }
        repeated.push(lines[at].text.trim_ascii().to_vec());
        unit_line = Some(lines[at].number);
        next = at + 1;
    }
    let rows = sample(lines, next);
    if let Some(line) = line {
        headings::as_many_cells(&rows, &headings, delimiter, keys, line.number, file)?;
    }
    // the first column is time where none is named
    let tells = |at: usize| at == 0 || names.iter().any(|name| headings[at].is(name));
    let wanted: Vec<usize> = (0..headings.len())
        .filter(|at| names.is_empty() || tells(*at))
        .collect();
    let decimal = decimal::settle(&rows, &wanted, delimiter, keys.decimal, file)?;
    let end = lines.last().map_or(0, |last| last.start + last.text.len());
    Ok(Layout {
        delimiter,
        decimal,
        headings,
        header_line: line.map(|line| line.number),
        unit_line,
        repeated,
        first_line: lines
            .get(next)
            .map_or(lines.len() as u64 + 1, |line| line.number),
        start: lines.get(next).map_or(end, |line| line.start),
    })
}

/// The next line that is neither blank nor a comment.
fn following(lines: &[Line<'_>], from: usize) -> Option<usize> {
    (from..lines.len()).find(|at| !lines[*at].is_blank() && !lines[*at].is_comment())
}

/// Rows that a judgement is made from. The last line may be cut off in the middle; it is left out.
fn sample<'t>(lines: &[Line<'t>], from: usize) -> Vec<Line<'t>> {
    let rows: Vec<Line<'t>> = lines[from.min(lines.len())..]
        .iter()
        .filter(|line| !line.is_blank() && !line.is_comment())
        .take(SAMPLE + 1)
        .copied()
        .collect();
    let keep = rows.len().saturating_sub(1).clamp(1, SAMPLE);
    rows.into_iter().take(keep).collect()
}

/// Whether a cell can belong to a row: a number with either decimal sign, a mark, a time of day.
fn readable(cell: &[u8]) -> bool {
    let is_value = |point| !matches!(cell::read(cell, point), Cell::Nothing | Cell::Else);
    is_value(b'.') || is_value(b',') || clock::read(cell, b',').is_some()
}

/// Headings as an error shows them.
pub fn listed(headings: &[Heading]) -> String {
    shown::list(headings.iter().map(|heading| heading.text.as_str()))
}

#[cfg(test)]
mod tests;
