//! Two steady crankings laid over each other wherever they may fit, and each over its own next cycle.

use nalgebra::{DMatrix, DVector};

use super::curve::Curve;
use crate::cranking::slicing::window::median;

/// Cells that a firing, and a cycle, is cut into at least: a few for each harmonic that a firing shows.
const CELLS_PER_FIRING: usize = 24;
const LEAST_CELLS: usize = 96;

/// Cycles that have to lie over each other: with fewer, chance may lay two cranks over each other.
const LEAST_OVERLAP: f64 = 1.5;

/// Places that are looked at closely. The right one is the best or nearly so, before it is looked at closely.
const PLACES: usize = 12;

/// Of these, places at which each sample is compared.
const CLOSE_PLACES: usize = 2;

/// Samples that are compared at most where each stands for itself, and cells to both sides in which they are laid over
/// each other: where cells fit best is known much nearer.
const MOST_SAMPLES: usize = 800;
const REACH_CELLS: f64 = 0.12;

/// Samples of a cycle that are compared at most with the next.
const CYCLE_SAMPLES: usize = 150;

/// And at least: fewer are laid over each other by what they are moved and stretched.
const LEAST_SAMPLES: usize = 20;

/// Shares of a sample's distance by which they are moved: noise is like itself within one.
const FINE: f64 = 0.25;

/// Cycles that tell at most what each leaves of the next.
const MOST_CYCLES: usize = 8;

/// How much longer or shorter the next cycle may be.
const STRETCH: f64 = 0.12;

/// Halvings, about, of a stretch in which the best place is looked for.
const ROUNDS: usize = 16;

/// Share of the greatest singular value under which a direction is rounding.
const NOTHING_NEW: f64 = 1e-12;

/// Share of the ripple's variance under which what cycles leave of each other is rounding, and tells nothing.
const ROUNDING: f64 = 1e-12;

/// A cranking that goes on steadily.
#[derive(Debug)]
pub(super) struct Steady {
    pub(super) curve: Curve,
    /// Its start and end, seconds.
    pub(super) from: f64,
    pub(super) to: f64,
    /// Length of a cycle, seconds.
    pub(super) cycle: f64,
    pub(super) firings: usize,
}

/// What one leaves of the other, mean square.
#[derive(Debug, Clone, Copy)]
struct Left {
    square: f64,
    /// Units of the slower one for a unit of the quicker.
    gain: f64,
}

/// What the cycles of each leave of the next one, mean square.
#[derive(Debug, Clone, Copy)]
struct OfCycles {
    slow: f64,
    quick: f64,
}

impl OfCycles {
    /// What is left, over what would be left of two cranks.
    fn share(&self, left: Left) -> f64 {
        left.square / (0.5 * (self.slow + left.gain * left.gain * self.quick))
    }
}

/// What two crankings leave of each other, over what their cycles leave of each other; none where they are too short
/// to tell, or tell nothing.
pub(super) fn left_over(one: &Steady, other: &Steady) -> Option<f64> {
    let (slow, quick) = match one.curve.step >= other.curve.step {
        true => (one, other),
        false => (other, one),
    };
    let cells = (CELLS_PER_FIRING * slow.firings).max(LEAST_CELLS);
    let cell = (slow.cycle / cells as f64).max(slow.curve.step);
    let of_cycles = |width: f64| {
        Some(OfCycles {
            slow: slow.of_cycles(width, cell)?,
            quick: quick.of_cycles(width, cell)?,
        })
    };
    let (by_cells, by_samples) = (of_cycles(cell)?, of_cycles(0.0)?);
    let left = |width: f64| move |lag: f64| left_at(slow, quick, lag, (width, cell));
    let mut found: Vec<(f64, f64)> = places(slow, quick, cell)?
        .into_iter()
        .map(|lag| nearest(left(cell), lag, cell))
        .map(|lag| (by_cells.share(left(cell)(lag)), lag))
        .filter(|(share, _)| share.is_finite())
        .collect();
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    let step = FINE * quick.curve.step;
    let reach = (REACH_CELLS * cell / step).ceil().max(8.0) as i64;
    let close = found.iter().take(CLOSE_PLACES).map(|(_, lag)| {
        let steps = (-reach..=reach).map(|steps| lag + steps as f64 * step);
        let each = steps.map(|lag| (left(0.0)(lag).square, lag));
        let (_, best) = each
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .unwrap_or((0.0, *lag));
        by_samples.share(left(0.0)(nearest(left(0.0), best, step)))
    });
    let cells = found.first().map(|(share, _)| *share);
    let all = cells.into_iter().chain(close);
    all.filter(|share| share.is_finite()).min_by(f64::total_cmp)
}

