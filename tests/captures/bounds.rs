//! Large captures: thinned without changing what is found, in memory that does not grow with the file.

use std::fmt::Write;
use std::io::Read;

use evenfire::capture::take;
use evenfire::cranking::answer::{SignalKind, VerdictKind};
use evenfire::simulate::draw::Wish;
use evenfire::simulate::practice::practice;

use super::fixture::with;

/// A stream that makes its rows while they are read, so that no file of its size is needed.
struct Endless {
    row: u64,
    rows: u64,
    rate: f64,
    ready: Vec<u8>,
    at: usize,
}

impl Endless {
    fn new(rows: u64, rate: f64) -> Self {
        Self {
            row: 0,
            rows,
            rate,
            ready: b"time,volts\n".to_vec(),
            at: 0,
        }
    }
}

impl Read for Endless {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        if self.at == self.ready.len() {
            let mut text = String::new();
            for row in self.row..self.rows.min(self.row + 5000) {
                let time = row as f64 / self.rate;
                writeln!(text, "{time:.7},{:.3}", 10.0 + (time * 40.0).sin()).unwrap();
            }
            self.row = self.rows.min(self.row + 5000);
            (self.ready, self.at) = (text.into_bytes(), 0);
        }
        let count = into.len().min(self.ready.len() - self.at);
        into[..count].copy_from_slice(&self.ready[self.at..self.at + count]);
        self.at += count;
        Ok(count)
    }
}

#[test]
fn many_rows_are_held_as_few() {
    let setup = with("channels: {battery_voltage: {column: volts}}\n");
    let recording = take(Endless::new(1_500_000, 500_000.0), "c", &setup).unwrap();
    assert_eq!(recording.understood.rows, 1_500_000);
    assert_eq!(recording.understood.rows_made_one, 50);
    assert_eq!(recording.capture.time.len(), 30_000);
    assert!((recording.understood.rate_hz - 500_000.0).abs() < 100.0);
    for (time, value) in recording
        .capture
        .time
        .iter()
        .zip(&recording.capture.columns["volts"])
    {
        assert!((value - 10.0 - (time * 40.0).sin()).abs() < 1.5e-3);
    }
}

/// The same engine at 2000 and at 200 000 samples a second: what is found agrees within the intervals.
#[test]
fn thinning_does_not_change_what_is_found() {
    let wish = |rate: f64| Wish {
        source: Some(SignalKind::BatteryVoltage),
        losses: Some(vec![(1, 60.0)]),
        rate_hz: Some(rate),
        ..Wish::anything()
    };
    let made = practice(31, &wish(100_000.0)).unwrap();
    let setup = made.setup();
    // written with decimals enough for the rate
    let mut text = String::from("time_s,battery_voltage_V,reference_V\n");
    let reference = made
        .table
        .reference
        .clone()
        .unwrap_or(vec![0.0; made.table.time.len()]);
    for (row, mark) in reference.iter().enumerate() {
        let (time, value) = (made.table.time[row], made.table.signal[row]);
        writeln!(text, "{time:.7},{value:.4},{mark:.2}").unwrap();
    }
    let thinned = take(text.as_bytes(), "c", &setup).unwrap();
    assert!(
        thinned.understood.rows_made_one > 1,
        "{}",
        thinned.understood.rows
    );
    let found = evenfire::cranking::analyse(&thinned.capture, &thinned.setup).analysis;
    let whole = evenfire::cranking::analyse(&made.capture(), &setup).analysis;
    assert_eq!(whole.verdict.kind, VerdictKind::Low, "{:?}", whole.quality);
    assert_eq!(found.verdict, whole.verdict);
    let rows = found
        .cylinders
        .iter()
        .flatten()
        .zip(whole.cylinders.iter().flatten());
    for (a, b) in rows {
        let difference = (a.relative_compression_percent - b.relative_compression_percent).abs();
        // a quarter of the interval's half width is nothing beside what is said to be uncertain
        assert!(difference < 0.125 * (b.high - b.low), "{a:?} {b:?}");
    }
}

/// A file of a gigabyte, in the memory of a small one. Linux tells the peak of the process.
#[test]
#[ignore = "takes minutes in a development build; run by hand with --release"]
fn a_gigabyte_is_read_in_bounded_memory() {
    let setup = with("channels: {battery_voltage: {column: volts}}\n");
    let rows = 55_000_000;
    let recording = take(Endless::new(rows, 1_000_000.0), "c", &setup).unwrap();
    assert_eq!(recording.understood.rows, rows);
    let status = std::fs::read_to_string("/proc/self/status").unwrap();
    let peak = status
        .lines()
        .find_map(|line| line.strip_prefix("VmHWM:"))
        .unwrap();
    let kib: u64 = peak.trim().trim_end_matches("kB").trim().parse().unwrap();
    assert!(kib < 64 * 1024, "{kib} KiB");
}
