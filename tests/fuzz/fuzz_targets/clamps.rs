//! Any text as a shop's list of clamps: read or refused; what is read can be measured with.

#![no_main]

use evenfire::capture::clamps;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    match clamps::read(text, "c") {
        Ok(list) => {
            for (name, clamp) in &list.all {
                assert_eq!(list.find(name), Ok(clamp));
                assert!(clamp.zero().abs() < clamp.range && clamp.range.is_finite());
            }
        }
        Err(error) => assert!(!error.message.is_empty() && !error.remedy.is_empty()),
    }
});
