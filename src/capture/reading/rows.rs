//! Rows of a block of text made columns of numbers, as fast as the text can be looked at once. A block
//! holds whole lines and no quotes; blocks can be read side by side. Quoted cells are `quoted`'s.

use super::cell::{self, Cell};
use super::gather::Span;
use crate::capture::clock;
use crate::capture::layout::lines::comment_sign;
use crate::capture::setup::keys::Delimiter;

/// What to take out of rows.
#[derive(Debug, Clone)]
pub struct Cut {
    /// What stands between cells.
    pub delimiter: Delimiter,
    /// Sign before decimals.
    pub point: u8,
    /// Columns to take, from 0, rising.
    pub wanted: Vec<usize>,
    /// Which of the wanted is time, if any is.
    pub time: Option<usize>,
    /// Whether time is a clock's.
    pub clock: bool,
    /// Lines that are no rows: headings and units that come again.
    pub repeated: Vec<Vec<u8>>,
}

/// Rows that were read.
#[derive(Debug, Default)]
pub struct Rows {
    /// The wanted columns, all as long.
    pub columns: Vec<Vec<f64>>,
    /// Bytes that were used up; what stopped the reading begins there.
    pub used: usize,
    /// Line ends in them.
    pub lines: u64,
    /// What stopped the reading, if not the end.
    pub stop: Option<Stop>,
    /// What each column spans.
    pub spans: Vec<Span>,
}

/// What stops the reading of rows.
#[derive(Debug, Clone, PartialEq)]
pub enum Stop {
    /// A wanted cell that cannot be taken.
    Cell {
        /// Which of the wanted.
        slot: usize,
        /// Its text; none where the row ends before it.
        found: Option<Vec<u8>>,
    },
    /// Time does not rise.
    Falls {
        /// Time of the row before.
        before: f64,
        /// Time of this one.
        at: f64,
    },
    /// The headings come again.
    Headings,
}

/// Half a day: a clock that falls by more has passed midnight.
const HALF_DAY_S: f64 = clock::DAY_S / 2.0;

/// Bytes of a row with one cell, at least: what columns are made ready for.
const SHORT_CELL: usize = 5;

impl Cut {
    /// Read the rows of a block. `before` is the time of the row before it, where that is known.
    #[must_use]
    pub fn read(&self, block: &[u8], before: Option<f64>) -> Rows {
        if self.delimiter == Delimiter::Blank {
            self.rows::<true>(block, before)
        } else {
            self.rows::<false>(block, before)
        }
    }

    fn rows<const BLANKS: bool>(&self, block: &[u8], before: Option<f64>) -> Rows {
        let expected = block.len() / (SHORT_CELL * (self.wanted.len() + 1));
        let mut rows = Rows {
            columns: vec![Vec::with_capacity(expected); self.wanted.len()],
            ..Rows::default()
        };
        let mut row = vec![0.0; self.wanted.len()];
        let mut before = before.unwrap_or(f64::NEG_INFINITY);
        let mut at = 0;
        while at < block.len() {
            let first = block[at];
            let plain = first.is_ascii_digit() || first == b'-' || first == b'.';
            if !plain && let Some(next) = self.no_row(block, at, &mut rows.stop) {
                if rows.stop.is_some() {
                    break;
                }
                rows.lines += 1;
                at = next;
                rows.used = at;
                continue;
            }
            let end = match self.row::<BLANKS>(block, at, &mut row, before) {
                Ok(end) => end,
                Err(stop) => {
                    rows.stop = Some(stop);
                    break;
                }
            };
            if let Some(time) = self.time {
                if row[time] <= before {
                    rows.stop = Some(Stop::Falls {
                        before,
                        at: row[time],
                    });
                    break;
                }
                before = row[time];
            }
            for (column, value) in rows.columns.iter_mut().zip(&row) {
                column.push(*value);
            }
            let line_end = match block.get(end) {
                Some(b'\n') => Some(end),
                _ => memchr::memchr(b'\n', &block[end..]).map(|more| end + more),
            };
            at = match line_end {
                Some(place) => {
                    rows.lines += 1;
                    place + 1
                }
                None => block.len(),
            };
            rows.used = at;
        }
        rows.spans = rows.columns.iter().map(|column| Span::of(column)).collect();
        rows
    }

