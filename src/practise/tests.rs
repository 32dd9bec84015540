//! Exercises are drawn as their difficulty says, and the same again.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::{Difficulty, Escape, Exercise};
use crate::advise::swing::expected;
use crate::cranking::answer::SignalKind;
use crate::cranking::wording::{LOW_VOLTAGE, SMALL_SWING, SPEED_OUT};
use crate::run::planning::{Line, LineAtRest, connection, given};
use crate::simulate::practice::Practice;
use crate::simulate::spoil::Spoil;

fn exercise(seed: u64, difficulty: Difficulty) -> Exercise {
    Exercise {
        fuel: None,
        seed,
        difficulty,
        signal: None,
        firing_order: Some(vec![1, 3, 4, 2]),
        weak: None,
        escape: None,
        spoil: None,
    }
}

#[test]
fn the_same_exercise_is_the_same_engine_again() {
    let exercise = exercise(7, Difficulty::Easy);
    let (first, second) = (exercise.capture(0).unwrap(), exercise.capture(1).unwrap());
    assert_eq!(first.csv(), exercise.capture(0).unwrap().csv());
    assert_ne!(first.csv(), second.csv());
    for (cylinder, leak) in &first.truth.leak_mm2 {
        assert!((leak - second.truth.leak_mm2[cylinder]).abs() < 1e-9);
    }
    let text = serde_json::to_string(&exercise).unwrap();
    assert_eq!(serde_json::from_str::<Exercise>(&text).unwrap(), exercise);
}

/// An easy one has one cylinder far down; what is told beforehand says nothing of it.
#[test]
fn easy_ones_have_one_weak_cylinder() {
    for seed in 1..6 {
        let exercise = exercise(seed, Difficulty::Easy);
        let made = exercise.capture(0).unwrap();
        let percents = made.truth.relative_compression_percent.values();
        let weak: Vec<f64> = percents
            .copied()
            .filter(|percent| *percent < 85.0)
            .collect();
        assert_eq!(weak.len(), 1, "{weak:?}");
        assert!(weak[0] < 70.0, "{weak:?}");
        let told = exercise.vehicle(&made);
        assert!(told.contains("4 cylinders, firing order 1-3-4-2"), "{told}");
        assert!(!told.contains('%') && !told.contains("weak") && !told.contains("leak"));
    }
}

/// A later capture is of the same vehicle, whatever was drawn: signal, engine, plan.
#[test]
fn every_capture_is_of_the_same_vehicle() {
    for seed in 1..5 {
        let drawn = Exercise {
            firing_order: None,
            ..exercise(seed, Difficulty::Hard)
        };
        let first = drawn.capture(0).unwrap();
        let second = drawn.capture(1).unwrap();
        assert_eq!(first.plan.seed, second.plan.seed, "{seed}");
        assert_eq!(first.plan.engine, second.plan.engine, "{seed}");
    }
}

/// Every gauge that a shipped procedure asks for can be looked up; oil lifts a cylinder whose rings leak.
#[test]
fn all_gauges_can_be_looked_up() {
    let mut exercise = exercise(3, Difficulty::Easy);
    exercise.weak = Some([(3, 50.0)].into());
    let after = |escape, what: &str| -> f64 {
        let exercise = Exercise {
            escape: Some(escape),
            ..exercise.clone()
        };
        let made = exercise.capture(0).unwrap();
        let page = &exercise.pages(&made).cylinders[&3];
        let compression = page.split_once("Compression gauge").unwrap().1;
        let value = compression.split_once(what).unwrap().1.trim();
        let value = value.split([';', ' ']).next().unwrap();
        value.parse().unwrap()
    };
    let dry = after(Escape::Crankcase, "cranking");
    let rings = after(Escape::Crankcase, "with oil");
    let valve = after(Escape::Exhaust, "with oil");
    assert!(
        rings > 1.2 * dry && valve < 1.1 * dry,
        "{dry} {rings} {valve}"
    );
    let idle = after(Escape::Inlet, "at idle");
    let snap = after(Escape::Inlet, "at a snap");
    assert!(idle < snap && snap < dry);
}

