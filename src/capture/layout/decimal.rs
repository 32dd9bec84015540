//! Which sign stands before decimals, from the rows themselves.

use super::readable;
use crate::capture::ReadError;
use crate::capture::layout::lines::{Line, cells, letters};
use crate::capture::reading::cell::{self, Cell};
use crate::capture::setup::keys::{Decimal, Delimiter};
use crate::capture::shown;

/// Where a sign was seen: line, column, cell.
type Seen = (u64, u64, String);

/// Settle it, or say why that cannot be done.
pub(super) fn settle(
    rows: &[Line<'_>],
    wanted: &[usize],
    delimiter: Delimiter,
    told: Option<Decimal>,
    file: &str,
) -> Result<Decimal, ReadError> {
    if let Some(told) = told {
        return Ok(told);
    }
    if delimiter == Delimiter::Comma {
        return Ok(Decimal::Point);
    }
    let (mut point, mut comma, mut certain): (Option<Seen>, Option<Seen>, bool) =
        (None, None, false);
    for row in rows {
        let cells = cells(row.text, delimiter);
        for at in wanted {
            let Some(cell) = cells.get(*at) else { continue };
            if !readable(cell) || cell.contains(&b':') {
                continue;
            }
            let seen = || (row.number, *at as u64 + 1, letters(cell));
            let is_number = |point| matches!(cell::read(cell, point), Cell::Number(_));
            if cell.contains(&b'.') && is_number(b'.') {
                point.get_or_insert_with(seen);
            } else if cell.contains(&b',') && is_number(b',') {
                comma.get_or_insert_with(seen);
                certain |= !may_be_thousands(cell);
            }
        }
    }
    let choices = "Say which in the set-up: table: {decimal: point} or table: {decimal: comma}";
    match (point, comma) {
        (_, None) => Ok(Decimal::Point),
        (None, Some(_)) if certain => Ok(Decimal::Comma),
        (None, Some((line, column, cell))) => {
            let message = format!(
                "{} may be a decimal comma or thousands set apart; nothing in the file tells which",
                shown::cell(&cell)
            );
            Err(ReadError::new(file, line, column, message, choices))
        }
        (Some((line, _, with_point)), Some((other, column, with_comma))) => {
            let message = format!(
                "{} (line {line}) has a point, {} a comma: one of them cannot be the decimal sign",
                shown::cell(&with_point),
                shown::cell(&with_comma)
            );
            Err(ReadError::new(file, other, column, message, choices))
        }
    }
}

/// "1,234" may be a thousand and more; "0,123" and "12,5" cannot.
fn may_be_thousands(cell: &[u8]) -> bool {
    let digits = cell.trim_ascii();
    let digits = digits.strip_prefix(b"-").unwrap_or(digits);
    let mut groups = digits.split(|byte| *byte == b',');
    let first = groups.next().unwrap_or_default();
    (1..=3).contains(&first.len())
        && first[0] != b'0'
        && groups.all(|group| group.len() == 3 && group.iter().all(u8::is_ascii_digit))
}
