//! The machine interface for one capture: every field, the order of decisions, standard output.

use std::collections::BTreeSet;

use evenfire::capture::setup;
use evenfire::cranking::answer::{CheckName, Finding, SignalKind, VerdictKind};
use evenfire::simulate::practice::{Practice, practice};
use serde_json::Value;

use super::fixture::{Bench, Ran, analysed, failed, remade, wish};

fn keys(value: &Value) -> BTreeSet<&str> {
    value
        .as_object()
        .unwrap()
        .keys()
        .map(String::as_str)
        .collect()
}

fn run(made: &Practice) -> Ran {
    let bench = Bench::new();
    bench.put("c.csv", made.csv());
    let set = bench.put("apart.yaml", setup::write(&made.setup()));
    bench.run(&["analyse", "c.csv", "--setup", &set, "--format", "json"])
}

fn check_rows(rows: &Value, number: &str, count: usize) {
    let rows = rows.as_array().unwrap();
    assert_eq!(rows.len(), count);
    for (index, row) in rows.iter().enumerate() {
        let expected = [
            number,
            "relative_compression_percent",
            "low",
            "high",
            "finding",
        ];
        assert_eq!(keys(row), BTreeSet::from(expected));
        assert_eq!(row[number], index as u64 + 1);
        let at = |key: &str| row[key].as_f64().unwrap();
        assert!(at("low") <= at("relative_compression_percent"));
        assert!(at("relative_compression_percent") <= at("high"));
        assert!(["even", "low", "uncertain"].contains(&row["finding"].as_str().unwrap()));
    }
}

fn check_quality(quality: &Value) {
    let names = [
        "clipped",
        "too_few_cycles",
        "converter_steps",
        "noise",
        "loose_connection",
        "no_ripple",
        "engine_running",
        "undersampled",
        "polarity_unknown",
        "nothing_to_compare",
        "poor_fit",
        "placement_undecided",
        "no_signal",
    ];
    let checks = quality.as_array().unwrap();
    assert!(!checks.is_empty());
    for check in checks {
        let expected = [
            "check", "passed", "measured", "limit", "bound", "unit", "advice",
        ];
        assert_eq!(keys(check), BTreeSet::from(expected));
        assert!(names.contains(&check["check"].as_str().unwrap()), "{check}");
        let limit = check["limit"].as_f64().unwrap();
        if let Some(measured) = check["measured"].as_f64() {
            let within = match check["bound"].as_str().unwrap() {
                "max" => measured <= limit,
                "min" => measured >= limit,
                other => panic!("bound {other}"),
            };
            // noise is passed where there is no ripple that it could swamp
            if check["check"] != "noise" {
                assert_eq!(check["passed"], within, "{check}");
            }
        }
        assert!(!check["advice"].as_str().unwrap().is_empty());
    }
}

#[test]
fn a_sound_and_a_weak_engine_answer_in_full() {
    for (losses, kind, low) in [(vec![], "even", vec![]), (vec![(2, 60.0)], "low", vec![4])] {
        let ran = run(&practice(11, &wish(&losses)).unwrap());
        assert_eq!(ran.status, 0, "{}", ran.err);
        let answer = ran.json();
        for key in [
            "schema",
            "source",
            "identified",
            "cranking",
            "cylinders",
            "verdict",
            "quality",
            "passed_over",
            "remarks",
        ] {
            assert!(keys(&answer).contains(key), "{key}");
        }
        assert_eq!(answer["schema"], "evenfire.analysis/1");
        assert_eq!(answer["source"], "battery_voltage");
        assert_eq!(answer["identified"], "cylinder");
        let cranking = &answer["cranking"];
        assert_eq!(
            keys(cranking),
            BTreeSet::from(["start_s", "end_s", "cycles", "mean_rpm"])
        );
        assert!(cranking["start_s"].as_f64() < cranking["end_s"].as_f64());
        assert!(cranking["cycles"].as_f64().unwrap() >= 3.0);
        check_rows(&answer["cylinders"], "cylinder", 4);
        check_quality(&answer["quality"]);
        assert!(!keys(&answer).contains("positions"));
        assert_eq!(answer["verdict"]["kind"], kind, "{}", answer["verdict"]);
        assert_eq!(answer["verdict"]["cylinders"], serde_json::json!(low));
        assert!(answer["verdict"]["why"].as_str().unwrap().ends_with('.'));
        assert_eq!(answer["passed_over"], serde_json::json!([]));
        assert!(
            answer["remarks"]
                .as_array()
                .unwrap()
                .iter()
                .all(Value::is_string)
        );
    }
}