    /// The beginning of the next line, if this one is blank, a comment, or repeats the headings.
    fn no_row(&self, block: &[u8], at: usize, stop: &mut Option<Stop>) -> Option<usize> {
        let length = memchr::memchr(b'\n', &block[at..]);
        let end = length.map_or(block.len(), |length| at + length);
        let line = block[at..end].trim_ascii();
        let next = (end + 1).min(block.len());
        if line.is_empty() {
            return Some(next);
        }
        if let Some(place) = self.repeated.iter().position(|header| header == line) {
            if place == 0 {
                *stop = Some(Stop::Headings);
            }
            return Some(next);
        }
        comment_sign(line).map(|_| next)
    }

    /// Read one row; the place behind its last wanted cell.
    #[inline(always)]
    fn row<const BLANKS: bool>(
        &self,
        block: &[u8],
        start: usize,
        row: &mut [f64],
        before: f64,
    ) -> Result<usize, Stop> {
        let delimiter = self.delimiter.byte();
        let is_blank = |byte: u8| byte == b' ' || (byte == b'\t' && (BLANKS || delimiter != b'\t'));
        let mut at = start;
        while block.get(at).is_some_and(|byte| is_blank(*byte)) {
            at += 1;
        }
        let mut cell = 0;
        for (slot, wanted) in self.wanted.iter().enumerate() {
            while cell < *wanted {
                at = next_cell::<BLANKS>(block, at, delimiter)
                    .ok_or(Stop::Cell { slot, found: None })?;
                cell += 1;
                while block.get(at).is_some_and(|byte| is_blank(*byte)) {
                    at += 1;
                }
            }
            let from = at;
            let quick = if self.clock && self.time == Some(slot) {
                None
            } else {
                cell::plain(block, &mut at, self.point)
            };
            let ended = block.get(at).is_none_or(|byte| {
                *byte == delimiter
                    || *byte == b'\n'
                    || (BLANKS && *byte == b'\t')
                    || (*byte == b'\r' && block.get(at + 1).is_none_or(|next| *next == b'\n'))
            });
            row[slot] = match quick {
                Some(number) if ended && number.abs() <= cell::GREATEST => number,
                _ => {
                    at = cell_end::<BLANKS>(block, from, delimiter);
                    let missing = slot > 0 && at == from && BLANKS;
                    if missing {
                        return Err(Stop::Cell { slot, found: None });
                    }
                    self.value(slot, &block[from..at], before)?
                }
            };
        }
        Ok(at)
    }

    /// A cell's number: marks become infinities, and no number where the end of the range is not told.
    ///
    /// # Errors
    /// Where it is none.
    pub fn value(&self, slot: usize, cell: &[u8], before: f64) -> Result<f64, Stop> {
        let is_time = self.time == Some(slot);
        let bad = || Stop::Cell {
            slot,
            found: Some(cell.trim_ascii().to_vec()),
        };
        if is_time && self.clock {
            let of_day = clock::read(cell, self.point).ok_or_else(bad)?;
            if !before.is_finite() {
                return Ok(of_day);
            }
            let time = of_day + (before / clock::DAY_S).floor() * clock::DAY_S;
            let passed_midnight = time < before - HALF_DAY_S;
            return Ok(if passed_midnight {
                time + clock::DAY_S
            } else {
                time
            });
        }
        match cell::read(cell, self.point) {
            Cell::Number(number) => Ok(number),
            Cell::Over if !is_time => Ok(f64::INFINITY),
            Cell::Under if !is_time => Ok(f64::NEG_INFINITY),
            Cell::Beyond if !is_time => Ok(f64::NAN),
            _ => Err(bad()),
        }
    }
}

/// The place behind the next delimiter; none where the line ends before one.
#[inline]
fn next_cell<const BLANKS: bool>(block: &[u8], from: usize, delimiter: u8) -> Option<usize> {
    let end = cell_end::<BLANKS>(block, from, delimiter);
    let byte = *block.get(end)?;
    (byte != b'\n').then_some(end + 1)
}

