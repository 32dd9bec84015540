//! Cranking voltage profiles of the standards, which are a perfect sine: every "cylinder" must come out
//! equal, or there is no verdict. And the converter's arithmetic.

use std::collections::BTreeMap;
use std::f64::consts::TAU;

use evenfire::capture::Capture;
use evenfire::capture::setup::{self, Setup};
use evenfire::cranking::answer::{Analysis, CheckName, Identified, VerdictKind};

const RATE_HZ: f64 = 1000.0;

/// Volts and seconds of a profile; ramps are straight lines.
struct Profile {
    rest_v: f64,
    dip_v: f64,
    fall_s: f64,
    hold_s: f64,
    ramp_s: f64,
    centre_v: f64,
    swing_v: f64,
    hertz: f64,
    crank_s: f64,
    back_s: f64,
}

/// ISO 16750-2:2003, starting profile, level I, 12 V system (published, read in a copy).
const ISO_LEVEL_1: Profile = Profile {
    rest_v: 12.0,
    dip_v: 8.0,
    fall_s: 0.005,
    hold_s: 0.015,
    ramp_s: 0.05,
    centre_v: 10.5,
    swing_v: 2.0,
    hertz: 2.0,
    crank_s: 1.0,
    back_s: 0.04,
};

/// LV 124 E-11, cold start, normal (published, read in a copy).
const LV_124_COLD: Profile = Profile {
    rest_v: 11.0,
    dip_v: 4.5,
    fall_s: 0.001,
    hold_s: 0.019,
    ramp_s: 0.05,
    centre_v: 7.5,
    swing_v: 2.0,
    hertz: 2.0,
    crank_s: 10.0,
    back_s: 0.1,
};

impl Profile {
    fn capture(&self) -> Capture {
        let lead = 0.3;
        let corners = [
            (lead, self.rest_v),
            (self.fall_s, self.dip_v),
            (self.hold_s, self.dip_v),
            (self.ramp_s, self.centre_v),
            (self.crank_s, self.centre_v),
            (self.back_s, self.rest_v),
            (lead, self.rest_v),
        ];
        let end: f64 = corners.iter().map(|corner| corner.0).sum();
        let crank_from: f64 = corners[..4].iter().map(|corner| corner.0).sum();
        let volts = |t: f64| {
            let (mut from, mut at) = (0.0, self.rest_v);
            for (length, to) in corners {
                if t < from + length {
                    let since = t - crank_from;
                    let cranking = (0.0..self.crank_s).contains(&since);
                    let sine = (TAU * self.hertz * since).sin();
                    let ripple = if cranking {
                        0.5 * self.swing_v * sine
                    } else {
                        0.0
                    };
                    return at + (to - at) * (t - from) / length + ripple;
                }
                (from, at) = (from + length, to);
            }
            self.rest_v
        };
        let time: Vec<f64> = (0..(end * RATE_HZ) as usize)
            .map(|row| row as f64 / RATE_HZ)
            .collect();
        let values = time.iter().map(|t| volts(*t)).collect();
        Capture {
            time,
            columns: BTreeMap::from([("volts".to_owned(), values)]),
        }
    }
}

fn four(converter: &str) -> Setup {
    let text = format!(
        "engine: {{cylinders: 4, firing_order: [1, 3, 4, 2]}}\n\
         channels: {{battery_voltage: {{column: volts{converter}}}}}\n"
    );
    setup::read(&text, "s").unwrap()
}

fn analyse(capture: &Capture, setup: &Setup) -> Analysis {
    evenfire::cranking::analyse(capture, setup).analysis
}

#[test]
fn a_sine_accuses_no_cylinder() {
    for profile in [ISO_LEVEL_1, LV_124_COLD] {
        let answer = analyse(&profile.capture(), &four(""));
        assert_ne!(answer.verdict.kind, VerdictKind::Low, "{answer:#?}");
        assert!(matches!(
            answer.identified,
            None | Some(Identified::PositionOnly)
        ));
        // 2 Hz is one event of a four-cylinder at 60 rpm (computed: rpm/60 · N/2)
        if let Some(cranking) = answer.cranking {
            let rpm = cranking.mean_rpm;
            assert!((58.0..62.0).contains(&rpm), "{rpm}");
        }
    }
}

