//! Any bytes after the beginning of a sound file: read or refused.

#![no_main]

use std::sync::LazyLock;

use evenfire::capture::setup::{self, Setup};
use evenfire::capture::take;
use libfuzzer_sys::fuzz_target;

static SETUP: LazyLock<Setup> = LazyLock::new(|| {
    let text = "engine: {cylinders: 4, firing_order: [1, 3, 4, 2]}\n\
                channels: {battery_voltage: {column: channel 1, scale: 20}}\n";
    setup::read(text, "s").expect("a sound set-up")
});

fuzz_target!(|data: &[u8]| {
    let mut bytes = b"RIFF\xff\xff\xff\x7fWAVE".to_vec();
    bytes.extend(data);
    if let Ok(recording) = take(bytes.as_slice(), "c", &SETUP) {
        let values = &recording.capture.columns["channel 1"];
        assert_eq!(values.len(), recording.capture.time.len());
        assert!(values.iter().all(|value| value.abs() <= 20.0));
    }
});
