//! The capture's table: a CSV with a header line; the columns that the set-up names are read, others are
//! passed over.

use std::collections::BTreeMap;
use std::io::Read;

use super::ReadError;
use super::setup::Setup;

/// Headers that an error lists, and characters of one cell that it shows: what a person reads.
const MOST_NAMES: usize = 12;
const MOST_CHARACTERS: usize = 60;

/// Greatest magnitude that is read: no instrument of a workshop records a million million of anything, and
/// squares of what is larger leave the range of numbers.
const GREATEST: f64 = 1e12;

/// A capture: rows by time.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Capture {
    /// Seconds, rising.
    pub time: Vec<f64>,
    /// The named columns, each as long as `time`.
    pub columns: BTreeMap<String, Vec<f64>>,
}

/// Read the columns that a set-up names. `file` names the capture in errors.
///
/// # Errors
/// Where there is no table, a column is missing, a cell is no number, or time does not rise.
pub fn read(mut input: impl Read, file: &str, setup: &Setup) -> Result<Capture, ReadError> {
    let mut bytes = Vec::new();
    input
        .read_to_end(&mut bytes)
        .map_err(|error| unreadable(file, &error))?;
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(bytes.as_slice());
    let headers = reader
        .byte_headers()
        .map_err(|error| unreadable(file, &error))?
        .clone();
    let names: Vec<String> = headers
        .iter()
        .map(|name| {
            String::from_utf8_lossy(name)
                .trim_start_matches('\u{feff}')
                .to_owned()
        })
        .collect();
    check_header(file, &names)?;
    let time_at = match &setup.time_column {
        Some(name) => column_at(file, &names, name)?,
        None => 0,
    };
    let wanted = wanted_columns(setup);
    let places = wanted
        .iter()
        .map(|name| column_at(file, &names, name))
        .collect::<Result<Vec<_>, _>>()?;
    let mut time: Vec<f64> = Vec::new();
    let mut values: Vec<Vec<f64>> = vec![Vec::new(); places.len()];
    let mut record = csv::ByteRecord::new();
    while reader
        .read_byte_record(&mut record)
        .map_err(|error| unreadable(file, &error))?
    {
        let line = || line_of(&bytes, record.position().map_or(0, csv::Position::byte));
        let at = number(file, line, time_at, &record, &names)?;
        if let Some(before) = time.last()
            && at <= *before
        {
            let message = format!("time goes from {before} to {at}; it must rise from row to row");
            let remedy =
                "Export the capture again as one piece, in the order in which it was recorded.";
            return Err(ReadError::new(
                file,
                line(),
                time_at as u64 + 1,
                message,
                remedy,
            ));
        }
        time.push(at);
        for (column, place) in values.iter_mut().zip(&places) {
            column.push(number(file, line, *place, &record, &names)?);
        }
    }
    if time.len() < 2 {
        let message = format!("the capture holds {} rows of data", time.len());
        return Err(ReadError::new(
            file,
            0,
            0,
            message,
            "Save the capture again and check its size.",
        ));
    }
    Ok(Capture {
        time,
        columns: wanted.into_iter().zip(values).collect(),
    })
}

/// The columns that a set-up's channels name, once each.
fn wanted_columns(setup: &Setup) -> Vec<String> {
    let channels = &setup.channels;
    let mut wanted: Vec<String> = Vec::new();
    let named = [
        channels.starter_current.as_ref().map(|c| &c.column),
        channels.battery_voltage.as_ref().map(|c| &c.column),
        channels.crank_speed.as_ref().map(|c| &c.column),
        channels.reference.as_ref().map(|c| &c.column),
    ];
    for name in named.into_iter().flatten() {
        if !wanted.contains(name) {
            wanted.push(name.clone());
        }
    }
    wanted
}