/// The rhythm of ten seconds of it is found, and the places come out within a point of each other.
#[test]
fn ten_seconds_of_a_sine_have_its_rhythm() {
    let answer = analyse(&LV_124_COLD.capture(), &four(""));
    let cranking = answer.cranking.expect("ten seconds are five cycles");
    assert!(
        (cranking.mean_rpm - 60.0).abs() < 0.6,
        "{}",
        cranking.mean_rpm
    );
    for row in answer.positions.unwrap_or_default() {
        let off = (row.relative_compression_percent - 100.0).abs();
        assert!(
            off < 1.0 || row.low <= 100.0 && 100.0 <= row.high,
            "{row:?}"
        );
    }
}

/// Level I has two events, half a cycle of a four, in its second of cranking: too few for a verdict.
#[test]
fn a_second_of_it_is_too_short() {
    let answer = analyse(&ISO_LEVEL_1.capture(), &four(""));
    assert_eq!(answer.verdict.kind, VerdictKind::Inconclusive);
    let short = |check: &evenfire::cranking::answer::Check| {
        check.check == CheckName::TooFewCycles && !check.passed
    };
    assert!(answer.quality.iter().any(short), "{:#?}", answer.quality);
}

/// A converter of N bits on a span of 20 V steps 78.1 mV at 8 bits and 4.88 mV at 12 (computed: span over
/// 2 to the power of N), so 2 V peak to peak have 25.6 and 409.6 steps.
#[test]
fn steps_are_counted_as_the_converter_makes_them() {
    for (bits, steps) in [(8, 25.6), (12, 409.6)] {
        let step = 20.0 / 2f64.powi(bits);
        let mut capture = LV_124_COLD.capture();
        let volts = capture.columns.get_mut("volts").unwrap();
        volts
            .iter_mut()
            .for_each(|value| *value = (*value / step).round() * step);
        let told = four(&format!(", bits: {bits}, full_scale: 10"));
        for setup in [told, four("")] {
            let answer = analyse(&capture, &setup);
            let check = answer
                .quality
                .iter()
                .find(|check| check.check == CheckName::ConverterSteps);
            let Some(measured) = check.and_then(|check| check.measured) else {
                assert!(bits == 12 && setup.channels.battery_voltage.unwrap().bits.is_none());
                continue;
            };
            assert!(
                (measured / steps - 1.0).abs() < 0.06,
                "{bits} bits: {measured}, not {steps}"
            );
        }
    }
}

/// Level I's ripple lasts one second, half a cycle of a four. Held for ten, as long as LV 124's (a length that is
/// not the standard's), its 2 Hz are found, and nobody is accused.
#[test]
fn level_one_held_for_ten_seconds_has_its_rhythm() {
    let held = Profile {
        crank_s: 10.0,
        ..ISO_LEVEL_1
    };
    accuses_nobody_at(&held, 4, "");
}

/// The 2 Hz are found by engines with other numbers of cylinders and through an AC coupling too: one event
/// each, so 240 rpm over the number of cylinders (computed: rpm/60 · N/2).
#[test]
fn the_rhythm_is_found_by_twos_and_threes_and_behind_a_coupling() {
    for cylinders in [2, 3] {
        accuses_nobody_at(&LV_124_COLD, cylinders, "");
    }
    accuses_nobody_at(&LV_124_COLD, 4, ", coupling: ac, coupling_corner_hz: 0.5");
}

fn accuses_nobody_at(profile: &Profile, cylinders: usize, coupling: &str) {
    let order: Vec<usize> = [1, 3, 4, 2]
        .into_iter()
        .filter(|c| *c <= cylinders)
        .collect();
    let text = format!(
        "engine: {{cylinders: {cylinders}, firing_order: {order:?}}}\n\
         channels: {{battery_voltage: {{column: volts{coupling}}}}}\n"
    );
    let answer = analyse(&profile.capture(), &setup::read(&text, "s").unwrap());
    assert_ne!(answer.verdict.kind, VerdictKind::Low, "{answer:#?}");
    assert!(answer.verdict.cylinders.is_empty());
    let rpm = answer
        .cranking
        .expect("ten seconds are cycles enough")
        .mean_rpm;
    let expected = 60.0 * profile.hertz * 2.0 / cylinders as f64;
    assert!((rpm / expected - 1.0).abs() < 0.01, "{cylinders}: {rpm}");
    if answer.verdict.kind == VerdictKind::Even {
        for row in answer.positions.unwrap_or_default() {
            let holds = row.low <= 100.5 && row.high >= 99.5;
            assert!(holds, "{cylinders}: {row:?}");
        }
    }
}
