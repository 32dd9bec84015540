//! Where the time of a large capture goes: scanning its bytes in memory (the limit), reading, analysing, each
//! apart. `benches/compare.py` makes the capture and measures whole processes beside the usual script.
#![allow(clippy::print_stdout, clippy::unwrap_used)]

use std::hint::black_box;
use std::path::Path;
use std::time::{Duration, Instant};

use evenfire::capture::{setup, take};

/// Runs of each.
const RUNS: usize = 15;

fn main() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/bench");
    let Ok(bytes) = std::fs::read(folder.join("fast.csv")) else {
        println!("no capture yet: python3 benches/compare.py makes it");
        return;
    };
    let text = std::fs::read_to_string(folder.join("fast.setup.yaml")).unwrap();
    let setup = setup::read(&text, "fast.setup.yaml").unwrap();
    let rate = |took: Duration| bytes.len() as f64 / took.as_secs_f64() / 1e6;
    let scan = median(|| memchr::memchr_iter(b'\n', black_box(&bytes)).count());
    let read = median(|| take(black_box(bytes.as_slice()), "fast.csv", &setup).unwrap());
    let recording = take(bytes.as_slice(), "fast.csv", &setup).unwrap();
    let analyse = median(|| evenfire::cranking::analyse(&recording.capture, &recording.setup));
    println!("| | median of {RUNS}, s | bytes a second |\n|---|---|---|");
    println!(
        "| line ends counted in memory | {:.4} | {:.0} MB/s |",
        scan.as_secs_f64(),
        rate(scan)
    );
    println!(
        "| read from memory | {:.4} | {:.0} MB/s |",
        read.as_secs_f64(),
        rate(read)
    );
    println!("| analysed | {:.4} | |", analyse.as_secs_f64());
}

fn median<T>(mut work: impl FnMut() -> T) -> Duration {
    let mut took: Vec<Duration> = (0..RUNS)
        .map(|_| {
            let begun = Instant::now();
            black_box(work());
            begun.elapsed()
        })
        .collect();
    took.sort_unstable();
    took[RUNS / 2]
}