fn check_header(file: &str, names: &[String]) -> Result<(), ReadError> {
    if names.is_empty() || names.iter().all(String::is_empty) {
        return Err(ReadError::new(
            file,
            0,
            0,
            "the capture is empty",
            "Save the capture again and check its size.",
        ));
    }
    if names.iter().all(|name| name.parse::<f64>().is_ok()) {
        return Err(ReadError::new(
            file,
            1,
            0,
            "the first line holds numbers, not the names of the columns",
            "Put a header line first, for example: time_s,battery_voltage_V,reference_V",
        ));
    }
    Ok(())
}

fn column_at(file: &str, names: &[String], wanted: &str) -> Result<usize, ReadError> {
    let mut places = (0..names.len()).filter(|place| names[*place] == wanted);
    let Some(place) = places.next() else {
        let message = format!(
            "no column is headed {wanted:?}; the file has {}",
            listed(names)
        );
        let remedy =
            "Write the column's header in the set-up file exactly as it stands in the capture.";
        return Err(ReadError::new(file, 1, 0, message, remedy));
    };
    if let Some(second) = places.next() {
        let message = format!(
            "columns {} and {} are both headed {wanted:?}",
            place + 1,
            second + 1
        );
        let remedy = "Give each column a header of its own, so that the set-up can name one.";
        return Err(ReadError::new(file, 1, second as u64 + 1, message, remedy));
    }
    Ok(place)
}

/// Headers as an error shows them: quoted, so that a file that is no table cannot act on the terminal,
/// and no more than a person reads.
fn listed(names: &[String]) -> String {
    let mut shown: Vec<String> = names
        .iter()
        .take(MOST_NAMES)
        .map(|name| shortened(name))
        .collect();
    if names.len() > MOST_NAMES {
        shown.push(format!("and {} more", names.len() - MOST_NAMES));
    }
    shown.join(", ")
}

/// Text of the file, quoted and cut to what a person reads.
fn shortened(text: &str) -> String {
    if text.chars().nth(MOST_CHARACTERS).is_none() {
        return format!("{text:?}");
    }
    let start: String = text.chars().take(MOST_CHARACTERS).collect();
    format!("{start:?}…")
}

fn number(
    file: &str,
    line: impl Fn() -> u64,
    place: usize,
    record: &csv::ByteRecord,
    names: &[String],
) -> Result<f64, ReadError> {
    let cell = record.get(place).map(String::from_utf8_lossy);
    let value = cell.as_ref().and_then(|text| text.parse::<f64>().ok());
    if let Some(value) = value.filter(|value| value.abs() <= GREATEST) {
        return Ok(value);
    }
    let found = match &cell {
        None => "the row ends before it".to_owned(),
        Some(text) if text.is_empty() => "nothing stands there".to_owned(),
        Some(text) => format!("{} stands there", shortened(text)),
    };
    Err(ReadError::new(
        file,
        line(),
        place as u64 + 1,
        format!(
            "column {} must hold a number; {found}",
            shortened(&names[place])
        ),
        "Mend or cut that row, or export the capture again.",
    ))
}

/// Line, from 1, of the record that starts at or after a byte. The table reader's own count leaves out
/// blank lines and carriage returns before a record.
fn line_of(bytes: &[u8], start: u64) -> u64 {
    let start = usize::try_from(start)
        .unwrap_or(usize::MAX)
        .min(bytes.len());
    let ends = |byte: &u8| matches!(byte, b'\r' | b'\n');
    let skipped = bytes[start..].iter().take_while(|byte| ends(byte)).count();
    let before = &bytes[..start + skipped];
    let ended = before
        .iter()
        .enumerate()
        .filter(|(at, byte)| match byte {
            b'\n' => true,
            b'\r' => before.get(at + 1) != Some(&b'\n'),
            _ => false,
        })
        .count();
    ended as u64 + 1
}

fn unreadable(file: &str, error: &dyn std::error::Error) -> ReadError {
    ReadError::new(
        file,
        0,
        0,
        error.to_string(),
        "Check that the file is a CSV table and can be read.",
    )
}
