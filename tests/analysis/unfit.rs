//! Captures of a weak engine that cannot carry a verdict, each spoiled in one way on a sound simulated one:
//! the check that fails is the one that names the fault, and nobody is accused.

use evenfire::cranking::answer::{CheckName, SignalKind, VerdictKind};
use evenfire::cranking::cycles::Samples;
use evenfire::cranking::quiet::{Belongs, judge};
use evenfire::simulate::draw::Wish;
use evenfire::simulate::plan::Plan;
use evenfire::simulate::practice::practice;
use evenfire::simulate::spoil::Spoil as Cause;

use super::fixture::{analysed, failed, remade, wish};

/// One way to spoil a capture.
type Spoil = fn(&mut Plan);

/// Spoil captures of three engines; every one must fail the check.
fn spoiled(kind: SignalKind, check: CheckName, change: impl Fn(&mut Plan)) {
    let mut wrong = Vec::new();
    for seed in 44..47 {
        let wish = Wish {
            source: Some(kind),
            ..wish(&[(1, 60.0)])
        };
        let answer = analysed(&remade(seed, &wish, &change));
        let failed = failed(&answer.quality);
        if answer.verdict.kind != VerdictKind::Inconclusive || !failed.contains(&check) {
            wrong.push(format!(
                "seed {seed}: {:?}, {failed:?}",
                answer.verdict.kind
            ));
        }
    }
    assert!(
        wrong.is_empty(),
        "{check:?} from {kind:?}: {}",
        wrong.join("; ")
    );
}

/// Whatever is said to be wrong, no verdict comes from these: asserted apart from the check's name.
#[test]
fn spoiled_captures_get_no_verdict() {
    let spoil: [(SignalKind, Spoil); 5] = [
        (CURRENT, |plan| plan.recording.full_scale = 60.0),
        (VOLTAGE, |plan| plan.recording.full_scale = 5.0),
        (VOLTAGE, |plan| plan.recording.noise = 3.0),
        (VOLTAGE, |plan| plan.recording.drop_outs_per_s = 4.0),
        (VOLTAGE, |plan| plan.recording.rate_hz = 10.0),
    ];
    for (number, (kind, change)) in spoil.into_iter().enumerate() {
        for seed in 44..47 {
            let wish = Wish {
                source: Some(kind),
                ..wish(&[(1, 60.0)])
            };
            let answer = analysed(&remade(seed, &wish, change));
            assert_eq!(
                answer.verdict.kind,
                VerdictKind::Inconclusive,
                "{number}, seed {seed}"
            );
            assert!(!failed(&answer.quality).is_empty(), "{number}, seed {seed}");
        }
    }
}

const VOLTAGE: SignalKind = SignalKind::BatteryVoltage;
const CURRENT: SignalKind = SignalKind::StarterCurrent;

#[test]
fn unspoiled_they_carry_a_verdict() {
    for kind in [VOLTAGE, CURRENT] {
        for seed in 44..47 {
            let wish = Wish {
                source: Some(kind),
                ..wish(&[(1, 60.0)])
            };
            let answer = analysed(&remade(seed, &wish, |_| {}));
            assert_eq!(
                answer.verdict.kind,
                VerdictKind::Low,
                "seed {seed}: {}",
                answer.verdict.why
            );
            assert_eq!(answer.verdict.cylinders, [3], "seed {seed}");
        }
    }
}

/// A clamp of some tens of ampere cannot see a starter's current.
#[test]
fn a_clamp_of_low_range_is_clipped() {
    spoiled(CURRENT, CheckName::Clipped, |plan| {
        plan.recording.full_scale = 60.0
    });
}

#[test]
fn a_voltage_range_below_the_battery_is_clipped() {
    spoiled(VOLTAGE, CheckName::Clipped, |plan| {
        plan.recording.full_scale = 5.0;
        // a channel that stands still can only be told to be at its range's end if that is known
        plan.recording.converter_told = true;
    });
}

#[test]
fn a_key_released_early_leaves_too_few_cycles() {
    spoiled(VOLTAGE, CheckName::TooFewCycles, |plan| {
        plan.timing.key_off_s = plan.timing.key_on_s.max(0.0) + 1.0;
        plan.timing.end_s = plan.timing.key_off_s + 0.3;
    });
}