#[test]
fn mean_speed_is_that_of_the_simulator() {
    for seed in [11, 12, 13] {
        let made = practice(seed, &wish(&[])).unwrap();
        let found = analysed(&made).cranking.unwrap().mean_rpm;
        assert!(
            (found / made.truth.mean_rpm - 1.0).abs() < 0.05,
            "{found}, {}",
            made.truth.mean_rpm
        );
    }
}

#[test]
fn text_is_for_people_and_stands_on_standard_output() {
    let made = practice(11, &wish(&[(2, 60.0)])).unwrap();
    let bench = Bench::new();
    bench.put("c.csv", made.csv());
    bench.put("c.setup.yaml", setup::write(&made.setup()));
    for arguments in [
        vec!["analyse", "c.csv"],
        vec!["analyse", "c.csv", "--format", "text", "--plain"],
    ] {
        let ran = bench.run(&arguments);
        assert_eq!(ran.status, 0, "{}", ran.err);
        assert!(
            ran.out.contains("Cylinder 4 compresses less"),
            "{}",
            ran.out
        );
        assert!(serde_json::from_str::<Value>(&ran.out).is_err());
        assert!(
            !ran.out.contains('\u{1b}'),
            "no terminal, no escape sequences"
        );
    }
}

#[test]
fn an_inconclusive_answer_is_a_completed_analysis() {
    let made = remade(11, &wish(&[(2, 60.0)]), |plan| {
        (plan.recording.bits, plan.recording.full_scale) = (8, 100.0)
    });
    let ran = run(&made);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let answer = ran.json();
    assert_eq!(answer["verdict"]["kind"], "inconclusive");
    assert_eq!(answer["verdict"]["cylinders"], serde_json::json!([]));
    check_quality(&answer["quality"]);
    let rows = answer["cylinders"].as_array().unwrap();
    assert!(
        rows.iter().all(|row| row["finding"] == "uncertain"),
        "a failed check outranks low"
    );
}

/// The rule of decision with the interval as guard band, and the verdict's order, on one capture under
/// many limits.
#[test]
fn findings_and_verdict_follow_the_limit() {
    let made = practice(11, &wish(&[(2, 60.0)])).unwrap();
    let mut kinds = BTreeSet::new();
    for limit in 40..99 {
        let limit = f64::from(limit);
        let mut setup = made.setup();
        setup.low_percent = limit;
        let answer = evenfire::cranking::analyse(&made.capture(), &setup).analysis;
        let rows = answer.cylinders.unwrap();
        for row in &rows {
            let expected = if row.high < limit {
                Finding::Low
            } else if row.low >= limit {
                Finding::Even
            } else {
                Finding::Uncertain
            };
            assert_eq!(row.finding, expected, "at {limit}: {row:?}");
        }
        let low: Vec<usize> = rows
            .iter()
            .filter(|row| row.finding == Finding::Low)
            .map(|row| row.cylinder)
            .collect();
        let kind = if !low.is_empty() {
            VerdictKind::Low
        } else if rows.iter().all(|row| row.finding == Finding::Even) {
            VerdictKind::Even
        } else {
            VerdictKind::Inconclusive
        };
        assert_eq!(answer.verdict.kind, kind, "at {limit}");
        assert_eq!(answer.verdict.cylinders, low, "at {limit}");
        kinds.insert(format!("{kind:?}"));
    }
    assert_eq!(
        kinds.len(),
        3,
        "the limits pass through all three: {kinds:?}"
    );
}

/// 100 % is the mean of the highest half and of those found even against it, so the mean of the rows that
/// are even in the end, the highest half among them, is 100.
#[test]
fn a_hundred_percent_is_the_mean_of_those_taken_in() {
    for seed in [11, 12, 13, 14] {
        let answer = analysed(&practice(seed, &wish(&[(1, 55.0)])).unwrap());
        if answer.verdict.kind != VerdictKind::Low {
            continue;
        }
        let rows = answer.cylinders.unwrap();
        let even: Vec<f64> = rows
            .iter()
            .filter(|row| row.finding == Finding::Even)
            .map(|row| row.relative_compression_percent)
            .collect();
        let mean = even.iter().sum::<f64>() / even.len() as f64;
        assert!((mean - 100.0).abs() < 0.5, "seed {seed}: {mean}");
    }
}

