//! All rows of a text: blocks are read side by side where nothing stands against it, their rows gathered
//! in order, segments told apart, and whatever cannot be taken named with its place.

pub(crate) mod cell;
mod faults;
pub(crate) mod gather;
mod quoted;
pub(crate) mod rows;

use rayon::prelude::*;

use self::gather::{Gather, Gathered, Keep, TooMany};
use self::quoted::Quoted;
use self::rows::{Cut, Rows, Stop};
use super::ReadError;
use super::file::blocks::{Blocks, MOST_LINE};
use super::file::bytes::unreadable;
use super::setup::keys::Segment;

/// Blocks that are read side by side, at most.
const MOST_SIDE_BY_SIDE: usize = 8;

/// What is to be read, and how errors name it.
#[derive(Debug)]
pub struct Task<'a> {
    /// The file.
    pub file: &'a str,
    /// Whether it is packed.
    pub packed: bool,
    /// What to take out of rows.
    pub cut: Cut,
    /// Slots of the cut that are channels, with what thinning keeps.
    pub channels: Vec<(usize, Keep)>,
    /// Seconds of one unit of time.
    pub unit_s: f64,
    /// Headings of the cut's columns.
    pub headings: Vec<String>,
    /// Which segment is wanted.
    pub segment: Option<Segment>,
    /// Line of the first row.
    pub first_line: u64,
}

/// What came of it.
#[derive(Debug)]
pub struct Outcome {
    /// The rows.
    pub gathered: Gathered,
    /// Line that the file's end cut off.
    pub cut_off: Option<u64>,
    /// Whether cells were quoted.
    pub quoted: bool,
}

/// Blocks without quotes, and the first with.
struct Batch {
    plain: Vec<Vec<u8>>,
    quoted: Option<Vec<u8>>,
}

struct Taking<'t, 'a> {
    task: &'t Task<'a>,
    gather: Gather,
    line: u64,
    last: Option<f64>,
    segment: u64,
    rows_in_segment: u64,
    cut_off: Option<u64>,
    done: bool,
}

/// Read all rows.
///
/// # Errors
/// Where a row cannot be taken.
pub fn rows(mut blocks: Blocks<'_>, task: &Task<'_>) -> Result<Outcome, ReadError> {
    let keeps = task.channels.iter().map(|(_, keep)| *keep).collect();
    let mut taking = Taking {
        task,
        gather: Gather::new(keeps, task.unit_s),
        line: task.first_line,
        last: None,
        segment: 1,
        rows_in_segment: 0,
        cut_off: None,
        done: false,
    };
    let mut quoted = false;
    let mut batch = fetch(&mut blocks, task)?;
    loop {
        let ends = batch.plain.is_empty();
        let (read, next) = if task.cut.clock || batch.quoted.is_some() {
            (None, None)
        } else {
            let cut = &task.cut;
            let (read, next) = rayon::join(
                || {
                    batch
                        .plain
                        .par_iter()
                        .map(|block| cut.read(block, None))
                        .collect::<Vec<Rows>>()
                },
                || fetch(&mut blocks, task),
            );
            (Some(read), Some(next?))
        };
        let mut read = read.unwrap_or_default().into_iter();
        for block in &batch.plain {
            let rows = read.next();
            taking.block(block, rows)?;
            if taking.done {
                break;
            }
        }
        if let Some(block) = batch.quoted.take().filter(|_| !taking.done) {
            quoted = true;
            taking.quoted(blocks, block)?;
            break;
        }
        if ends || taking.done {
            break;
        }
        batch = match next {
            Some(next) => next,
            None => fetch(&mut blocks, task)?,
        };
    }
    taking.finish(quoted)
}

fn fetch(blocks: &mut Blocks<'_>, task: &Task<'_>) -> Result<Batch, ReadError> {
    let most = rayon::current_num_threads().clamp(1, MOST_SIDE_BY_SIDE);
    let mut batch = Batch {
        plain: Vec::with_capacity(most),
        quoted: None,
    };
    while batch.plain.len() < most {
        let block = blocks
            .next_block()
            .map_err(|error| unreadable(task.file, &error, task.packed))?;
        let Some(block) = block else { break };
        if memchr::memchr(b'"', &block).is_some() {
            batch.quoted = Some(block);
            break;
        }
        batch.plain.push(block);
    }
    Ok(batch)
}

impl Taking<'_, '_> {
    /// Take the rows of a block; `rows` is what was read of it without knowing the row before.
    fn block(&mut self, block: &[u8], rows: Option<Rows>) -> Result<(), ReadError> {
        let cut = &self.task.cut;
        let mut rows = rows
            .filter(|rows| self.follows(rows))
            .unwrap_or_else(|| cut.read(block, self.last));
        let mut from = 0;
        loop {
            self.add(&rows)?;
            self.line += rows.lines;
            from += rows.used;
            let Some(stop) = rows.stop.take() else {
                return Ok(());
            };
            let rest = &block[from..];
            let length = memchr::memchr(b'\n', rest);
            match stop {
                Stop::Cell { slot, found } if length.is_none() && is_cut(found.as_deref()) => {
                    return self.end_cut_off(slot, rest.len());
                }
                Stop::Headings => {
                    self.headings()?;
                    from += length.map_or(rest.len(), |length| length + 1);
                    self.line += 1;
                }
                stop => self.stopped(&stop)?,
            }
            if self.done {
                return Ok(());
            }
            rows = cut.read(&block[from..], self.last);
        }
    }

