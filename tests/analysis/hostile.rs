//! Input made to break the program: no panic, bounded time, an answer that makes sense or an error.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::time::{Duration, Instant};

use evenfire::capture::setup::{self, Setup};
use evenfire::capture::{self, Capture};
use evenfire::cranking::answer::{Analysis, VerdictKind};
use proptest::prelude::*;

/// Far more than any of these takes, far less than a hang.
const PATIENCE: Duration = Duration::from_secs(20);

fn analyse(capture: &Capture, setup: &Setup) -> Analysis {
    let start = Instant::now();
    let answer = evenfire::cranking::analyse(capture, setup).analysis;
    assert!(start.elapsed() < PATIENCE, "took {:?}", start.elapsed());
    sensible(&answer);
    answer
}

/// What holds of every answer.
fn sensible(answer: &Analysis) {
    let cylinders = answer.cylinders.iter().flatten();
    let rows = cylinders.map(|row| [row.low, row.relative_compression_percent, row.high]);
    let positions = answer.positions.iter().flatten();
    let rows =
        rows.chain(positions.map(|row| [row.low, row.relative_compression_percent, row.high]));
    for row in rows {
        assert!(row.iter().all(|value| value.is_finite()), "{row:?}");
        assert!(row.is_sorted(), "{row:?}");
    }
    assert!(!answer.quality.is_empty());
    assert!(answer.cylinders.is_some() != answer.positions.is_some());
    if answer.quality.iter().any(|check| !check.passed) {
        assert_eq!(answer.verdict.kind, VerdictKind::Inconclusive);
    }
    if let Some(cranking) = &answer.cranking {
        let all = [
            cranking.start_s,
            cranking.end_s,
            cranking.cycles,
            cranking.mean_rpm,
        ];
        assert!(all.iter().all(|value| value.is_finite()), "{cranking:?}");
    }
    for check in &answer.quality {
        assert!(check.limit.is_finite() && check.measured.is_none_or(f64::is_finite));
    }
    let text = serde_json::to_string(answer).unwrap();
    let back: Analysis = serde_json::from_str(&text).unwrap();
    assert_eq!(&back, answer, "written and read again");
}

fn set(engine: &str, more: &str) -> Setup {
    let text = format!("engine: {engine}\nchannels:\n  battery_voltage: {{column: volts}}\n{more}");
    setup::read(&text, "s").unwrap()
}

const FOUR: &str = "{cylinders: 4, firing_order: [1, 3, 4, 2]}";
const REFERENCE: &str = "  reference: {column: mark, cylinder: 1, every_deg: 720, edge: rising}\n";

fn made(time: Vec<f64>, volts: Vec<f64>, mark: Vec<f64>) -> Capture {
    let columns = BTreeMap::from([("volts".to_owned(), volts), ("mark".to_owned(), mark)]);
    Capture { time, columns }
}

#[test]
fn large_and_misshapen_tables_are_refused_soon() {
    let setup = set(FOUR, "");
    let long = format!("time_s,volts\n0,1\n1,{}\n", "9".repeat(10_000_000));
    let quoted = format!("time_s,volts\n0,1\n1,\"{}", "x\n".repeat(2_000_000));
    let headers = format!("time_s{}\n0\n", ",a".repeat(1_000_000));
    let mut wide = String::from("time_s,volts\n0,1");
    wide.push_str(&",2".repeat(1_000_000));
    wide.push_str("\n1,x\n");
    for text in [&long, &quoted, &headers, &wide] {
        let start = Instant::now();
        let error = capture::read(text.as_bytes(), "c", &setup).unwrap_err();
        assert!(start.elapsed() < PATIENCE);
        assert!(
            error.to_string().len() < 2000,
            "an error that a person can read"
        );
    }
}

#[test]
fn numbers_at_the_ends_of_the_range_are_answered_or_refused() {
    for (span, height, readable) in [
        (1e300, 1.0, false),
        (1e-300, 1.0, true),
        (1.0, 1e300, false),
        (1.0, 1e-300, true),
        (1e300, f64::MAX, false),
        (1e-9, f64::MIN_POSITIVE, true),
        (1e9, 1e12, true),
    ] {
        let mut text = String::from("time_s,volts,mark\n");
        for row in 0..400 {
            let wave = |every: i32| {
                if row % every < every / 2 {
                    height
                } else {
                    -height
                }
            };
            let (volts, mark) = (wave(10), wave(40));
            writeln!(text, "{:e},{volts:e},{mark:e}", span * f64::from(row)).unwrap();
        }
        for more in ["", REFERENCE] {
            let setup = set(FOUR, more);
            let read = capture::read(text.as_bytes(), "c", &setup);
            assert_eq!(read.is_ok(), readable, "{span}, {height}");
            if let Ok(capture) = read {
                analyse(&capture, &setup);
            }
        }
    }
}

