//! Any text as a set-up: read or refused; what is read says the same after it was written.

#![no_main]

use evenfire::capture::setup::{self, Setup};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    match setup::read(text, "s") {
        Ok(read) => {
            let again = setup::read(&setup::write(&read), "s").expect("what was written is read");
            assert_eq!((&again.channels, &again.keys), (&read.channels, &read.keys));
            assert_eq!(again.engine.firing_order(), read.engine.firing_order());
            // intervals are brought to a sum of 720 each time, which may turn the last digit
            let intervals = |setup: &Setup| setup.engine.firing_intervals_deg().to_vec();
            for (a, b) in intervals(&again).iter().zip(intervals(&read)) {
                assert!((a - b).abs() < 1e-9, "{a} {b}");
            }
        }
        Err(error) => assert!(!error.message.is_empty() && !error.remedy.is_empty()),
    }
});
