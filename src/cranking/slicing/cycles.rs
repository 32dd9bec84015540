//! The record folded into one mean engine cycle: cut at the reference events, slow drift taken out,
//! averaged, and turned into harmonics with the scatter of each.
//!
//! A cycle is folded over *time* within it, not over angle, so that the mean does not depend on what
//! the fit assumes; the fit turns time into angle.

use nalgebra::{DMatrix, DVector};

use crate::cranking::scatter::{line, within};
use crate::engine::USUAL_RPM;

/// Bins of a cycle.
pub const BINS: usize = 180;

/// Harmonics of a cycle that are looked at where nothing else is said.
pub const LEAST_HARMONICS: usize = 16;

/// Least swing that a share is taken of.
const LEAST_SWING: f64 = 1e-12;

/// Cycles at the usual speed that a record is long enough for, from which it shows what is not in it: a channel without
/// any rhythm no cranking instead of too little.
const LONG_RECORD: f64 = 5.0;

/// A sampled signal, load up.
#[derive(Debug, Clone, Copy)]
pub struct Samples<'a> {
    /// Seconds, rising.
    pub time: &'a [f64],
    /// Values.
    pub values: &'a [f64],
}

impl<'a> Samples<'a> {
    /// The samples between two times, seconds; two at least.
    #[must_use]
    pub fn between(self, from: f64, to: f64) -> Samples<'a> {
        let a = self.time.partition_point(|t| *t < from);
        let beyond = self.time.partition_point(|t| *t <= to);
        let b = beyond.max(a + 2).min(self.time.len());
        let a = a.min(b - 2);
        Samples {
            time: &self.time[a..b],
            values: &self.values[a..b],
        }
    }

    /// How long a record is, seconds.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        self.time[self.time.len() - 1] - self.time[0]
    }

    /// Whether it holds several cycles at the usual cranking speed.
    #[must_use]
    pub fn is_long(&self) -> bool {
        self.seconds() > LONG_RECORD * 120.0 / USUAL_RPM
    }
}

/// The mean cycle.
#[derive(Debug, Clone)]
pub struct MeanCycle {
    /// Mean length, seconds.
    pub seconds: f64,
    /// Cycles that were averaged.
    pub cycles: usize,
    /// Complex harmonics 1…H as (cosine, sine) parts: x(φ) = Σ re·cos(hφ) − im·sin(hφ).
    pub harmonics: Vec<(f64, f64)>,
    /// Standard error of each part of each harmonic.
    pub errors: Vec<f64>,
    /// Mean level.
    pub mean: f64,
}

/// Fold the stretches between consecutive `cuts` (seconds) into a mean cycle with harmonics 1…`most`.
/// At least two cuts are needed.
#[must_use]
pub fn fold(samples: Samples<'_>, cuts: &[f64], most: usize) -> MeanCycle {
    let mut rows: Vec<[f64; BINS]> = cuts
        .windows(2)
        .map(|pair| bin_means(samples, pair[0], pair[1]))
        .collect();
    take_drift(&mut rows);
    let cycles = rows.len();
    let each: Vec<Vec<(f64, f64)>> = rows.iter().map(|row| harmonics(row, most)).collect();
    let mut mean = vec![(0.0, 0.0); most];
    for cycle in &each {
        for (sum, part) in mean.iter_mut().zip(cycle) {
            sum.0 += part.0 / cycles as f64;
            sum.1 += part.1 / cycles as f64;
        }
    }
    let level = rows.iter().flatten().sum::<f64>() / (cycles * BINS) as f64;
    let errors = standard_errors(&each);
    MeanCycle {
        seconds: (cuts[cuts.len() - 1] - cuts[0]) / cycles as f64,
        cycles,
        harmonics: mean,
        errors,
        mean: level,
    }
}

/// Harmonics 1…`most` of the stretch between two times, its straight trend taken out.
#[must_use]
pub fn cycle_harmonics(samples: Samples<'_>, from: f64, to: f64, most: usize) -> Vec<(f64, f64)> {
    let mut row = bin_means(samples, from, to);
    let places: [f64; BINS] = std::array::from_fn(|bin| bin as f64);
    let trend = line(&places, &row);
    row.iter_mut()
        .zip(places)
        .for_each(|(value, place)| *value -= trend.at(place));
    harmonics(&row, most)
}

/// Means over equal stretches of time of the straight-line interpolation through the samples: right for
/// any spacing.
fn bin_means(samples: Samples<'_>, from: f64, to: f64) -> [f64; BINS] {
    let width = (to - from) / BINS as f64;
    let mut edges = from;
    let mut index = samples.time.partition_point(|t| *t <= from).max(1);
    let mut row = [0.0; BINS];
    let value_at = |index: usize, t: f64| {
        let (t0, t1) = (samples.time[index - 1], samples.time[index]);
        let share = if t1 > t0 { (t - t0) / (t1 - t0) } else { 0.0 };
        samples.values[index - 1] * (1.0 - share) + samples.values[index] * share
    };
    let last = samples.time.len() - 1;
    for bin in &mut row {
        let end = edges + width;
        let (mut t, mut area) = (edges, 0.0);
        while index < last && samples.time[index] < end {
            let next = samples.time[index];
            area += 0.5 * (value_at(index, t) + samples.values[index]) * (next - t);
            t = next;
            index += 1;
        }
        let index = index.min(last);
        area += 0.5 * (value_at(index, t) + value_at(index, end)) * (end - t);
        *bin = area / width;
        edges = end;
    }
    row
}

