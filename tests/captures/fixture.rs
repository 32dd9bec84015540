//! One small recording that odd files hold, and reading them.

use std::io::Write;

use evenfire::capture::setup::{self, Setup};
use evenfire::capture::{ReadError, Recording, take};

/// Seconds and volts of the recording.
pub const TIME: [f64; 4] = [0.0, 0.001, 0.002, 0.003];
pub const VOLTS: [f64; 4] = [12.5, 11.25, 10.75, -0.5];

const ENGINE: &str = "engine: {cylinders: 4, firing_order: [1, 3, 4, 2]}\n";

/// A set-up whose battery voltage is in the column `volts`, with more keys at the top.
pub fn by(more: &str) -> Setup {
    with(&format!(
        "{more}\nchannels: {{battery_voltage: {{column: volts}}}}\n"
    ))
}

/// A set-up of a usual engine.
pub fn with(rest: &str) -> Setup {
    setup::read(&format!("{ENGINE}{rest}"), "s.setup.yaml").unwrap()
}

pub fn read(bytes: &[u8], setup: &Setup) -> Result<Recording, ReadError> {
    take(bytes, "c.csv", setup)
}

/// Text as UTF-16.
pub fn wide(text: &str, great_first: bool) -> Vec<u8> {
    let bytes = |unit: u16| {
        if great_first {
            unit.to_be_bytes()
        } else {
            unit.to_le_bytes()
        }
    };
    text.encode_utf16().flat_map(bytes).collect()
}

pub fn gzip(bytes: &[u8]) -> Vec<u8> {
    let mut packed = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
    packed.write_all(bytes).unwrap();
    packed.finish().unwrap()
}
