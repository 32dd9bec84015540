//! Any bytes looked at without a set-up: described or refused.

#![no_main]

use evenfire::capture::describe::describe;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    match describe(bytes, "c", None) {
        Ok(description) => {
            assert_eq!(description.understood.columns.len(), description.proposals.len());
            assert!(description.understood.rows >= 2);
        }
        Err(error) => assert!(!error.message.is_empty() && !error.remedy.is_empty()),
    }
});