/// By how much the quicker one's time may be ahead of the slower one's, the likeliest first.
fn places(slow: &Steady, quick: &Steady, cell: f64) -> Option<Vec<f64>> {
    let (from_s, s) = slow.cells(slow.cycle, cell)?;
    let (from_q, q) = quick.cells(slow.cycle, cell)?;
    let least = (LEAST_OVERLAP * slow.cycle / cell).ceil() as i64;
    let (first, last) = (least - s.len() as i64, q.len() as i64 - least);
    let unlike: Vec<f64> = (first..=last)
        .map(|ahead| {
            let (skip_s, skip_q) = ((-ahead).max(0) as usize, ahead.max(0) as usize);
            let (mut ss, mut qq, mut sq) = (0.0, 0.0, 0.0);
            for (a, b) in s[skip_s.min(s.len())..]
                .iter()
                .zip(&q[skip_q.min(q.len())..])
            {
                ss += a * a;
                qq += b * b;
                sq += a * b;
            }
            1.0 - sq * sq / (ss * qq).max(f64::MIN_POSITIVE)
        })
        .collect();
    let value = |at: usize| unlike.get(at).copied().unwrap_or(f64::INFINITY);
    let mut found: Vec<usize> = (0..unlike.len())
        .filter(|at| value(*at) <= value(at + 1) && (*at == 0 || value(*at) <= value(at - 1)))
        .collect();
    // between cells it may be far less: by the foot of a parabola
    let foot = |at: usize| {
        let (before, here, after) = (value(at.wrapping_sub(1)), value(at), value(at + 1));
        let lower = (after - before).powi(2) / (8.0 * (before - 2.0 * here + after));
        here - if lower.is_finite() { lower } else { 0.0 }
    };
    found.sort_by(|a, b| foot(*a).total_cmp(&foot(*b)));
    found.truncate(PLACES);
    let lag = |at: usize| from_q - from_s + (first + at as i64) as f64 * cell;
    Some(found.into_iter().map(lag).collect())
}

/// What a line from the quicker one leaves of the slower where its time is so far ahead, by means over that width.
fn left_at(slow: &Steady, quick: &Steady, lag: f64, (width, cell): (f64, f64)) -> Left {
    let (from, to) = (slow.from.max(quick.from - lag), slow.to.min(quick.to - lag));
    if to - from < LEAST_OVERLAP * slow.cycle {
        return Left {
            square: f64::INFINITY,
            gain: 1.0,
        };
    }
    let mut sums = [0.0; 6];
    for at in slow.spots((from, to), width, cell) {
        let (x, y) = (
            quick.curve.mean(at + lag, width),
            slow.curve.mean(at, width),
        );
        let more = [1.0, x, y, x * x, x * y, y * y];
        sums.iter_mut()
            .zip(more)
            .for_each(|(sum, more)| *sum += more);
    }
    let [n, x, y, xx, xy, yy] = sums;
    let (sxx, sxy, syy) = (xx - x * x / n, xy - x * y / n, yy - y * y / n);
    let gain = sxy / sxx.max(f64::MIN_POSITIVE);
    Left {
        square: (syy - gain * sxy).max(0.0) / n,
        gain,
    }
}

/// The place near a place where least is left.
fn nearest(left: impl Fn(f64) -> Left, about: f64, reach: f64) -> f64 {
    let golden = 0.5 * (5f64.sqrt() - 1.0);
    let (mut from, mut to) = (about - reach, about + reach);
    for _ in 0..ROUNDS {
        let (a, b) = (to - golden * (to - from), from + golden * (to - from));
        match left(a).square < left(b).square {
            true => to = b,
            false => from = a,
        }
    }
    0.5 * (from + to)
}

impl Steady {
    /// Where values are compared: at samples where each stands for itself, else at cells.
    fn spots(&self, (from, to): (f64, f64), width: f64, cell: f64) -> Vec<f64> {
        if width > 0.0 {
            let cells = ((to - from) / cell) as usize;
            return (0..cells)
                .map(|at| from + (at as f64 + 0.5) * cell)
                .collect();
        }
        let times = self.curve.times(from, to);
        let every = times.len().div_ceil(MOST_SAMPLES).max(1);
        times.iter().step_by(every).copied().collect()
    }