    /// Whether rows that were read by themselves go on in time.
    fn follows(&self, rows: &Rows) -> bool {
        let first = self
            .task
            .cut
            .time
            .and_then(|time| rows.columns[time].first());
        match (first, self.last) {
            (Some(first), Some(last)) => *first > last,
            _ => true,
        }
    }

    /// Take the rest of the file, whose cells are quoted from here on.
    fn quoted(&mut self, blocks: Blocks<'_>, block: Vec<u8>) -> Result<(), ReadError> {
        let (file, packed) = (self.task.file, self.task.packed);
        let failed = |error: std::io::Error| unreadable(file, &error, packed);
        let stream = blocks.remaining(block);
        let mut quoted = Quoted::new(stream, self.task.cut.clone(), self.line);
        loop {
            let next = quoted.next(self.last).map_err(|error| {
                if error.kind() == std::io::ErrorKind::InvalidData && !packed {
                    let remedy = "Look for a quote that opens a cell there and is never closed.";
                    return ReadError::new(file, quoted.line(), 0, error.to_string(), remedy);
                }
                failed(error)
            })?;
            let Some(mut rows) = next else { return Ok(()) };
            self.add(&rows)?;
            self.line = quoted.line();
            match rows.stop.take() {
                None => {}
                Some(Stop::Cell { slot, found }) => {
                    let cut_off = quoted.is_cut_off().map_err(failed)?;
                    if cut_off && is_cut(found.as_deref()) {
                        return self.end_cut_off(slot, 0);
                    }
                    return Err(self.bad_cell(slot, found.as_deref()));
                }
                Some(Stop::Headings) => self.headings()?,
                Some(stop) => self.stopped(&stop)?,
            }
            if self.done {
                return Ok(());
            }
        }
    }

    fn add(&mut self, rows: &Rows) -> Result<(), ReadError> {
        let count = rows.columns.first().map_or(0, Vec::len);
        if count == 0 {
            return Ok(());
        }
        let counted: Vec<f64>;
        let time: &[f64] = match self.task.cut.time {
            Some(time) => &rows.columns[time],
            None => {
                let from = self.gather.rows();
                counted = (from..from + count as u64).map(|row| row as f64).collect();
                &counted
            }
        };
        self.last = self.task.cut.time.and(time.last().copied());
        self.rows_in_segment += count as u64;
        if !self.is_wanted() {
            return Ok(());
        }
        let channels = &self.task.channels;
        let columns: Vec<&[f64]> = channels
            .iter()
            .map(|(slot, _)| rows.columns[*slot].as_slice())
            .collect();
        let spans: Vec<_> = channels.iter().map(|(slot, _)| rows.spans[*slot]).collect();
        self.gather
            .push(time, &columns, &spans)
            .map_err(|TooMany| self.too_many())
    }

    fn is_wanted(&self) -> bool {
        match self.task.segment {
            Some(Segment::Number(number)) => number == self.segment,
            _ => true,
        }
    }

    /// The headings stand there again.
    fn headings(&mut self) -> Result<(), ReadError> {
        if self.rows_in_segment == 0 {
            return Ok(());
        }
        match self.task.segment {
            Some(Segment::Number(_)) => self.next_segment(),
            Some(Segment::Named(_)) => {}
            None => {
                return Err(self.headings_again());
            }
        }
        Ok(())
    }

    fn next_segment(&mut self) {
        self.segment += 1;
        self.rows_in_segment = 0;
        self.last = None;
        self.done =
            matches!(self.task.segment, Some(Segment::Number(number)) if self.segment > number);
    }

    /// Time falls, or a cell cannot be taken.
    fn stopped(&mut self, stop: &Stop) -> Result<(), ReadError> {
        match stop {
            Stop::Falls { .. } if matches!(self.task.segment, Some(Segment::Number(_))) => {
                self.next_segment();
                Ok(())
            }
            Stop::Falls { before, at } => Err(self.falls(*before, *at)),
            Stop::Cell { slot, found } => Err(self.bad_cell(*slot, found.as_deref())),
            Stop::Headings => self.headings(),
        }
    }

    /// The file ends within a row: that row is left out.
    fn end_cut_off(&mut self, slot: usize, bytes: usize) -> Result<(), ReadError> {
        if bytes > MOST_LINE {
            let message = format!("the line is longer than {MOST_LINE} bytes");
            let remedy = "Check that the file is a table of numbers.";
            return Err(self.error(0, message, remedy));
        }
        if self.gather.rows() == 0 {
            return Err(self.bad_cell(slot, None));
        }
        self.cut_off = Some(self.line);
        self.done = true;
        Ok(())
    }

    fn finish(self, quoted: bool) -> Result<Outcome, ReadError> {
        if let Some(Segment::Number(number)) = self.task.segment
            && self.gather.rows() == 0
            && self.segment < number
        {
            let message = format!(
                "segment {number} is wanted, and the file has {}",
                self.segment
            );
            let remedy = "Correct segment in the set-up's table; the first is 1.";
            return Err(ReadError::new(self.task.file, 0, 0, message, remedy));
        }
        Ok(Outcome {
            gathered: self.gather.finish(),
            cut_off: self.cut_off,
            quoted,
        })
    }
}

/// Whether a cell may be the beginning of a number.
fn is_cut(found: Option<&[u8]>) -> bool {
    found.is_none_or(|cell| {
        let within = |byte: &u8| byte.is_ascii_digit() || b"+-.,:eE".contains(byte);
        cell.iter().all(within)
    })
}
