//! A whole recording: the bytes read, the table's layout found, its rows gathered, time in seconds,
//! channels in volts and amperes, and an account of all that.

use std::io::Read;

use super::ReadError;
use super::account::understood::{Column, Understood, short};
use super::axis::{self, Axis};
use super::channels::{self, Channel};
use super::clock;
use super::file::blocks::Blocks;
use super::file::bytes::{self, Encoding, Form, Opened, Stream, unreadable};
use super::layout::lines::{cells, split};
use super::layout::{self, Layout};
use super::reading::cell;
use super::reading::gather::{Gathered, Keep, Span};
use super::reading::rows::Cut;
use super::reading::{self, Task};
use super::setup::Setup;
use super::setup::keys::TableKeys;
use super::table::Capture;
use super::unit::{self, Factor};
use super::wave;

/// A recording as the analysis takes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Recording {
    /// The rows, in seconds, volts and amperes.
    pub capture: Capture,
    /// The set-up, its ranges in the same units, and as the capture completes it.
    pub setup: Setup,
    /// What was understood.
    pub understood: Understood,
}

/// Rows that were read, and how.
pub(super) struct Taken {
    pub layout: Layout,
    pub axis: Axis,
    pub channels: Vec<Channel>,
    pub gathered: Gathered,
    pub understood: Understood,
}

/// Whether only what the set-up names is taken, or all columns that hold numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Which {
    Named,
    All,
}

/// Read a recording by its set-up. `file` names it in errors.
///
/// # Errors
/// Where it cannot be read, or is in doubt.
pub fn take(input: impl Read + Send, file: &str, setup: &Setup) -> Result<Recording, ReadError> {
    let taken = taken(input, file, Some(setup), Which::Named)?;
    let mut setup = setup.clone();
    let mut capture = Capture::default();
    let mut understood = taken.understood;
    capture.time = taken.gathered.time;
    let columns = taken.gathered.columns.into_iter();
    for ((channel, mut values), span) in
        taken.channels.iter().zip(columns).zip(taken.gathered.spans)
    {
        // full swing of a sound file is 1, whatever that was in volts
        let swing = (understood.form == "wave").then_some(1.0);
        let told = channel.range.or(swing);
        let range = channels::scale(&mut values, channel, span, told);
        keep_range(&mut setup, channel, range);
        understood
            .remarks
            .extend(clamp_remarks(&setup, channel, span));
        understood
            .columns
            .push(account(&taken.layout, channel, span));
        capture.columns.insert(channel.key.clone(), values);
    }
    Ok(Recording {
        capture,
        setup,
        understood,
    })
}

/// Read and account for rows of whatever form.
pub(super) fn taken(
    input: impl Read + Send,
    file: &str,
    setup: Option<&Setup>,
    which: Which,
) -> Result<Taken, ReadError> {
    let Opened { packed, form } = bytes::open(input, file)?;
    let mut taken = match form {
        Form::Text(encoding, stream) => text(stream, encoding, packed, file, setup, which)?,
        Form::Wave(stream) => wave::taken(stream, packed, file, setup, which)?,
    };
    let rows = taken.gathered.rows;
    if rows < 2 {
        let message = format!("the capture holds {rows} rows of data");
        let remedy = "Save the capture again and check its size.";
        return Err(ReadError::new(file, 0, 0, message, remedy));
    }
    let every = taken.gathered.every as u64;
    let time = &mut taken.gathered.time;
    taken.axis.to_seconds(time);
    let (first, last) = (time[0], time[time.len() - 1]);
    let understood = &mut taken.understood;
    understood.gzip = packed;
    understood.rows = rows;
    understood.rows_made_one = every;
    understood.time = taken.axis.shown();
    understood.span_s = (first, last);
    understood.rate_hz = (time.len() - 1) as f64 * every as f64 / (last - first);
    if every > 1 {
        understood.remarks.push(format!(
            "sampled far faster than cranking needs: {every} rows were made one"
        ));
    }
    Ok(taken)
}

