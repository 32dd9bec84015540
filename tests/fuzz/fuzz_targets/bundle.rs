//! Every short reader of a bundle and its shop: what is read has one spelling, or none.
#![no_main]

use std::path::Path;

use evenfire::record::bundle::amendment::Amendment;
use evenfire::record::bundle::decision::Decision;
use evenfire::record::bundle::manifest::Manifest;
use evenfire::record::shop::roster::{Role, Roster};
use evenfire::record::signing::sshsig;
use evenfire::record::bundle::waiver::Waiver;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Some((which, bytes)) = bytes.split_first() else {
        return;
    };
    match which % 6 {
        0 => {
            if let Ok(manifest) = Manifest::parse(bytes) {
                assert_eq!(manifest.text().as_bytes(), bytes);
            }
        }
        1 => {
            if let Ok(waiver) = Waiver::parse(bytes) {
                assert_eq!(waiver.text().as_bytes(), bytes);
            }
        }
        2 => {
            if let Ok(decision) = Decision::parse(bytes) {
                let text = decision.text().unwrap();
                assert_eq!(Decision::parse(text.as_bytes()), Ok(decision));
            }
        }
        3 => {
            if let Ok(amendment) = Amendment::parse(bytes) {
                let text = amendment.text().unwrap();
                assert_eq!(Amendment::parse(text.as_bytes()), Ok(amendment));
            }
        }
        4 => {
            let _ = sshsig::key_of(bytes);
            // Nobody has signed these bytes.
            assert!(sshsig::check(bytes, Role::Lead, b"never signed").is_err());
        }
        _ => {
            if let Ok(text) = std::str::from_utf8(bytes) {
                let (roster, revoked) = text.split_once("\n---\n").unwrap_or((text, ""));
                let names = (Path::new("allowed_signers"), Path::new("revoked"));
                let _ = Roster::parse((names.0, roster), (names.1, revoked));
            }
        }
    }
});