#[test]
fn the_limit_is_85_where_none_is_given() {
    let text = "engine: {cylinders: 1, firing_order: [1]}\nchannels: {}\n";
    assert_eq!(setup::read(text, "s").unwrap().low_percent, 85.0);
    let given = format!("{text}limits: {{low_percent: 80}}\n");
    assert_eq!(setup::read(&given, "s").unwrap().low_percent, 80.0);
}

#[test]
fn without_a_channel_there_is_no_source() {
    let bench = Bench::new();
    bench.put("c.csv", "time_s,volts\n0,1\n1,2\n2,3\n");
    bench.put(
        "c.setup.yaml",
        "engine: {cylinders: 4, firing_order: [1, 3, 4, 2]}\nchannels: {}\n",
    );
    let ran = bench.run(&["analyse", "c.csv", "--format", "json"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let answer = ran.json();
    assert_eq!(answer["source"], Value::Null);
    assert_eq!(answer["identified"], Value::Null);
    assert_eq!(answer["cranking"], Value::Null);
    assert_eq!(answer["cylinders"], serde_json::json!([]));
    assert_eq!(answer["verdict"]["kind"], "inconclusive");
    check_quality(&answer["quality"]);
}

#[test]
fn a_channel_that_stands_still_is_no_signal() {
    let made = practice(11, &wish(&[])).unwrap();
    let mut capture = made.capture();
    capture
        .columns
        .get_mut("battery_voltage_V")
        .unwrap()
        .fill(12.4);
    let answer = evenfire::cranking::analyse(&capture, &made.setup()).analysis;
    assert_eq!(answer.source, Some(SignalKind::BatteryVoltage));
    assert_eq!(answer.verdict.kind, VerdictKind::Inconclusive);
    assert_eq!(answer.cylinders, Some(vec![]));
    assert_eq!(failed(&answer.quality), [CheckName::NoSignal]);
}

/// The better channel of two is taken; the other stands in `passed_over` with its checks and decides
/// nothing. Where neither passes, the first of the interface's order is taken.
#[test]
fn the_best_usable_channel_is_taken() {
    let made = practice(11, &wish(&[(2, 60.0)])).unwrap();
    let mut setup = made.setup();
    let mut dead = setup.channels.battery_voltage.clone().unwrap();
    dead.column = "starter_current_A".to_owned();
    setup.channels.starter_current = Some(dead);
    let mut capture = made.capture();
    capture.columns.insert(
        "starter_current_A".to_owned(),
        vec![0.0; capture.time.len()],
    );
    let answer = evenfire::cranking::analyse(&capture, &setup).analysis;
    assert_eq!(answer.source, Some(SignalKind::BatteryVoltage));
    assert_eq!(answer.verdict.cylinders, [4]);
    assert_eq!(failed(&answer.quality), []);
    assert_eq!(answer.passed_over.len(), 1);
    assert_eq!(answer.passed_over[0].source, SignalKind::StarterCurrent);
    assert_eq!(
        failed(&answer.passed_over[0].quality),
        [CheckName::NoSignal]
    );

    capture
        .columns
        .get_mut("battery_voltage_V")
        .unwrap()
        .fill(12.4);
    let answer = evenfire::cranking::analyse(&capture, &setup).analysis;
    assert_eq!(answer.source, Some(SignalKind::StarterCurrent));
    assert_eq!(answer.passed_over[0].source, SignalKind::BatteryVoltage);
    assert_eq!(answer.verdict.kind, VerdictKind::Inconclusive);
}

#[test]
fn one_cylinder_has_nothing_to_be_compared_with() {
    let made = practice(11, &wish(&[])).unwrap();
    let mut setup = made.setup();
    setup.engine = evenfire::engine::Engine::new(1, &[1], None, None).unwrap();
    setup.channels.reference.as_mut().unwrap().cylinder = 1;
    let answer = evenfire::cranking::analyse(&made.capture(), &setup).analysis;
    assert_eq!(answer.verdict.kind, VerdictKind::Inconclusive);
    assert!(
        failed(&answer.quality).contains(&CheckName::NothingToCompare),
        "{:?}",
        answer.quality
    );
    assert_eq!(answer.cylinders, Some(vec![]));
}

#[test]
fn the_same_capture_gives_the_same_bytes() {
    let made = practice(12, &wish(&[])).unwrap();
    assert_eq!(run(&made).out, run(&made).out);
}
