//! Rows with quoted cells, as RFC 4180 has them: a delimiter or a line end may stand inside. Read by the
//! `csv` crate, one row after the other.

use std::io::{self, Read};

use super::gather::Span;
use super::rows::{Cut, Rows, Stop};
use crate::capture::file::blocks::MOST_LINE;
use crate::capture::layout::lines::comment_sign;
use crate::capture::setup::keys::Delimiter;

/// Rows that are handed on at a time.
const BATCH: usize = 1 << 14;

/// A stream of rows with quoted cells.
pub struct Quoted<R: Read> {
    reader: csv::Reader<Bare<R>>,
    cut: Cut,
    /// Line of the stream's first row.
    first_line: u64,
    record: csv::ByteRecord,
    /// Whether the row that was read last is to be looked at again.
    again: bool,
}

impl<R: Read> Quoted<R> {
    /// Rows of a stream that begins with line `first_line`.
    pub fn new(stream: R, cut: Cut, first_line: u64) -> Self {
        let mut builder = csv::ReaderBuilder::new();
        builder
            .delimiter(cut.delimiter.byte())
            .has_headers(false)
            .flexible(true)
            .terminator(csv::Terminator::Any(b'\n'));
        Self {
            reader: builder.from_reader(Bare {
                stream,
                last: b'\n',
                ended: false,
                left: MOST_LINE,
            }),
            cut,
            first_line,
            record: csv::ByteRecord::new(),
            again: false,
        }
    }

    /// The next rows; none at the end. What stopped them is looked at again by the next call, with what
    /// `before` says then.
    ///
    /// # Errors
    /// Where the stream cannot be read.
    pub fn next(&mut self, before: Option<f64>) -> io::Result<Option<Rows>> {
        let mut rows = Rows {
            columns: vec![Vec::new(); self.cut.wanted.len()],
            ..Rows::default()
        };
        let mut before = before.unwrap_or(f64::NEG_INFINITY);
        let mut row = vec![0.0; self.cut.wanted.len()];
        let mut count = 0;
        while count < BATCH {
            if !std::mem::take(&mut self.again) {
                self.reader.get_mut().left = MOST_LINE;
                if !self.reader.read_byte_record(&mut self.record)? {
                    break;
                }
            }
            count += 1;
            match self.row(&mut row, before) {
                Ok(false) => continue,
                Ok(true) => {}
                Err(stop) => {
                    self.again = stop != Stop::Headings;
                    rows.stop = Some(stop);
                    break;
                }
            }
            before = self.cut.time.map_or(before, |time| row[time]);
            for (column, value) in rows.columns.iter_mut().zip(&row) {
                column.push(*value);
            }
        }
        rows.spans = rows.columns.iter().map(|column| Span::of(column)).collect();
        Ok((count > 0).then_some(rows))
    }

    /// Line of the row that was read last.
    #[must_use]
    pub fn line(&self) -> u64 {
        let stream = self.reader.get_ref();
        // the last line end may stand inside a quote that is never closed
        let last_is_inside = self.record.as_slice().ends_with(b"\n");
        let ended = !stream.ended || (stream.last == b'\n' && !last_is_inside);
        let inside = self
            .record
            .as_slice()
            .iter()
            .filter(|byte| **byte == b'\n')
            .count() as u64;
        let lines = self.reader.position().line() - 1;
        self.first_line + lines.saturating_sub(u64::from(ended) + inside)
    }

    /// Whether the file ends inside the row that was read last.
    ///
    /// # Errors
    /// Where the stream cannot be read.
    pub fn is_cut_off(&mut self) -> io::Result<bool> {
        // a quote that was never closed is another fault
        if self.record.as_slice().contains(&b'\n') {
            return Ok(false);
        }
        let mut next = csv::ByteRecord::new();
        Ok(!self.reader.read_byte_record(&mut next)? && self.reader.get_ref().last != b'\n')
    }