fn text(
    stream: Stream<'_>,
    encoding: Encoding,
    packed: bool,
    file: &str,
    setup: Option<&Setup>,
    which: Which,
) -> Result<Taken, ReadError> {
    let mut blocks = Blocks::new(stream).map_err(|error| unreadable(file, &error, packed))?;
    let none = TableKeys::default();
    let keys = setup.map_or(&none, |setup| &setup.keys.table);
    let layout = layout::find(blocks.head(), &names(setup), keys, file)?;
    let sample = sample(&blocks.head()[layout.start..], &layout);
    let first_cell = |at: usize| sample.first().and_then(|row| row.get(at).cloned());
    let mut channels = match setup {
        Some(setup) => channels::resolve(&layout, setup, file)?,
        None => Vec::new(),
    };
    let taken: Vec<usize> = channels.iter().map(|channel| channel.column).collect();
    let mut remarks = Vec::new();
    let axis = match axis::find(&layout, setup, &taken, first_cell, file) {
        // without a set-up nothing can be said about time; it is to be looked at first
        Err(doubt) if setup.is_none() => {
            remarks.push(format!("{}. {}", doubt.message, doubt.remedy));
            Axis::Rows { rate_hz: 1.0 }
        }
        other => other?,
    };
    if which == Which::All {
        channels.extend(others(&layout, &axis, &taken, &sample));
    }
    let encoding = encoding_name(encoding, blocks.head());
    blocks.skip(layout.start);
    let task = task(&layout, &axis, &channels, keys, packed, file);
    let outcome = reading::rows(blocks, &task)?;
    if let Some(line) = outcome.cut_off {
        remarks.push(format!(
            "the file ends within line {line}; that row was left out"
        ));
    }
    if outcome.quoted {
        remarks.push("cells are quoted".to_owned());
    }
    Ok(Taken {
        understood: Understood {
            form: "text".to_owned(),
            encoding: Some(encoding.to_owned()),
            delimiter: Some(layout.delimiter.name().to_owned()),
            decimal: Some(layout.decimal.name().to_owned()),
            header_line: layout.header_line,
            unit_line: layout.unit_line,
            remarks,
            ..Understood::default()
        },
        layout,
        axis,
        channels,
        gathered: outcome.gathered,
    })
}

fn task<'a>(
    layout: &Layout,
    axis: &Axis,
    channels: &[Channel],
    keys: &TableKeys,
    packed: bool,
    file: &'a str,
) -> Task<'a> {
    let time_column = match axis {
        Axis::Column { column, .. } => Some(*column),
        Axis::Rows { .. } => None,
    };
    let mut wanted: Vec<usize> = channels.iter().map(|channel| channel.column).collect();
    wanted.extend(time_column);
    wanted.sort_unstable();
    wanted.dedup();
    let slot = |column: usize| wanted.partition_point(|other| *other < column);
    Task {
        file,
        packed,
        channels: channels
            .iter()
            .map(|channel| (slot(channel.column), channel.keep))
            .collect(),
        unit_s: axis.unit_s(),
        headings: wanted
            .iter()
            .map(|column| layout.headings[*column].text.clone())
            .collect(),
        segment: keys.segment,
        first_line: layout.first_line,
        cut: Cut {
            delimiter: layout.delimiter,
            point: layout.decimal.byte(),
            time: time_column.map(slot),
            clock: matches!(axis, Axis::Column { clock: true, .. }),
            repeated: layout.repeated.clone(),
            wanted,
        },
    }
}

/// Names of the columns that a set-up wants.
fn names(setup: Option<&Setup>) -> Vec<&str> {
    let Some(setup) = setup else {
        return Vec::new();
    };
    let channels = &setup.channels;
    [
        setup.time_column.as_ref(),
        channels.starter_current.as_ref().map(|c| &c.column),
        channels.battery_voltage.as_ref().map(|c| &c.column),
        channels.crank_speed.as_ref().map(|c| &c.column),
        channels.reference.as_ref().map(|c| &c.column),
    ]
    .into_iter()
    .flatten()
    .map(String::as_str)
    .collect()
}