/// Take slow drift out: a smooth curve over the whole record (a cubic spline with a knot per cycle),
/// fitted to what differs between cycles at the same phase, so that it cannot take part of the cycle
/// itself. Battery sag, a warming engine, and the tail of the inrush behind an AC coupling are such.
fn take_drift(rows: &mut [[f64; BINS]]) {
    let cycles = rows.len();
    if cycles < 2 {
        return;
    }
    let knots = cycles + 2;
    // every fourth bin is plenty for a curve that bends once per cycle
    let stride = 4;
    let places: Vec<(usize, usize)> = (0..cycles)
        .flat_map(|c| (0..BINS).step_by(stride).map(move |b| (c, b)))
        .collect();
    let basis = |c: usize, b: usize, k: usize| {
        bump(c as f64 + (b as f64 + 0.5) / BINS as f64 - (k as f64 - 1.0))
    };
    let bins = BINS.div_ceil(stride);
    let mut design = DMatrix::from_fn(places.len(), knots, |row, k| {
        basis(places[row].0, places[row].1, k)
    });
    let mut target = DVector::from_fn(places.len(), |row, _| rows[places[row].0][places[row].1]);
    for b in 0..bins {
        for k in 0..knots {
            let mean = (0..cycles).map(|c| design[(c * bins + b, k)]).sum::<f64>() / cycles as f64;
            (0..cycles).for_each(|c| design[(c * bins + b, k)] -= mean);
        }
        let mean = (0..cycles).map(|c| target[c * bins + b]).sum::<f64>() / cycles as f64;
        (0..cycles).for_each(|c| target[c * bins + b] -= mean);
    }
    // a light pull towards straightness decides what the data leave open (constant, once per cycle)
    let mut normal = design.transpose() * &design;
    let weight = normal.trace() / knots as f64 * 1e-4;
    for k in 1..knots - 1 {
        for (i, vi) in [(k - 1, 1.0), (k, -2.0), (k + 1, 1.0)] {
            for (j, vj) in [(k - 1, 1.0), (k, -2.0), (k + 1, 1.0)] {
                normal[(i, j)] += weight * vi * vj;
            }
        }
    }
    for k in 0..knots {
        normal[(k, k)] += weight * 1e-4;
    }
    let Some(solved) = normal.cholesky() else {
        return;
    };
    let weights = solved.solve(&(design.transpose() * target));
    for (c, row) in rows.iter_mut().enumerate() {
        for (b, value) in row.iter_mut().enumerate() {
            let drift: f64 = (0..knots).map(|k| weights[k] * basis(c, b, k)).sum();
            *value -= drift;
        }
    }
    // what is left of the level is the drift's own mean; give it back
    let level: f64 = (0..cycles)
        .map(|c| {
            (0..BINS)
                .map(|b| (0..knots).map(|k| weights[k] * basis(c, b, k)).sum::<f64>())
                .sum::<f64>()
        })
        .sum::<f64>()
        / (cycles * BINS) as f64;
    rows.iter_mut().flatten().for_each(|value| *value += level);
}

/// Cubic B-spline bump of half width 2 about 0.
fn bump(x: f64) -> f64 {
    let x = x.abs();
    if x < 1.0 {
        2.0 / 3.0 - x * x + 0.5 * x * x * x
    } else if x < 2.0 {
        (2.0 - x).powi(3) / 6.0
    } else {
        0.0
    }
}

/// Harmonics 1…`most` of a binned cycle, phase 0 at its start.
fn harmonics(row: &[f64; BINS], most: usize) -> Vec<(f64, f64)> {
    (1..=most)
        .map(|h| {
            let (mut re, mut im) = (0.0, 0.0);
            for (b, value) in row.iter().enumerate() {
                let phase = std::f64::consts::TAU * h as f64 * (b as f64 + 0.5) / BINS as f64;
                re += value * phase.cos();
                im -= value * phase.sin();
            }
            let narrow = std::f64::consts::PI * h as f64 / BINS as f64;
            let scale = 2.0 / BINS as f64 * narrow / narrow.sin();
            (re * scale, im * scale)
        })
        .collect()
}

