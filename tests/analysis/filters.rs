//! Filters, spectra, resampling and splines against values that numpy and scipy computed from the same inputs:
//! `reference/make.py` makes `reference/filters.json` with the library's own function for each thing
//! (CubicSpline, interp, rfft, detrend, BSpline, lstsq, freqs, lsim, periodogram, quad).

use evenfire::cranking::cycles::{Samples, cycle_harmonics, fold};
use evenfire::cranking::model::high_pass;
use evenfire::cranking::rhythm::cycle_marks;
use evenfire::cranking::spline::between;
use evenfire::engine::nozzle::{CHOKED_FLOW, CRITICAL_RATIO, flow_function};
use evenfire::simulate::filter::{HighPass, LowPass};
use serde_json::Value;

use super::fixture::four;

const TAU: f64 = std::f64::consts::TAU;

fn reference(part: &str) -> Value {
    let all: Value = serde_json::from_str(include_str!("reference/filters.json")).unwrap();
    all[part].clone()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

fn pairs(value: &Value) -> Vec<(f64, f64)> {
    let all = value.as_array().unwrap().iter();
    all.map(|pair| (number(&pair[0]), number(&pair[1])))
        .collect()
}

#[track_caller]
fn near(found: f64, expected: f64, tolerance: f64, what: &str) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{what}: {found}, not {expected}"
    );
}

/// The wave of `make.py`.
fn wave(t: f64) -> f64 {
    let phase = TAU * t / 0.6;
    3.0 * phase.cos() + 1.5 * (4.0 * phase + 0.7).cos() - 0.4 * (7.0 * phase).sin()
}

/// Its uneven rows.
fn rows(count: usize) -> Vec<f64> {
    (0..count)
        .map(|i| 6.0 / count as f64 * (i as f64 + 0.3 * (1.7 * i as f64).sin()))
        .collect()
}

/// The curve through teeth: scipy.interpolate.CubicSpline, natural ends.
#[test]
fn the_curve_through_teeth_is_a_natural_spline() {
    let told = reference("spline");
    let found = between(
        &numbers(&told["places"]),
        &numbers(&told["values"]),
        number(&told["finest"]),
    );
    let (at, slopes) = (numbers(&told["at"]), numbers(&told["slopes"]));
    assert_eq!(found.places.len(), at.len());
    for (k, (at, slope)) in at.iter().zip(&slopes).enumerate() {
        near(found.places[k], *at, 1e-12, "place");
        near(found.slopes[k], *slope, 1e-8, "slope");
    }
}

/// Resampling of uneven rows, trend and spectrum of one cycle: numpy.interp, scipy.signal.detrend, numpy.fft.rfft.
#[test]
fn the_spectrum_of_a_cycle_is_that_of_a_discrete_transform() {
    let told = reference("one_cycle");
    let time = rows(1200);
    let values: Vec<f64> = time.iter().map(|t| wave(*t) + 0.8 * t).collect();
    let samples = Samples {
        time: &time,
        values: &values,
    };
    let found = cycle_harmonics(samples, number(&told["from"]), number(&told["to"]), 16);
    for (h, (found, expected)) in found.iter().zip(pairs(&told["harmonics"])).enumerate() {
        near(found.0, expected.0, 1e-9, &format!("harmonic {}", h + 1));
        near(found.1, expected.1, 1e-9, &format!("harmonic {}", h + 1));
    }
}

/// Mean cycle, its drift spline and its errors: scipy.interpolate.BSpline, scipy.linalg.lstsq, numpy.var.
#[test]
fn the_mean_cycle_is_that_of_a_penalised_spline() {
    let told = reference("mean_cycle");
    let time = rows(6000);
    let values: Vec<f64> = time
        .iter()
        .map(|t| wave(*t) + 8.0 * (-t / 1.5).exp() + 0.3 * (2.1 * t).sin() * wave(0.97 * t))
        .collect();
    let samples = Samples {
        time: &time,
        values: &values,
    };
    let found = fold(samples, &numbers(&told["cuts"]), 16);
    near(found.mean, number(&told["mean"]), 1e-6, "level");
    let errors = numbers(&told["errors"]);
    for (h, expected) in pairs(&told["harmonics"]).into_iter().enumerate() {
        let what = format!("harmonic {}", h + 1);
        near(found.harmonics[h].0, expected.0, 1e-6, &what);
        near(found.harmonics[h].1, expected.1, 1e-6, &what);
        near(found.errors[h], errors[h], 1e-6 + 1e-5 * errors[h], &what);
    }
}