#[test]
fn a_capture_of_two_or_three_rows_is_inconclusive() {
    for text in [
        "time_s,volts,mark\n0,1,0\n1,2,1\n",
        "time_s,volts,mark\n0,1,0\n1,2,5\n2,1,0\n",
    ] {
        for more in ["", REFERENCE] {
            let setup = set(FOUR, more);
            let capture = capture::read(text.as_bytes(), "c", &setup).unwrap();
            assert_eq!(
                analyse(&capture, &setup).verdict.kind,
                VerdictKind::Inconclusive
            );
        }
    }
}

#[test]
fn long_runs_of_events_take_bounded_time() {
    let count = 60_000;
    let time: Vec<f64> = (0..count).map(|row| f64::from(row) * 1e-3).collect();
    let noise = |row: i32| f64::from((row.wrapping_mul(1_103_515_245) >> 8) & 1023);
    let volts = (0..count).map(noise).collect();
    let mark = (0..count).map(|row| f64::from(row % 2)).collect();
    let capture = made(time, volts, mark);
    let answer = analyse(&capture, &set(FOUR, REFERENCE));
    assert_eq!(answer.verdict.kind, VerdictKind::Inconclusive);
}

const ENGINES: [&str; 6] = [
    "{cylinders: 1, firing_order: [1]}",
    "{cylinders: 2, firing_order: [1, 2], firing_intervals_deg: [180, 540]}",
    "{cylinders: 3, firing_order: [1, 3, 2]}",
    FOUR,
    "{cylinders: 6, firing_order: [1, 6, 5, 4, 3, 2], firing_intervals_deg: [90, 150, 90, 150, 90, 150]}",
    "{cylinders: 12, firing_order: [1, 7, 5, 11, 3, 9, 6, 12, 2, 8, 4, 10]}",
];

fn setups() -> impl Strategy<Value = String> {
    let extras = prop_oneof![
        Just(String::new()),
        Just(", coupling: ac".to_owned()),
        (0.01..20.0f64).prop_map(|corner| format!(", coupling: ac, coupling_corner_hz: {corner}")),
        (1u32..=32, 1e-3..1e4f64)
            .prop_map(|(bits, range)| format!(", bits: {bits}, full_scale: {range}")),
        Just(", polarity: load_down".to_owned()),
    ];
    let reference = prop_oneof![
        Just(String::new()),
        (prop_oneof![Just(720), Just(360)], -720.0..720.0f64, prop_oneof![
            Just("rising"),
            Just("falling"),
            Just("peak")
        ])
            .prop_map(|(every, before, edge)| format!(
                "  reference: {{column: mark, cylinder: 1, every_deg: {every}, before_tdc_deg: {before}, edge: {edge}}}\n"
            )),
    ];
    let signal = prop_oneof![Just("battery_voltage"), Just("starter_current")];
    (0..ENGINES.len(), signal, extras, reference, 1.0..99.0f64).prop_map(
        |(engine, signal, extras, reference, limit)| {
            format!(
                "engine: {}\nlimits: {{low_percent: {limit}}}\nchannels:\n  {signal}: {{column: volts{extras}}}\n{reference}",
                ENGINES[engine]
            )
        },
    )
}

/// Rows of a signal that may be ripple, noise, steps or nothing, with marks that may come or not.
fn tables() -> impl Strategy<Value = String> {
    let step = prop_oneof![Just(0.001), Just(0.01), 1e-6..10.0f64];
    let height = prop_oneof![Just(0.0), Just(1.0), 1e-6..1e6f64];
    (
        3usize..400,
        step,
        height,
        0.0..1.0f64,
        2usize..80,
        any::<u32>(),
        any::<bool>(),
    )
        .prop_map(|(rows, step, height, noise, every, seed, uneven)| {
            let mut text = String::from("time_s,volts,mark\n");
            let (mut t, mut state) = (0.0, seed);
            for row in 0..rows {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let random = f64::from(state) / f64::from(u32::MAX);
                t += if uneven { step * (0.1 + random) } else { step };
                let phase = std::f64::consts::TAU * row as f64 / every as f64;
                let volts = height * (4.0 * phase).sin() + noise * random;
                let mark = if row % every < 2 { 5.0 } else { 0.0 };
                writeln!(text, "{t},{volts},{mark}").unwrap();
            }
            text
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whatever_is_recorded_is_answered(table in tables(), text in setups()) {
        let setup = setup::read(&text, "s").unwrap();
        let capture = capture::read(table.as_bytes(), "c", &setup).unwrap();
        analyse(&capture, &setup);
        // a set-up says the same after it was written
        prop_assert_eq!(setup::read(&setup::write(&setup), "s").unwrap(), setup);
    }

    #[test]
    fn any_bytes_are_read_or_refused(table in proptest::collection::vec(any::<u8>(), 0..300), text in ".{0,200}") {
        let setup = set(FOUR, "");
        let _ = capture::read(table.as_slice(), "c", &setup);
        let with_header = [b"time_s,volts\n".as_slice(), &table].concat();
        if let Err(error) = capture::read(with_header.as_slice(), "c", &setup) {
            prop_assert!(error.line <= 1 + table.iter().filter(|b| [b'\n', b'\r'].contains(b)).count() as u64 + 1);
        }
        prop_assert!(setup::read(&text, "s").is_err());
    }
}