/// The first rows' cells.
fn sample(rows: &[u8], layout: &Layout) -> Vec<Vec<Vec<u8>>> {
    const ROWS: usize = 200;
    let lines = split(rows);
    let lines = lines
        .iter()
        .filter(|line| !line.is_blank() && !line.is_comment());
    lines
        .take(ROWS)
        .map(|line| {
            let cells = cells(line.text, layout.delimiter);
            cells
                .into_iter()
                .map(std::borrow::Cow::into_owned)
                .collect()
        })
        .collect()
}

/// Columns that hold numbers and are neither time nor channels yet.
fn others(layout: &Layout, axis: &Axis, taken: &[usize], sample: &[Vec<Vec<u8>>]) -> Vec<Channel> {
    let point = layout.decimal.byte();
    // the last row may be cut off
    let rows = &sample[..sample.len().saturating_sub(1).max(1).min(sample.len())];
    let holds_numbers = |column: usize| {
        !rows.is_empty()
            && rows.iter().all(|row| {
                row.get(column).is_some_and(|text| {
                    !matches!(
                        cell::read(text, point),
                        cell::Cell::Nothing | cell::Cell::Else
                    ) && clock::read(text, point).is_none()
                })
            })
    };
    let is_time = |at: usize| matches!(axis, Axis::Column { column, .. } if *column == at);
    (0..layout.headings.len())
        .filter(|at| !is_time(*at) && !taken.contains(at) && holds_numbers(*at))
        .map(|column| {
            let heading = &layout.headings[column];
            let unit = heading.unit.as_deref().and_then(unit::parse);
            Channel {
                column,
                key: heading.text.clone(),
                names: Vec::new(),
                factor: unit.map_or(Factor::ONE, |unit| unit.factor),
                zero: 0.0,
                range: None,
                keep: Keep::Nearest { end: f64::INFINITY },
            }
        })
        .collect()
}

fn encoding_name(encoding: Encoding, head: &[u8]) -> &'static str {
    match encoding {
        Encoding::Utf8Marked => "UTF-8 with a mark",
        Encoding::Utf16Le => "UTF-16, least byte first",
        Encoding::Utf16Be => "UTF-16, greatest byte first",
        Encoding::Bytes if head.is_ascii() => "ASCII",
        Encoding::Bytes if std::str::from_utf8(head).is_ok() => "UTF-8",
        Encoding::Bytes => "one byte a letter, taken as ISO 8859-1",
    }
}

/// Which clamp it was, and whether more passed through it than it measures.
pub(super) fn clamp_remarks(setup: &Setup, channel: &Channel, span: Span) -> Vec<String> {
    let Some(clamp) = setup
        .clamp()
        .filter(|_| channel.names.contains(&"starter_current"))
    else {
        return Vec::new();
    };
    let mut remarks = vec![clamp.line()];
    let size = channel
        .factor
        .of(span.least)
        .abs()
        .max(channel.factor.of(span.greatest).abs());
    if size.is_finite() && size > clamp.range {
        remarks.push(format!(
            "up to {} A passed, and the clamp measures up to {}: what lies beyond is not to be trusted",
            short(size),
            clamp.range
        ));
    }
    remarks
}

/// The range in volts and amperes goes into the set-up that the analysis takes.
fn keep_range(setup: &mut Setup, channel: &Channel, range: Option<f64>) {
    let channels = &mut setup.channels;
    for (name, analogue) in [
        ("starter_current", &mut channels.starter_current),
        ("battery_voltage", &mut channels.battery_voltage),
    ] {
        if let Some(analogue) = analogue.as_mut().filter(|_| channel.names.contains(&name)) {
            analogue.full_scale = range;
        }
    }
}

/// A column's line in the account.
pub(super) fn account(layout: &Layout, channel: &Channel, span: Span) -> Column {
    let heading = &layout.headings[channel.column];
    let shown = |value: f64| value.is_finite().then(|| channel.of(value));
    Column {
        number: channel.column as u64 + 1,
        heading: heading.text.clone(),
        unit: heading.unit.clone(),
        channels: channel
            .names
            .iter()
            .map(|name| (*name).to_owned())
            .collect(),
        factor: channel.factor.of(1.0),
        least: shown(span.least),
        greatest: shown(span.greatest),
        range: channel.range,
        over_range: span.marks,
    }
}
