//! A register of a hundred thousand jobs, made once and measured by hand: see DEVELOPERS.md.

use std::path::Path;
use std::time::Instant;

use evenfire::record::digest;
use evenfire::record::shop::roster::Role;
use evenfire::record::signing::{key, sshsig};
use rayon::prelude::*;

use crate::shop::Register;

/// Bytes of one capture.
const CAPTURE: usize = 16_000;

/// `EVENFIRE_REGISTER=FOLDER EVENFIRE_JOBS=100000 cargo test --release --test audit large -- --ignored`
#[test]
#[ignore = "makes a register of gigabytes in the folder that EVENFIRE_REGISTER names"]
fn large_register() {
    let folder = std::env::var("EVENFIRE_REGISTER").expect("EVENFIRE_REGISTER names a new folder");
    let jobs = std::env::var("EVENFIRE_JOBS").map_or(100_000, |jobs| jobs.parse().unwrap());
    Register::new(Path::new(&folder), CAPTURE).add(jobs);
    assert!(
        Path::new(&folder)
            .join("jobs")
            .join(format!("{jobs:04}"))
            .is_dir()
    );
}

/// What hashing and Ed25519 alone cost on all cores: the limit of any audit that trusts nothing.
#[test]
#[ignore = "a measurement"]
fn limit_of_hashing_and_signatures() {
    const ROUNDS: u32 = 20_000;
    let bytes = vec![7; 100_000];
    let begun = Instant::now();
    (0..ROUNDS)
        .into_par_iter()
        .for_each(|_| assert_eq!(digest::of_bytes(&bytes).len(), 64));
    let hashed = begun.elapsed().as_secs_f64();
    let key = key::make("x", false).unwrap();
    let signature = sshsig::sign(&key, Role::Lead, &bytes[..900]).unwrap();
    let begun = Instant::now();
    (0..ROUNDS).into_par_iter().for_each(|_| {
        sshsig::check(signature.as_bytes(), Role::Lead, &bytes[..900]).unwrap();
    });
    let checked = begun.elapsed().as_secs_f64();
    let rounds = f64::from(ROUNDS);
    println!(
        "SHA-256: {:.0} MB/s; Ed25519: {:.0} signatures/s, on all cores",
        rounds * 0.1 / hashed,
        rounds / checked
    );
    assert!(hashed > 0.0 && checked > 0.0);
}
