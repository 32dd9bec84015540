//! A table found by its shape alone: the rows are the lines with as many cells that hold numbers, the
//! headings stand above them.

use super::headings::{of_line, unit_row};
use super::{Header, MOST_PREAMBLE, SAMPLE, following, readable};
use crate::capture::ReadError;
use crate::capture::layout::lines::{Line, cells};
use crate::capture::setup::keys::Delimiter;

/// Rows of one delimiter's reading.
struct Shape {
    delimiter: Delimiter,
    first: usize,
    columns: usize,
    /// Rows that hold together, cells that are numbers counted in.
    weight: f64,
}

/// The headings above the rows. Where there are no rows, the first line is taken for headings: what is
/// missing from it then says what is wrong.
pub(super) fn header<'t>(
    lines: &[Line<'t>],
    delimiters: &[Delimiter],
    told: Option<u64>,
    file: &str,
) -> Result<Header<'t>, ReadError> {
    if let Some(number) = told {
        return at_line(lines, delimiters, number, file);
    }
    let first = following(lines, 0).or_else(|| (0..lines.len()).find(|at| !lines[*at].is_blank()));
    let shape = delimiters
        .iter()
        .filter_map(|delimiter| shape(lines, *delimiter))
        .reduce(|best, other| {
            if other.weight > best.weight {
                other
            } else {
                best
            }
        });
    let Some(shape) = shape else {
        let at = first.unwrap_or(0);
        let delimiter = widest(lines[at], delimiters);
        return Ok(header_at(lines, at, delimiter));
    };
    let Some(mut above) = above(lines, shape.first) else {
        let number = lines[shape.first].number;
        let message = if number == 1 {
            "the first line holds numbers, not the names of the columns"
        } else {
            "the rows begin here, and no line above them names the columns"
        };
        let remedy = "Put a header line first, for example: time_s,battery_voltage_V,reference_V; or name \
                      the columns in the set-up: table: {columns: [time_s, battery_voltage_V]}";
        return Err(ReadError::new(file, number, 0, message, remedy));
    };
    let is_units = |at: usize| unit_row(lines[at], shape.delimiter, shape.columns).is_some();
    if is_units(above)
        && let Some(names) = self::above(lines, above)
        && cells(lines[names].text, shape.delimiter).len() >= shape.columns.min(2)
    {
        above = names;
    }
    Ok(header_at(lines, above, shape.delimiter))
}

fn header_at<'t>(lines: &[Line<'t>], at: usize, delimiter: Delimiter) -> Header<'t> {
    Header {
        delimiter,
        line: Some(lines[at]),
        headings: of_line(lines, at, delimiter),
        next: at + 1,
    }
}

fn at_line<'t>(
    lines: &[Line<'t>],
    delimiters: &[Delimiter],
    number: u64,
    file: &str,
) -> Result<Header<'t>, ReadError> {
    let at = lines
        .iter()
        .position(|line| line.number == number && !line.is_blank());
    let Some(at) = at else {
        let message =
            format!("the set-up says that line {number} holds the headings; nothing stands there");
        let remedy = "Correct header_line in the set-up's table; the first line is 1.";
        return Err(ReadError::new(file, number, 0, message, remedy));
    };
    let shape = delimiters
        .iter()
        .filter_map(|delimiter| shape(&lines[at..], *delimiter))
        .reduce(|best, other| {
            if other.weight > best.weight {
                other
            } else {
                best
            }
        });
    let delimiter = shape.map_or_else(|| widest(lines[at], delimiters), |shape| shape.delimiter);
    Ok(header_at(lines, at, delimiter))
}

/// Rows as one delimiter sees them.
fn shape(lines: &[Line<'_>], delimiter: Delimiter) -> Option<Shape> {
    let counted: Vec<Option<(usize, f64)>> = lines
        .iter()
        .take(MOST_PREAMBLE + SAMPLE)
        .map(|line| row(*line, delimiter))
        .collect();
    let is_row = |at: usize| counted.get(at).copied().flatten();
    let skipped = |at: usize| lines[at].is_blank() || lines[at].is_comment();
    let first = (0..counted.len()).find(|at| {
        is_row(*at).is_some_and(|(count, _)| {
            let next = (at + 1..counted.len()).find(|next| !skipped(*next));
            next.is_none_or(|next| is_row(next).is_some_and(|(other, _)| other == count))
        })
    })?;
    let (columns, _) = is_row(first)?;
    let weight: f64 = counted[first..]
        .iter()
        .flatten()
        .filter(|(count, _)| *count == columns)
        .map(|(_, share)| share * share)
        .sum();
    // one number in a line is a poor table
    let weight = weight * if columns >= 2 { 1.0 } else { 0.1 };
    Some(Shape {
        delimiter,
        first,
        columns,
        weight,
    })
}

/// Cells of a line and the share of numbers among them, if it may be a row.
fn row(line: Line<'_>, delimiter: Delimiter) -> Option<(usize, f64)> {
    if line.is_blank() || line.is_comment() {
        return None;
    }
    let mut cells = cells(line.text, delimiter);
    // a delimiter at the end makes an empty cell that is none
    if cells.len() > 1 && cells.last().is_some_and(|cell| cell.is_empty()) {
        cells.pop();
    }
    let filled = cells.iter().filter(|cell| !cell.is_empty()).count();
    let numbers = cells.iter().filter(|cell| readable(cell)).count();
    let good =
        numbers > 0 && (numbers == filled || (cells.len() >= 3 && 2 * numbers > cells.len()));
    good.then(|| (cells.len(), numbers as f64 / cells.len() as f64))
}

/// The nearest line above that is not blank; a comment may hold the headings.
fn above(lines: &[Line<'_>], below: usize) -> Option<usize> {
    (0..below).rev().find(|at| !lines[*at].is_blank())
}

fn widest(line: Line<'_>, delimiters: &[Delimiter]) -> Delimiter {
    let count = |delimiter: Delimiter| cells(line.text, delimiter).len();
    let mut best = delimiters[0];
    for delimiter in delimiters {
        // blanks stand in names too
        if *delimiter != Delimiter::Blank && count(*delimiter) > count(best) {
            best = *delimiter;
        }
    }
    best
}