/// The gauge of the weak cylinder reads lower than all others.
#[test]
fn the_gauge_shows_the_leak() {
    let mut exercise = exercise(3, Difficulty::Easy);
    exercise.weak = Some([(3, 50.0)].into());
    let made = exercise.capture(0).unwrap();
    let text = exercise.pages(&made);
    let reading = |cylinder: usize| -> f64 {
        let (_, found) = text.cylinders[&cylinder].split_once("reading ").unwrap();
        found.split(' ').next().unwrap().parse().unwrap()
    };
    // what may be read before the first crank says nothing of any cylinder
    let of_cylinders = ["reading", "psi; ", "%", "weak", "hiss"];
    assert!(
        of_cylinders.iter().all(|word| !text.vehicle.contains(word)),
        "{text:?}"
    );
    let lengths: std::collections::BTreeSet<usize> =
        text.cylinders.values().map(String::len).collect();
    assert_eq!(lengths.len(), 1, "a list of the files tells nothing");
    let asked =
        "Number of cylinders: 4. Firing order: 1-3-4-2. Degrees from each firing to the next: even";
    assert!(text.vehicle.starts_with(asked), "{text:?}");
    assert!(
        [1, 2, 4]
            .iter()
            .all(|other| reading(*other) > reading(3) + 5.0),
        "{text:?}"
    );
    // some air passes the rings of every cylinder
    assert!(
        [1, 2, 4]
            .iter()
            .all(|sound| (70.0..79.5).contains(&reading(*sound))),
        "{text:?}"
    );
    exercise.weak = Some([(9, 50.0)].into());
    assert_eq!(
        exercise.capture(0).unwrap_err(),
        "the engine has no cylinder 9"
    );
}

/// A line of an exercise's vehicle, as it is judged.
fn line(made: &Practice) -> LineAtRest {
    let recording = &made.plan.recording;
    let of = match recording.source {
        SignalKind::StarterCurrent => Line::Current,
        _ if recording.coupling_hz.is_some() => Line::AlternatingVoltage,
        _ => Line::DirectVoltage,
    };
    let sign = if recording.turned_over { -1.0 } else { 1.0 };
    LineAtRest {
        of,
        time: made.table.time.clone(),
        values: made.table.signal.iter().map(|value| sign * value).collect(),
    }
}

fn judged(made: &Practice) -> BTreeMap<String, String> {
    let system = crate::advise::System::TwelveVolts;
    let given = given(made.plan.engine.clone(), system, Default::default());
    connection(&line(made), &expected(&given), system)
}

/// The line of every exercise, saved before anything turns, is judged quiet or told what it has: the same
/// vehicle, no crank in it.
#[test]
fn the_line_at_rest_is_at_rest() {
    let mut quiet = 0;
    for seed in 1..13 {
        let drawn = Exercise {
            signal: Some(
                [SignalKind::BatteryVoltage, SignalKind::StarterCurrent][seed as usize % 2],
            ),
            firing_order: None,
            ..exercise(seed, Difficulty::drawn(seed))
        };
        let made = drawn.at_rest().unwrap();
        let first = drawn.capture(0).unwrap();
        assert_eq!(made.plan.engine, first.plan.engine, "{seed}");
        let time = line(&made).time;
        assert!(time.last().unwrap() - time[0] > 3.0);
        let facts = judged(&made);
        let jumps = ["dropouts", "steps", "short", "hum"].contains(&facts["finding"].as_str());
        assert!(!jumps, "{seed}: {facts:?}");
        quiet += usize::from(facts["finding"] == "quiet");
        let noise = |facts: &BTreeMap<String, String>| -> f64 {
            let after = facts["measured"].split("noise ").nth(1).unwrap();
            after.split(' ').next().unwrap().parse().unwrap()
        };
        assert!(noise(&facts) < noise(&judged(&first)), "{seed}");
    }
    assert!(quiet > 8, "{quiet} of 12");
}

