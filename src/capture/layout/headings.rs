//! Headings that are found by the names that a set-up wants, units in a row of their own, and columns that
//! the set-up itself names.

use super::{Header, MOST_PREAMBLE, following, readable, sample};
use crate::capture::ReadError;
use crate::capture::layout::heading::{Heading, bare_unit};
use crate::capture::layout::lines::{Line, cells, comment_sign, letters};
use crate::capture::reading::cell::{self, Cell};
use crate::capture::setup::keys::{Decimal, Delimiter, TableKeys};
use crate::capture::unit;

/// Characters of a unit.
const MOST_UNIT: usize = 8;

/// The line that holds all wanted names, if any does. Where several delimiters find one, the rows decide;
/// where they cannot, that is an error.
pub(super) fn with_names<'t>(
    lines: &[Line<'t>],
    names: &[&str],
    delimiters: &[Delimiter],
    file: &str,
) -> Result<Option<Header<'t>>, ReadError> {
    let mut found: Vec<(Header<'t>, Vec<Option<u64>>)> = Vec::new();
    for delimiter in delimiters {
        let header = lines
            .iter()
            .enumerate()
            .take(MOST_PREAMBLE)
            .filter(|(_, line)| line.text.iter().any(|byte| is_letter(*byte)))
            .find_map(|(at, line)| {
                let headings = of_line(lines, at, *delimiter);
                let all = names.iter().all(|name| headings.iter().any(|h| h.is(name)));
                all.then_some(Header {
                    delimiter: *delimiter,
                    line: Some(*line),
                    headings,
                    next: at + 1,
                })
            });
        if let Some(header) = header {
            let values = values(lines, &header, names);
            found.push((header, values));
        }
    }
    let read = |values: &[Option<u64>]| values.iter().flatten().count();
    let most = found
        .iter()
        .map(|(_, values)| read(values))
        .max()
        .unwrap_or(0);
    found.retain(|(_, values)| read(values) == most);
    if let Some(other) = found.iter().find(|other| other.1 != found[0].1) {
        let names = [found[0].0.delimiter.name(), other.0.delimiter.name()];
        let message = format!(
            "the table can be read as separated by {} and by {}, with different numbers",
            names[0], names[1]
        );
        let remedy = format!(
            "Say which in the set-up: table: {{delimiter: {}}} or table: {{delimiter: {}}}",
            names[0], names[1]
        );
        let line = found[0].0.line.map_or(0, |line| line.number);
        return Err(ReadError::new(file, line, 0, message, remedy));
    }
    Ok(found.into_iter().next().map(|(header, _)| header))
}

fn is_letter(byte: u8) -> bool {
    byte.is_ascii_alphabetic() || byte >= 0x80
}