    /// Read the record as a row; false where it is none.
    fn row(&self, row: &mut [f64], before: f64) -> Result<bool, Stop> {
        let blanks = self.cut.delimiter == Delimiter::Blank;
        let cells = || {
            self.record
                .iter()
                .map(<[u8]>::trim_ascii)
                .filter(|cell| !(blanks && cell.is_empty()))
        };
        let first = cells().next().unwrap_or_default();
        let empty = cells().all(<[u8]>::is_empty) && self.record.len() <= 1;
        if empty || comment_sign(first).is_some() {
            return Ok(false);
        }
        for (place, line) in self.cut.repeated.iter().enumerate() {
            let heading = crate::capture::layout::lines::cells(line, self.cut.delimiter);
            if heading.iter().map(AsRef::as_ref).eq(cells()) {
                return if place == 0 {
                    Err(Stop::Headings)
                } else {
                    Ok(false)
                };
            }
        }
        for (slot, wanted) in self.cut.wanted.iter().enumerate() {
            let cell = cells().nth(*wanted);
            let cell = cell.ok_or(Stop::Cell { slot, found: None })?;
            row[slot] = self.cut.value(slot, cell, before)?;
        }
        match self.cut.time {
            Some(time) if row[time] <= before => Err(Stop::Falls {
                before,
                at: row[time],
            }),
            _ => Ok(true),
        }
    }
}

/// A stream without carriage returns, which knows how it ended, and gives up on a row that never does.
struct Bare<R> {
    stream: R,
    last: u8,
    ended: bool,
    left: usize,
}

impl<R: Read> Read for Bare<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if self.left == 0 {
            return Err(io::Error::new(
                io::ErrorKind::InvalidData,
                "a quoted cell is not closed for many lines",
            ));
        }
        loop {
            let read = self.stream.read(into)?;
            let mut kept = 0;
            for at in 0..read {
                if into[at] != b'\r' {
                    into[kept] = into[at];
                    kept += 1;
                }
            }
            if kept > 0 {
                self.last = into[kept - 1];
                self.left = self.left.saturating_sub(kept);
            }
            self.ended = read == 0;
            if kept > 0 || read == 0 {
                return Ok(kept);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn quoted(
        text: &str,
        delimiter: Delimiter,
        wanted: &[usize],
    ) -> Quoted<std::io::Cursor<Vec<u8>>> {
        let cut = Cut {
            delimiter,
            point: b'.',
            wanted: wanted.to_vec(),
            time: Some(0),
            clock: false,
            repeated: vec![b"\"t\",u".to_vec()],
        };
        Quoted::new(std::io::Cursor::new(text.as_bytes().to_vec()), cut, 10)
    }

    #[test]
    fn quoted_cells_are_read_and_rows_keep_their_lines() {
        let text = "\"0\",\"a\r\nb\",1\r\n\r\n# note, \"\"\r\n\"1\",\"say \"\"x\"\"\",2\n2,,x\n";
        let mut quoted = quoted(text, Delimiter::Comma, &[0, 2]);
        let rows = quoted.next(None).unwrap().unwrap();
        assert_eq!(rows.columns, [[0.0, 1.0], [1.0, 2.0]]);
        let found = Some(b"x".to_vec());
        assert_eq!(rows.stop, Some(Stop::Cell { slot: 1, found }));
        // lines 10 and 11, a blank one, a comment, 14, 15
        assert_eq!(quoted.line(), 15);
        assert!(!quoted.is_cut_off().unwrap());
    }

    #[test]
    fn segments_and_cut_rows_are_seen() {
        let mut quoted = quoted("\"1\",2\n\"t\",u\n0,\"1\"\n1,", Delimiter::Comma, &[0, 1]);
        let rows = quoted.next(None).unwrap().unwrap();
        assert_eq!((rows.stop, quoted.line()), (Some(Stop::Headings), 11));
        let rows = quoted.next(Some(1.0)).unwrap().unwrap();
        assert_eq!(
            rows.stop,
            Some(Stop::Falls {
                before: 1.0,
                at: 0.0
            })
        );
        assert_eq!(quoted.line(), 12);
        let rows = quoted.next(None).unwrap().unwrap();
        assert_eq!(rows.columns, [[0.0], [1.0]]);
        assert!(matches!(rows.stop, Some(Stop::Cell { slot: 1, .. })));
        assert_eq!(quoted.line(), 13);
        assert!(quoted.is_cut_off().unwrap());
    }

    #[test]
    fn blanks_between_quoted_cells_count_once() {
        let mut quoted = quoted("\"0\"   \"x y\" 5\n", Delimiter::Blank, &[0, 2]);
        let rows = quoted.next(None).unwrap().unwrap();
        assert_eq!(
            (rows.columns, rows.stop),
            (vec![vec![0.0], vec![5.0]], None)
        );
        assert!(quoted.next(Some(0.0)).unwrap().is_none());
    }
}