/// The coupling in the model of the fit: scipy.signal.freqs.
#[test]
fn the_models_coupling_is_a_first_order_high_pass() {
    let told = reference("coupling");
    for (ratio, expected) in numbers(&told["ratios"])
        .iter()
        .zip(pairs(&told["transfer"]))
    {
        let found = high_pass(*ratio);
        near(found.0, expected.0, 1e-12, "real part");
        near(found.1, expected.1, 1e-12, "imaginary part");
    }
}

/// The simulator's filters, stepped: scipy.signal.lsim of the continuous ones. A dip of 2.6 V and a ripple of
/// 1 V; what the steps are off stays under a thousandth of the dip for the coupling. The low-pass takes a value as
/// constant over a step: off by half a step of the ripple at most.
#[test]
fn the_simulators_filters_follow_the_continuous_ones() {
    let told = reference("stepped");
    let step = number(&told["step"]);
    let dip = |row: usize| {
        let t = step * row as f64;
        if t > 0.2 {
            10.0 + (TAU * 6.667 * t).sin()
        } else {
            12.6
        }
    };
    let at: Vec<usize> = numbers(&told["at"])
        .iter()
        .map(|row| *row as usize)
        .collect();
    let last = at[at.len() - 1];
    for filter in told["low_pass"].as_array().unwrap() {
        let mut low = LowPass::settled(number(&filter["hertz"]), step, 12.6);
        let found: Vec<f64> = (0..=last).map(|row| low.pass(dip(row))).collect();
        for (row, expected) in at.iter().zip(numbers(&filter["out"])) {
            near(
                found[*row],
                expected,
                0.5 * step * TAU * 6.667 * 1.1,
                "low-pass",
            );
        }
    }
    for filter in told["high_pass"].as_array().unwrap() {
        let mut high = HighPass::settled(number(&filter["hertz"]), step, 12.6);
        let found: Vec<f64> = (0..=last).map(|row| high.pass(dip(row))).collect();
        for (row, expected) in at.iter().zip(numbers(&filter["out"])) {
            near(found[*row], expected, 2.6e-3, "high-pass");
        }
    }
}

/// The rhythm: scipy.signal.periodogram's greatest line, amplitude times frequency.
#[test]
fn the_rhythm_is_the_periodograms_strongest_line() {
    let told = reference("rhythm");
    let (step, hertz) = (number(&told["step"]), number(&told["hertz"]));
    let time: Vec<f64> = (0..7000).map(|row| step * f64::from(row)).collect();
    let values: Vec<f64> = time
        .iter()
        .map(|t| {
            (TAU * 5.83 * t).sin()
                + 0.4 * (TAU * 5.83 / 4.0 * t + 1.0).sin()
                + 0.2 * (TAU * 11.66 * t).sin()
        })
        .collect();
    let marks = cycle_marks(
        Samples {
            time: &time,
            values: &values,
        },
        &four(),
    );
    let cycles = (marks.len() - 1) as f64;
    let cycle = (marks[marks.len() - 1] - marks[0]) / cycles;
    assert!(cycles >= 7.0, "{marks:?}");
    near(4.0 / cycle, hertz, 0.002 * hertz, "firing rate");
}

/// Flow through a nozzle: v²/2 = ∫ dp/ρ along an isentrope, integrated by scipy.integrate.quad, its greatest value
/// found by scipy.optimize: nothing of the closed formula.
#[test]
fn nozzle_flow_is_that_of_an_isentrope_integrated() {
    let told = reference("nozzle");
    for (ratio, expected) in pairs(&told["flow"]) {
        near(flow_function(ratio), expected, 1e-9, "flow");
    }
    near(
        CRITICAL_RATIO,
        number(&told["critical"]),
        1e-6,
        "critical ratio",
    );
    near(CHOKED_FLOW, number(&told["choked"]), 1e-9, "choked flow");
}