/// The numbers of the wanted columns in the sample, as bits.
fn values(lines: &[Line<'_>], header: &Header<'_>, names: &[&str]) -> Vec<Option<u64>> {
    let wanted: Vec<usize> = (0..header.headings.len())
        .filter(|at| names.iter().any(|name| header.headings[*at].is(name)))
        .collect();
    let number = |cell: &[u8]| match (cell::read(cell, b'.'), cell::read(cell, b',')) {
        (Cell::Number(number), _) | (_, Cell::Number(number)) => Some(number.to_bits()),
        _ => readable(cell).then_some(u64::MAX),
    };
    sample(lines, header.next)
        .iter()
        .flat_map(|line| {
            let row = cells(line.text, header.delimiter);
            wanted
                .iter()
                .map(|at| row.get(*at).and_then(|cell| number(cell)))
                .collect::<Vec<_>>()
        })
        .collect()
}

/// A line's cells as headings. A comment sign before them is passed over.
pub(super) fn of_line(lines: &[Line<'_>], at: usize, delimiter: Delimiter) -> Vec<Heading> {
    let text = lines[at].text;
    let text = &text[comment_sign(text).unwrap_or(0)..];
    if delimiter != Delimiter::Blank {
        let cells = cells(text, delimiter);
        return cells
            .iter()
            .map(|cell| Heading::of(&letters(cell)))
            .collect();
    }
    let single = joined_units(&cells(text, delimiter));
    let rows = following(lines, at + 1).map(|next| cells(lines[next].text, delimiter).len());
    if rows.is_some_and(|count| count != single.len()) {
        // names may hold blanks where two or more stand between columns
        let wide = wide_cells(&letters(text));
        if Some(wide.len()) == rows {
            return wide.iter().map(|cell| Heading::of(cell)).collect();
        }
    }
    single.iter().map(|text| Heading::of(text)).collect()
}

/// Words with the unit in brackets that follows them.
fn joined_units(cells: &[std::borrow::Cow<'_, [u8]>]) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for cell in cells {
        let text = letters(cell);
        match all.last_mut() {
            Some(name) if text.starts_with(['(', '[']) => {
                name.push(' ');
                name.push_str(&text);
            }
            _ => all.push(text),
        }
    }
    all
}

fn wide_cells(text: &str) -> Vec<String> {
    let spread = text.replace('\t', "  ");
    let cells = spread.split("  ").map(str::trim);
    cells
        .filter(|cell| !cell.is_empty())
        .map(str::to_owned)
        .collect()
}

/// The units in a line, by column, if it is a row of units: no numbers, and at least one unit that is
/// known.
pub(super) fn unit_row(
    line: Line<'_>,
    delimiter: Delimiter,
    columns: usize,
) -> Option<Vec<String>> {
    let cells = cells(line.text, delimiter);
    if cells.len() > columns + 1 || cells.iter().any(|cell| readable(cell)) {
        return None;
    }
    let units: Vec<String> = cells
        .iter()
        .map(|cell| bare_unit(&letters(cell)).to_owned())
        .collect();
    let short = units.iter().all(|unit| unit.chars().count() <= MOST_UNIT);
    let known = units.iter().any(|unit| unit::parse(unit).is_some());
    (short && known).then_some(units)
}

/// Columns that the set-up names, for a file without headings.
pub(super) fn told<'t>(
    lines: &[Line<'t>],
    columns: &[String],
    delimiters: &[Delimiter],
    after: Option<u64>,
    file: &str,
) -> Result<Header<'t>, ReadError> {
    let from = after.map_or(0, |line| usize::try_from(line).unwrap_or(usize::MAX));
    let rows = |delimiter: Delimiter| {
        (from..lines.len().min(from.saturating_add(MOST_PREAMBLE))).find(|at| {
            let cells = cells(lines[*at].text, delimiter);
            cells.len() >= columns.len() && cells[..columns.len()].iter().all(|cell| readable(cell))
        })
    };
    let found = delimiters
        .iter()
        .find_map(|delimiter| rows(*delimiter).map(|at| (*delimiter, at)));
    let Some((delimiter, next)) = found else {
        let message = format!(
            "no line holds numbers for the {} columns that the set-up names",
            columns.len()
        );
        let remedy = "Name as many columns in the set-up's table as the capture has.";
        return Err(ReadError::new(file, 0, 0, message, remedy));
    };
    Ok(Header {
        delimiter,
        line: None,
        headings: columns.iter().map(|name| Heading::of(name)).collect(),
        next,
    })
}

/// Twice as many cells as headings: decimal commas between commas cannot be told apart.
pub(super) fn as_many_cells(
    rows: &[Line<'_>],
    headings: &[Heading],
    delimiter: Delimiter,
    keys: &TableKeys,
    header_line: u64,
    file: &str,
) -> Result<(), ReadError> {
    if delimiter != Delimiter::Comma || rows.is_empty() {
        return Ok(());
    }
    let bare = headings
        .iter()
        .rev()
        .skip_while(|h| h.text.is_empty())
        .count();
    let doubled = |row: &Line<'_>| {
        let cells = cells(row.text, delimiter);
        bare > 1 && cells.len() >= 2 * bare && cells.iter().all(|cell| readable(cell))
    };
    if !rows.iter().all(doubled) {
        return Ok(());
    }
    let message = format!(
        "there are {bare} headings, and twice as many cells in each row: decimal commas between commas \
         cannot be told apart"
    );
    let remedy = if keys.decimal == Some(Decimal::Comma) {
        "Export the capture with semicolons or tabs between the cells."
    } else {
        "Export the capture with decimal points, or with semicolons or tabs between the cells."
    };
    Err(ReadError::new(file, header_line, 0, message, remedy))
}
