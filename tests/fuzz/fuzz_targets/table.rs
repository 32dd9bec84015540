//! Any bytes as a capture, by one of several set-ups: read or refused, never worse. What is read has
//! columns as long as time, time that rises, and no infinities. The first byte picks the set-up.

#![no_main]

use std::sync::LazyLock;

use evenfire::capture::setup::{self, Setup};
use evenfire::capture::take;
use libfuzzer_sys::fuzz_target;

const ENGINE: &str = "engine: {cylinders: 4, firing_order: [1, 3, 4, 2]}\n";

const SETUPS: [&str; 8] = [
    "channels: {battery_voltage: {column: u}}\n",
    "time: {column: t}\nchannels: {starter_current: {column: u, millivolt_per_ampere: 10, full_scale: 5, bits: 8}}\n",
    "time: {rate_hz: 1000}\nchannels: {battery_voltage: {column: u, unit: mV}}\n",
    "time: {column: t, rate_hz: 50}\nchannels: {battery_voltage: {column: u}, reference: {column: r, cylinder: 1, every_deg: 720, edge: peak}}\n",
    "time: {unit: clock}\ntable: {decimal: comma}\nchannels: {battery_voltage: {column: u}}\n",
    "table: {segment: 2}\nchannels: {battery_voltage: {column: u}, crank_speed: {column: c, wheel: 60-2}}\n",
    "table: {columns: [t, u], segment: all}\nchannels: {battery_voltage: {column: u, scale: 10}}\n",
    "table: {header_line: 2, delimiter: blank}\nchannels: {battery_voltage: {column: u}}\n",
];

static READ: LazyLock<Vec<Setup>> = LazyLock::new(|| {
    SETUPS
        .iter()
        .map(|text| setup::read(&format!("{ENGINE}{text}"), "s").expect("a sound set-up"))
        .collect()
});

fuzz_target!(|data: &[u8]| {
    let Some((first, bytes)) = data.split_first() else {
        return;
    };
    let setup = &READ[usize::from(*first) % READ.len()];
    match take(bytes, "c", setup) {
        Ok(recording) => {
            let time = &recording.capture.time;
            assert!(time.windows(2).all(|pair| pair[0] <= pair[1]), "time falls");
            for column in recording.capture.columns.values() {
                assert_eq!(column.len(), time.len());
                assert!(column.iter().all(|value| value.is_finite()));
            }
            assert!(!recording.understood.lines().is_empty());
        }
        Err(error) => {
            assert!(!error.message.is_empty() && !error.remedy.is_empty());
            let shown = error.to_string();
            assert!(shown.len() < 4000, "{} bytes of error", shown.len());
            assert!(!shown.contains(|c: char| c.is_control() && c != '\n'), "{shown:?}");
        }
    }
});