/// Only the first capture of the turning engine is spoiled, and the check that has to say so says so.
#[test]
fn a_spoiled_exercise_refuses_its_first_capture_only() {
    for spoil in [Spoil::Clipped, Spoil::Short, Spoil::Loose] {
        let exercise = Exercise {
            signal: Some(SignalKind::StarterCurrent),
            spoil: Some(spoil),
            ..exercise(11, Difficulty::Easy)
        };
        let failed = |again| {
            let made = exercise.capture(again).unwrap();
            let setup = made.setup();
            let analysis = crate::cranking::analyse(&made.capture(), &setup);
            let checks = analysis.analysis.quality.into_iter();
            let failed = checks.filter(|check| !check.passed);
            failed.map(|check| check.check).collect::<Vec<_>>()
        };
        assert!(failed(0).contains(&spoil.check(true)), "{spoil:?}");
        assert_eq!(failed(1), [], "{spoil:?}");
    }
}

/// Whatever the seed, an easy exercise is of four or six cylinders that fire evenly, and its capture names the weak one
/// and nothing else: no speed, voltage or line that its page knows nothing of. Among these seeds are those of which the
/// first draw would say otherwise, one for each reason.
#[test]
fn easy_exercises_are_plain() {
    let seeds = [1, 2, 3, 8, 9, 36, 41, 58, 89, 93, 96, 103].into_par_iter();
    seeds.for_each(|seed: u64| {
        let drawn = Exercise {
            firing_order: None,
            signal: [
                None,
                Some(SignalKind::BatteryVoltage),
                Some(SignalKind::StarterCurrent),
            ][seed as usize % 3],
            ..exercise(seed, Difficulty::Easy)
        };
        let made = drawn.unspoiled().unwrap();
        let intervals = made.engine().firing_intervals_deg();
        assert!([4, 6].contains(&intervals.len()), "{seed}");
        let even = |one: &f64| (one - intervals[0]).abs() < 1e-9;
        assert!(intervals.iter().all(even), "{seed}: {intervals:?}");
        let analysis = crate::cranking::analyse(&made.capture(), &made.setup()).analysis;
        let percents = made.truth.relative_compression_percent.iter();
        let weak = percents.filter(|(_, percent)| **percent < 85.0);
        let weak: Vec<usize> = weak.map(|(cylinder, _)| *cylinder).collect();
        assert_eq!(analysis.verdict.cylinders, weak, "{seed}");
        assert_eq!(weak.len(), 1, "{seed}");
        let strange = [SPEED_OUT, LOW_VOLTAGE, SMALL_SWING];
        let strange = |remark: &&String| strange.iter().any(|what| remark.contains(what));
        assert_eq!(analysis.remarks.iter().find(strange), None, "{seed}");
        let told = drawn.signal_told(&made);
        assert_eq!(
            told.contains("voltage"),
            told.contains("AC-coupled"),
            "{told}"
        );
        if made.plan.recording.source != SignalKind::CrankSpeed {
            let finding = &judged(&drawn.at_rest().unwrap())["finding"];
            assert_eq!(finding, "quiet", "{seed}");
        }
    });
}

/// The page says how the fuel is cut, and the signal that the captures hold as their set-up has it.
#[test]
fn the_page_of_the_vehicle_knows_fuel_cut_and_signal() {
    let mut couplings = std::collections::BTreeSet::new();
    for seed in 1..9 {
        let mut exercise = exercise(seed, Difficulty::Medium);
        exercise.signal = Some(SignalKind::BatteryVoltage);
        let made = exercise.unspoiled().unwrap();
        let page = exercise.pages(&made).vehicle;
        assert!(
            page.contains("How its maker has the fuel cut: petrol alone, by the fuel pump relay."),
            "{page}"
        );
        let coupling = match made.setup().channels.battery_voltage.unwrap().coupling {
            crate::capture::setup::Coupling::Ac => "AC",
            crate::capture::setup::Coupling::Dc => "DC",
        };
        let told = format!("recorded {coupling}-coupled");
        assert!(page.contains(&told), "{told}: {page}");
        couplings.insert(coupling);
    }
    assert_eq!(couplings.len(), 2, "both are drawn");
}
