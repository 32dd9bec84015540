//! Hump heights read off the trace, as by eye: not the answer (they name the wrong cylinder wherever
//! events overlap), but what the answer is measured against.

use super::attempt::Found;
use crate::engine::Engine;

/// Steps of the mean cycle that are looked at.
const STEPS: usize = 720;

/// Height of each place's hump over the troughs beside it, percent of the mean of the highest half.
#[must_use]
pub fn heights(found: &Found, engine: &Engine) -> Vec<f64> {
    let angles = &found.explained.course.angles;
    let begins = found.explained.begins;
    let steps = (angles.len() - 1) as f64;
    let phases: Vec<f64> = engine
        .firing_angles_deg()
        .into_iter()
        .map(|firing| {
            let turns = ((angles[0] - firing) / 720.0).ceil();
            let index = angles.partition_point(|angle| *angle < firing + 720.0 * turns);
            (begins + index.min(angles.len() - 1) as f64 / steps).rem_euclid(1.0)
        })
        .collect();
    let values: Vec<f64> = (0..STEPS)
        .map(|step| found.cycle.at(step as f64 / STEPS as f64))
        .collect();
    let half = STEPS / (2 * phases.len());
    let around = |phase: f64, offset: i64| {
        let at = (phase * STEPS as f64) as i64 + offset;
        values[at.rem_euclid(STEPS as i64) as usize]
    };
    let raw: Vec<f64> = phases
        .iter()
        .map(|phase| {
            let reach = half as i64;
            let top = (-reach..=reach)
                .map(|o| around(*phase, o))
                .fold(f64::MIN, f64::max);
            let trough = |from: i64| {
                (from..from + 2 * reach)
                    .map(|o| around(*phase, o))
                    .fold(f64::MAX, f64::min)
            };
            top - 0.5 * (trough(-2 * reach) + trough(0))
        })
        .collect();
    let mut sorted = raw.clone();
    sorted.sort_by(|a, b| b.total_cmp(a));
    let best = &sorted[..sorted.len().div_ceil(2)];
    let whole = best.iter().sum::<f64>() / best.len() as f64;
    raw.into_iter()
        .map(|height| 100.0 * height / whole.max(1e-12))
        .collect()
}
