//! Any text as a set-up: read or refused; what is read says the same after it was written.

#![no_main]

use evenfire::capture::setup;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    match setup::read(text, "s") {
        Ok(read) => {
            let again = setup::read(&setup::write(&read), "s");
            assert_eq!(again.as_ref(), Ok(&read));
        }
        Err(error) => assert!(!error.message.is_empty() && !error.remedy.is_empty()),
    }
});