/// Standard error of each harmonic's parts from the scatter between cycles, neighbours pooled because a
/// handful of cycles tells a variance badly.
fn standard_errors(each: &[Vec<(f64, f64)>]) -> Vec<f64> {
    let cycles = each.len() as f64;
    let harmonics = each.first().map_or(0, Vec::len);
    let raw: Vec<f64> = (0..harmonics)
        .map(|h| {
            let parts = |part: fn(&(f64, f64)) -> f64| -> Vec<f64> {
                each.iter().map(|cycle| part(&cycle[h])).collect()
            };
            let (re, im) = (parts(|part| part.0), parts(|part| part.1));
            within([&re[..], &im[..]]) / cycles
        })
        .collect();
    (0..raw.len())
        .map(|h| {
            let near = &raw[h.saturating_sub(1)..(h + 2).min(raw.len())];
            (0.5 * raw[h] + 0.5 * near.iter().sum::<f64>() / near.len() as f64).sqrt()
        })
        .collect()
}

impl MeanCycle {
    /// The same cycle, begun later by a share of its length.
    #[must_use]
    pub fn begun_later(mut self, share: f64) -> Self {
        for (index, part) in self.harmonics.iter_mut().enumerate() {
            let (sin, cos) = (std::f64::consts::TAU * (index + 1) as f64 * share).sin_cos();
            *part = (part.0 * cos - part.1 * sin, part.0 * sin + part.1 * cos);
        }
        self
    }

    /// Root mean square of the swing.
    #[must_use]
    pub fn swing(&self) -> f64 {
        self.harmonics
            .iter()
            .map(|(re, im)| 0.5 * (re * re + im * im))
            .sum::<f64>()
            .sqrt()
    }

    /// Error of the mean cycle from scatter over its swing.
    #[must_use]
    pub fn error_share(&self) -> f64 {
        self.errors.iter().map(|e| e * e).sum::<f64>().sqrt() / self.swing().max(LEAST_SWING)
    }

    /// The swing at a share of the cycle.
    #[must_use]
    pub fn at(&self, share: f64) -> f64 {
        self.harmonics
            .iter()
            .enumerate()
            .fold(0.0, |sum, (index, (re, im))| {
                let (sin, cos) = (std::f64::consts::TAU * (index + 1) as f64 * share).sin_cos();
                sum + re * cos - im * sin
            })
    }

    /// Share of the cycle at which the swing is greatest.
    #[must_use]
    pub fn greatest(&self) -> f64 {
        (0..BINS)
            .map(|b| b as f64 / BINS as f64)
            .max_by(|a, b| self.at(*a).total_cmp(&self.at(*b)))
            .unwrap_or(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wave(t: f64) -> f64 {
        let phase = std::f64::consts::TAU * t / 0.6;
        3.0 * phase.cos() + 1.5 * (4.0 * phase + 0.7).cos() - 0.4 * (7.0 * phase).sin()
    }

    fn folded(count: usize, spread: f64, drift: impl Fn(f64) -> f64) -> MeanCycle {
        // uneven spacing: steps grow and shrink by up to `spread`
        let step = 6.0 / count as f64;
        let time: Vec<f64> = (0..count)
            .map(|i| step * (i as f64 + spread * (i as f64 * 1.7).sin()))
            .collect();
        let values: Vec<f64> = time.iter().map(|t| wave(*t) + drift(*t)).collect();
        let cuts: Vec<f64> = (1..9).map(|k| 0.6 * f64::from(k)).collect();
        fold(
            Samples {
                time: &time,
                values: &values,
            },
            &cuts,
            16,
        )
    }

    /// Fourier coefficients of a sum of cosines are its amplitudes and phases.
    #[test]
    fn harmonics_of_a_known_wave_come_back() {
        for (count, spread, tolerance) in
            [(12_000, 0.0, 2e-3), (12_000, 0.3, 2e-3), (1_200, 0.3, 0.02)]
        {
            let cycle = folded(count, spread, |_| 0.0);
            let expected = [
                (1, 3.0, 0.0),
                (4, 1.5 * 0.7f64.cos(), 1.5 * 0.7f64.sin()),
                (7, 0.0, 0.4),
            ];
            for (h, re, im) in expected {
                let (found_re, found_im) = cycle.harmonics[h - 1];
                assert!((found_re - re).abs() < tolerance, "{h}: {found_re}");
                assert!((found_im - im).abs() < tolerance, "{h}: {found_im}");
            }
            assert!(cycle.harmonics[1].0.hypot(cycle.harmonics[1].1) < tolerance);
        }
    }

    #[test]
    fn slow_drift_leaves_the_cycle_alone() {
        let plain = folded(6_000, 0.0, |_| 0.0);
        let drifting = folded(6_000, 0.0, |t| 8.0 * (-t / 1.5).exp() + 0.5 * t);
        for (a, b) in plain.harmonics.iter().zip(&drifting.harmonics) {
            assert!(
                (a.0 - b.0).abs() < 0.02 && (a.1 - b.1).abs() < 0.02,
                "{a:?} {b:?}"
            );
        }
    }

    #[test]
    fn a_cycle_begun_later_is_the_same_wave() {
        let cycle = folded(6_000, 0.0, |_| 0.0);
        let later = cycle.clone().begun_later(0.3);
        for share in [0.0, 0.2, 0.55] {
            assert!((cycle.at(share + 0.3) - later.at(share)).abs() < 1e-9);
        }
    }
}