    /// Means of its cells without the slow part, which is the mean over a cycle about each; and the first one's time.
    fn cells(&self, cycle: f64, cell: f64) -> Option<(f64, Vec<f64>)> {
        let (first, last) = self.curve.ends();
        let from = self.from.max(first + 0.5 * cycle);
        let to = self.to.min(last - 0.5 * cycle);
        if to - from < LEAST_OVERLAP * cycle {
            return None;
        }
        let quick = |at: f64| self.curve.mean(at, cell) - self.curve.mean(at, cycle);
        Some((
            from,
            self.spots((from, to), cell, cell)
                .into_iter()
                .map(quick)
                .collect(),
        ))
    }

    /// What each cycle leaves of the one before it, moved, stretched, scaled and tilted to lie as well as it can: the
    /// middle one of all. Samples stand for themselves where the width is nothing.
    fn of_cycles(&self, width: f64, cell: f64) -> Option<f64> {
        let last = self.to - (1.0 + STRETCH) * self.cycle - 2.0 * cell;
        let starts = (0..MOST_CYCLES).map(|at| self.from + at as f64 * self.cycle);
        let each: Vec<f64> = starts
            .take_while(|from| from + self.cycle <= last + 0.5 * self.cycle)
            .map(|from| from.min(last - self.cycle))
            .filter(|from| *from >= self.from)
            .filter_map(|from| {
                let spots = self.spots((from, from + self.cycle), width, cell);
                let every = spots.len().div_ceil(CYCLE_SAMPLES).max(1);
                let spots: Vec<f64> = spots.into_iter().step_by(every).collect();
                if spots.len() < LEAST_SAMPLES {
                    return None;
                }
                let tries = (STRETCH * self.cycle / cell).ceil() as i64;
                (-tries..=tries)
                    .map(|tried| self.cycle + tried as f64 * cell)
                    .map(|later| self.left_later(&spots, later, (width, cell)))
                    .min_by(f64::total_cmp)
            })
            .collect();
        let typical = (!each.is_empty()).then(|| median(each.into_iter()))?;
        let spots = self.spots((self.from, self.to), width, cell);
        let squares: f64 = spots
            .iter()
            .map(|at| self.curve.mean(*at, width).powi(2))
            .sum();
        (typical > ROUNDING * squares / spots.len() as f64).then_some(typical)
    }

    /// What the trace so much later leaves of it, mean square: as it is, moved, and stretched.
    fn left_later(&self, spots: &[f64], later: f64, (width, cell): (f64, f64)) -> f64 {
        let middle = 0.5 * (spots[0] + spots[spots.len() - 1]);
        let row = |at: &f64| {
            let there = |at: f64| self.curve.mean(at, width.max(cell));
            let slope = 0.5 * (there(at + later + cell) - there(at + later - cell));
            let off = (at - middle) / self.cycle;
            let x = self.curve.mean(at + later, width);
            [1.0, off, x, slope, off * slope]
        };
        let rows: Vec<[f64; 5]> = spots.iter().map(row).collect();
        let values: Vec<f64> = spots.iter().map(|at| self.curve.mean(*at, width)).collect();
        unexplained(&rows, &values)
    }
}

/// Mean square of the values that a sum of the columns of their rows leaves of them, by least squares.
fn unexplained<const N: usize>(rows: &[[f64; N]], values: &[f64]) -> f64 {
    let all = || rows.iter().flatten().chain(values);
    if !all().all(|value| value.is_finite()) {
        return f64::INFINITY; // nothing can be said of it
    }
    let columns = DMatrix::from_row_iterator(rows.len(), N, rows.iter().flatten().copied());
    let values = DVector::from_column_slice(values);
    let parts = columns.svd(true, false);
    let least = NOTHING_NEW * parts.singular_values.max();
    let explained: f64 = parts.u.map_or(0.0, |u| {
        let directions = u.column_iter().zip(&parts.singular_values);
        let of_size = directions.filter(|(_, size)| **size > least);
        of_size.map(|(one, _)| one.dot(&values).powi(2)).sum()
    });
    (values.norm_squared() - explained).max(0.0) / rows.len() as f64
}
