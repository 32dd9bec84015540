//! The time axis: which column it is and in what unit, a clock, a count of rows with a rate, or no column
//! at all. Where the file leaves that in doubt, the set-up has to say.

use super::ReadError;
use super::clock;
use super::layout::heading::Heading;
use super::layout::{Layout, listed};
use super::setup::Setup;
use super::setup::keys::TimeUnit;
use super::shown;
use super::unit::{self, Dimension, Factor};

/// Headings of columns that count rows (common practice, no source).
const COUNTS: [&str; 10] = [
    "sample",
    "samples",
    "sample no",
    "sample number",
    "index",
    "no",
    "no.",
    "#",
    "row",
    "point",
];

/// Where time comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum Axis {
    /// A column.
    Column {
        /// Which, from 0.
        column: usize,
        /// From its numbers to seconds.
        factor: Factor,
        /// It holds times of day.
        clock: bool,
        /// As a person reads it.
        shown: String,
    },
    /// Rows, so many a second.
    Rows {
        /// How many.
        rate_hz: f64,
    },
}

impl Axis {
    /// Roughly, how many seconds one unit of the file's time is.
    #[must_use]
    pub fn unit_s(&self) -> f64 {
        match self {
            Axis::Column { factor, .. } => factor.of(1.0),
            Axis::Rows { rate_hz } => 1.0 / rate_hz,
        }
    }

    /// Make times of the file seconds; a clock begins at 0.
    pub fn to_seconds(&self, time: &mut [f64]) {
        let (factor, from) = match self {
            Axis::Column { factor, clock, .. } => {
                let first = time.first().copied().unwrap_or(0.0);
                (*factor, if *clock { first } else { 0.0 })
            }
            Axis::Rows { rate_hz } => (
                Factor {
                    times: 1.0,
                    over: *rate_hz,
                },
                0.0,
            ),
        };
        if factor == Factor::ONE && from == 0.0 {
            return;
        }
        for at in time {
            *at = factor.of(*at - from);
        }
    }

    /// In words.
    #[must_use]
    pub fn shown(&self) -> String {
        match self {
            Axis::Column { shown, .. } => shown.clone(),
            Axis::Rows { rate_hz } => format!("none; {rate_hz} rows a second, as the set-up says"),
        }
    }
}

const CLOCK: &str = "a clock, counted from the first row";

/// Find the time axis. `taken` are the columns that channels name, `cell` gives a column's first cell.
///
/// # Errors
/// Where the file leaves it in doubt.
pub fn find(
    layout: &Layout,
    setup: Option<&Setup>,
    taken: &[usize],
    cell: impl Fn(usize) -> Option<Vec<u8>>,
    file: &str,
) -> Result<Axis, ReadError> {
    let keys = setup.map(|setup| &setup.keys);
    let named = setup.and_then(|setup| setup.time_column.as_deref());
    let rate_hz = keys.and_then(|keys| keys.rate_hz);
    if let (Some(rate_hz), None) = (rate_hz, named) {
        return Ok(Axis::Rows { rate_hz });
    }
    let column = match named {
        Some(name) => column_at(file, layout, name)?,
        None => 0,
    };
    let Some(heading) = layout.headings.get(column) else {
        let message = "the table has no columns";
        let remedy = "Check that the file is a table of numbers with headings.";
        return Err(ReadError::new(file, 0, 0, message, remedy));
    };
    let axis = |factor, clock, unit: &str| Axis::Column {
        column,
        factor,
        clock,
        shown: format!("column {}, {:?}, {unit}", column + 1, heading.text),
    };
    if let Some(rate_hz) = rate_hz {
        let factor = Factor {
            times: 1.0,
            over: rate_hz,
        };
        return Ok(axis(
            factor,
            false,
            &format!("counting {rate_hz} rows a second"),
        ));
    }
    let doubt = Doubt {
        file,
        layout,
        column,
    };
    if named.is_none() && taken.contains(&column) {
        return Err(doubt.is_a_channel(heading));
    }
    let told = keys.and_then(|keys| keys.time_unit);
    let reads_as_clock =
        || cell(column).is_some_and(|cell| clock::read(&cell, layout.decimal.byte()).is_some());
    match told {
        Some(TimeUnit::Clock) => Ok(axis(Factor::ONE, true, CLOCK)),
        None if reads_as_clock() => Ok(axis(Factor::ONE, true, CLOCK)),
        Some(told) => {
            let factor = unit::parse(told.name()).map_or(Factor::ONE, |unit| unit.factor);
            let words = format!("in {} as the set-up says", told.name());
            Ok(axis(factor, false, &words))
        }
        None => doubt
            .by_heading(heading)
            .map(|(factor, words)| axis(factor, false, &words)),
    }
}

