//! A capture: rows by time, as cranking takes them.

use std::collections::BTreeMap;
use std::io::Read;

use super::ReadError;
use super::recording;
use super::setup::Setup;

/// A capture: rows by time.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Capture {
    /// Seconds, rising.
    pub time: Vec<f64>,
    /// The named columns, each as long as `time`.
    pub columns: BTreeMap<String, Vec<f64>>,
}

/// Read the columns that a set-up names. `file` names the capture in errors. Where numbers are scaled or
/// samples left the range, the set-up changes with them: [`recording::take`] gives it too.
///
/// # Errors
/// Where there is no table, a column is missing, a cell is no number, or time does not rise.
pub fn read(input: impl Read + Send, file: &str, setup: &Setup) -> Result<Capture, ReadError> {
    recording::take(input, file, setup).map(|recording| recording.capture)
}