/// Where a cell ends: at a delimiter, the line's end, or the block's.
#[inline]
fn cell_end<const BLANKS: bool>(block: &[u8], from: usize, delimiter: u8) -> usize {
    let is_end = |byte: &u8| {
        *byte == delimiter || *byte == b'\n' || (BLANKS && matches!(byte, b'\t' | b'\r'))
    };
    block[from..]
        .iter()
        .position(is_end)
        .map_or(block.len(), |length| from + length)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cut(delimiter: Delimiter, wanted: &[usize]) -> Cut {
        Cut {
            delimiter,
            point: if delimiter == Delimiter::Comma {
                b'.'
            } else {
                b','
            },
            wanted: wanted.to_vec(),
            time: Some(0),
            clock: false,
            repeated: vec![b"t;u".to_vec(), b"s;V".to_vec()],
        }
    }

    fn read(cut: &Cut, text: &str) -> Rows {
        cut.read(text.as_bytes(), None)
    }

    #[test]
    fn wanted_cells_are_taken_and_others_passed_over() {
        let rows = read(
            &cut(Delimiter::Comma, &[0, 2]),
            "0,x,1\n\n# note\n1, ,-2.5 \r\n2,,3e1,9",
        );
        assert_eq!(rows.stop, None);
        assert_eq!(rows.columns, [[0.0, 1.0, 2.0], [1.0, -2.5, 30.0]]);
        assert_eq!(rows.lines, 4);
        let rows = read(
            &cut(Delimiter::Blank, &[0, 2]),
            "  0 x\t 1,5\r\n1   y   2\n",
        );
        assert_eq!(rows.stop, None);
        assert_eq!(rows.columns, [[0.0, 1.0], [1.5, 2.0]]);
        let rows = read(&cut(Delimiter::Tab, &[0, 1]), "0\t1,5\n1\t-∞\n2\tOL\n");
        assert_eq!(rows.stop, None);
        assert_eq!(rows.columns[1][..2], [1.5, f64::NEG_INFINITY]);
        assert!(rows.columns[1][2].is_nan());
    }

    #[test]
    fn what_stops_the_reading_is_told_with_its_place() {
        let semicolon = cut(Delimiter::Semicolon, &[0, 1]);
        let rows = read(&semicolon, "0;1\n\n1;x\n");
        assert_eq!((rows.lines, rows.used), (2, 5));
        let found = Some(b"x".to_vec());
        assert_eq!(rows.stop, Some(Stop::Cell { slot: 1, found }));
        let rows = read(&semicolon, "0;1\n1\n");
        assert_eq!(
            rows.stop,
            Some(Stop::Cell {
                slot: 1,
                found: None
            })
        );
        let blank = cut(Delimiter::Blank, &[0, 1]);
        for text in ["0 1\n1\n", "0 1\n1 \r\n"] {
            let rows = read(&blank, text);
            assert_eq!(
                rows.stop,
                Some(Stop::Cell {
                    slot: 1,
                    found: None
                }),
                "{text:?}"
            );
        }
        let rows = read(&semicolon, "1;1\n0;1\n");
        assert_eq!(
            rows.stop,
            Some(Stop::Falls {
                before: 1.0,
                at: 0.0
            })
        );
        let rows = read(&semicolon, "0;1\n1;1\n t;u\ns;V\n0;1\n");
        assert_eq!((rows.stop, rows.lines), (Some(Stop::Headings), 2));
        let rows = semicolon.read(b"1;1\n", Some(1.0));
        assert_eq!(
            rows.stop,
            Some(Stop::Falls {
                before: 1.0,
                at: 1.0
            })
        );
    }

    #[test]
    fn a_clock_passes_midnight() {
        let clock = Cut {
            clock: true,
            ..cut(Delimiter::Comma, &[0, 1])
        };
        let rows = read(&clock, "23:59:59.5,1\n00:00:00.25,2\n00:00:01,3\n");
        assert_eq!(rows.stop, None);
        assert_eq!(rows.columns[0], [86_399.5, 86_400.25, 86_401.0]);
        let rows = read(&clock, "10:00:00,1\n09:00:00,2\n");
        assert!(matches!(rows.stop, Some(Stop::Falls { .. })));
    }
}