/// A column by its heading.
///
/// # Errors
/// Where no column, or several, are headed so.
pub fn column_at(file: &str, layout: &Layout, wanted: &str) -> Result<usize, ReadError> {
    let line = layout.header_line.unwrap_or(0);
    let all = || (0..layout.headings.len()).filter(|at| layout.headings[*at].is(wanted));
    // a heading that is named letter by letter goes before one that only lacks its unit
    let exact: Vec<usize> = all()
        .filter(|at| layout.headings[*at].text == wanted)
        .collect();
    let found: Vec<usize> = if exact.is_empty() {
        all().collect()
    } else {
        exact
    };
    match found.as_slice() {
        [one] => Ok(*one),
        [] => {
            let message = format!(
                "no column is headed {wanted:?}; the file has {}",
                listed(&layout.headings)
            );
            let remedy =
                "Write the column's header in the set-up file exactly as it stands in the capture.";
            Err(ReadError::new(file, line, 0, message, remedy))
        }
        [first, second, ..] => {
            let message = format!(
                "columns {} and {} are both headed {wanted:?}",
                first + 1,
                second + 1
            );
            let remedy = "Give each column a header of its own, so that the set-up can name one.";
            Err(ReadError::new(
                file,
                line,
                *second as u64 + 1,
                message,
                remedy,
            ))
        }
    }
}

fn is_count(heading: &Heading) -> bool {
    let name = heading.name.to_lowercase().replace('_', " ");
    COUNTS.contains(&name.as_str())
}

struct Doubt<'a> {
    file: &'a str,
    layout: &'a Layout,
    column: usize,
}

impl Doubt<'_> {
    /// The factor that a heading tells, and that in words.
    fn by_heading(&self, heading: &Heading) -> Result<(Factor, String), ReadError> {
        let unit = heading.unit.as_deref();
        match unit.map(|text| (text, unit::parse(text))) {
            Some((text, Some(unit))) if unit.dimension == Dimension::Time => {
                Ok((unit.factor, format!("in {text}")))
            }
            Some((text, known)) if heading.stated || known.is_some() => {
                Err(self.has_unit(heading, text))
            }
            _ if is_count(heading) => Err(self.counts(heading)),
            _ => Ok((Factor::ONE, "in s, as nothing else is said".to_owned())),
        }
    }

    fn error(&self, message: String) -> ReadError {
        let other = self
            .layout
            .headings
            .iter()
            .find(|heading| {
                let unit = heading.unit.as_deref().and_then(unit::parse);
                unit.is_some_and(|unit| unit.dimension == Dimension::Time)
            })
            .map_or_else(|| "NAME".to_owned(), |heading| shown::cell(&heading.text));
        let remedy = format!(
            "Say in the set-up which column is time, as in time: {{column: {other}}}; or how many rows a \
             second there are, as in time: {{rate_hz: 1000}}"
        );
        let line = self.layout.header_line.unwrap_or(0);
        ReadError::new(self.file, line, self.column as u64 + 1, message, remedy)
    }

    fn is_a_channel(&self, heading: &Heading) -> ReadError {
        self.error(format!(
            "no time column is named, and the first column, {:?}, is a channel",
            heading.text
        ))
    }

    fn has_unit(&self, heading: &Heading, unit: &str) -> ReadError {
        self.error(format!(
            "column {:?} should be time, and its unit is {unit:?}",
            heading.text
        ))
    }

    fn counts(&self, heading: &Heading) -> ReadError {
        let column = shown::cell(&heading.text);
        let remedy = format!(
            "If it counts rows, give the rate: time: {{column: {column}, rate_hz: 1000}}; if it is time, \
             give the unit: time: {{column: {column}, unit: s}}"
        );
        let line = self.layout.header_line.unwrap_or(0);
        let message = format!("column {column} may count rows or be time in seconds");
        ReadError::new(self.file, line, self.column as u64 + 1, message, remedy)
    }
}