/// A piece of a crank is too short, and nothing else is said of it: neither that the engine runs, nor of noise.
#[test]
fn a_piece_of_a_crank_is_only_too_short() {
    let mut wrong = Vec::new();
    for (seed, kind) in [(44, VOLTAGE), (45, CURRENT), (46, VOLTAGE), (47, CURRENT)] {
        let wish = Wish {
            source: Some(kind),
            ..wish(&[(1, 60.0)])
        };
        let made = practice(seed, &wish).unwrap();
        for (from, tenths) in [0.0, 1.2]
            .into_iter()
            .flat_map(|from| (2..=17).map(move |t| (from, t)))
        {
            let seconds = f64::from(tenths) / 10.0;
            let mut capture = made.capture();
            let first = capture.time[0] + from;
            let keep: Vec<bool> = capture
                .time
                .iter()
                .map(|t| (first..first + seconds).contains(t))
                .collect();
            let cut = |values: &mut Vec<f64>| {
                let mut kept = keep.iter();
                values.retain(|_| *kept.next().unwrap());
            };
            cut(&mut capture.time);
            capture.columns.values_mut().for_each(cut);
            let answer = evenfire::cranking::analyse(&capture, &made.setup()).analysis;
            let failed = failed(&answer.quality);
            let why = &answer.verdict.why;
            // a fast crank brings three cycles into less than the usual time, and is judged
            if failed.is_empty() {
                assert_eq!(
                    answer.verdict.cylinders,
                    [3],
                    "seed {seed}, {seconds} s: {why}"
                );
                continue;
            }
            if failed != [CheckName::TooFewCycles]
                || !why.contains(&format!("The file holds {seconds:.1} s"))
            {
                wrong.push(format!(
                    "seed {seed}, {seconds} s from {from}: {failed:?}: {why}"
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A crank in the place of a line at rest is named for what it is.
#[test]
fn a_crank_is_no_line_at_rest() {
    for (seed, kind, ac_coupled, swing) in [
        (44, CURRENT, false, 15.0),
        (45, VOLTAGE, true, 0.18),
        (46, VOLTAGE, false, 0.18),
    ] {
        let wish = Wish {
            source: Some(kind),
            ac_coupled: Some(ac_coupled),
            ..wish(&[])
        };
        let made = practice(seed, &wish).unwrap();
        let (capture, channels) = (made.capture(), made.setup().channels);
        let channel = channels
            .starter_current
            .or(channels.battery_voltage)
            .unwrap();
        let samples = Samples {
            time: &capture.time,
            values: &capture.columns[&channel.column],
        };
        let judged = judge(samples, swing, Belongs::AtZero);
        assert!(judged.turns, "{kind:?}: {judged:?}");
        assert_eq!(
            judged.advice(),
            "The starter turns in this file. Save the line with nothing turning."
        );
    }
}

#[test]
fn eight_bits_on_a_hundred_volts_are_too_coarse() {
    spoiled(VOLTAGE, CheckName::ConverterSteps, |plan| {
        plan.recording.bits = 8;
        plan.recording.full_scale = 100.0;
    });
}

#[test]
fn noise_that_swamps_the_ripple_is_told() {
    spoiled(VOLTAGE, CheckName::Noise, |plan| plan.recording.noise = 3.0);
}

#[test]
fn a_lead_that_lets_go_is_a_loose_connection() {
    spoiled(VOLTAGE, CheckName::LooseConnection, |plan| {
        plan.recording.drop_outs_per_s = 4.0
    });
}

#[test]
fn an_engine_that_is_not_cranked_has_no_ripple() {
    spoiled(VOLTAGE, CheckName::NoRipple, |plan| {
        plan.timing.key_on_s = 6.0;
        plan.timing.key_off_s = 6.0;
        plan.timing.end_s = 5.0;
    });
}

#[test]
fn a_few_samples_a_second_are_undersampled() {
    spoiled(VOLTAGE, CheckName::Undersampled, |plan| {
        plan.recording.rate_hz = 10.0
    });
}

/// An engine that catches ends the window; what was cranked before decides.
#[test]
fn an_engine_that_catches_accuses_nobody_wrongly() {
    for seed in 44..47 {
        let made = remade(seed, &wish(&[(1, 60.0)]), |plan| {
            let middle = 0.5 * (plan.timing.key_on_s.max(0.0) + plan.timing.key_off_s);
            plan.timing.catches_s = Some(middle);
        });
        let answer = analysed(&made);
        let accused = &answer.verdict.cylinders;
        assert!(
            accused.is_empty() || *accused == [3],
            "seed {seed}: {accused:?}"
        );
    }
}

/// Turned over in the recording, and told so or not: the same cylinder.
#[test]
fn a_trace_turned_over_names_the_same_cylinder_or_none() {
    for seed in 44..47 {
        for told in [true, false] {
            let made = remade(seed, &wish(&[(1, 60.0)]), |plan| {
                plan.recording.turned_over = true;
                plan.recording.converter_told = told;
            });
            let answer = analysed(&made);
            if told {
                assert_eq!(
                    answer.verdict.cylinders,
                    [3],
                    "seed {seed}: {}",
                    answer.verdict.why
                );
            }
            let accused = &answer.verdict.cylinders;
            assert!(
                accused.is_empty() || *accused == [3],
                "seed {seed}, told {told}: {accused:?}"
            );
        }
    }
}

/// The sentence names what is wrong with the capture, not what is only a consequence of it.
#[test]
fn the_verdict_names_the_cause() {
    let spoil: [(Spoil, &str); 2] = [
        (|plan| plan.recording.rate_hz = 10.0, "\"sampling rate\""),
        (
            |plan| plan.recording.drop_outs_per_s = 4.0,
            "\"loose connection\"",
        ),
    ];
    for (change, cause) in spoil {
        for seed in 44..47 {
            let wish = Wish {
                source: Some(VOLTAGE),
                ..wish(&[(1, 60.0)])
            };
            let why = analysed(&remade(seed, &wish, change)).verdict.why;
            assert!(why.contains(cause), "seed {seed}: {why}");
        }
    }
}

/// An inrush off the range harms nothing: a record that is too short is told so, whether steady cranking was looked
/// for in vain (29, 91) or some cycles were found with the inrush among them (9, 19).
#[test]
fn a_short_record_is_not_refused_for_its_inrush() {
    for seed in [9, 19, 29, 91] {
        let wish = Wish {
            spoil: Some(Cause::Short),
            ..Wish::anything()
        };
        let failed = failed(&analysed(&practice(seed, &wish).unwrap()).quality);
        assert!(
            failed.contains(&CheckName::TooFewCycles) && !failed.contains(&CheckName::Clipped),
            "seed {seed}: {failed:?}"
        );
    }
}
