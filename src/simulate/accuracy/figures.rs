//! Figures over many judged engines: every one that the accuracy report prints.

use std::collections::BTreeMap;

use super::{Cylinder, Judged};
use crate::cranking::answer::Finding;

/// Below this truth the weakest cylinder must be found, percent, if the next is this much above, points.
const WEAK: f64 = 85.0;
const CLEARLY: f64 = 5.0;

/// A cylinder below this called even, or above that called low, is a wrong finding, percent.
const SURELY_LOW: f64 = 80.0;
const SURELY_EVEN: f64 = 92.0;

/// Figures over many engines.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Figures {
    /// Engines.
    pub engines: usize,
    /// Of these, captures on which no check failed; the other figures are over them.
    pub passed: usize,
    /// Weakest cylinder estimated lowest, of those in which one is clearly weakest.
    pub weakest: (usize, usize),
    /// The same by hump reading.
    pub weakest_by_humps: (usize, usize),
    /// Captures with a wrong finding.
    pub wrong: usize,
    /// The same by hump reading, against the limit without an interval.
    pub wrong_by_humps: usize,
    /// Cylinders under 75 % called low, of all such.
    pub called_low: (usize, usize),
    /// Cylinders over 95 % called even, of all such.
    pub called_even: (usize, usize),
    /// Error, points: root mean square and 95th percentile.
    pub error: (f64, f64),
    /// The same by hump reading.
    pub error_by_humps: (f64, f64),
    /// Truths inside the 95 % interval, of all.
    pub covered: (usize, usize),
    /// Mean width of the interval, points.
    pub width: f64,
    /// By true percentage (lower end of a band): undecided, of all.
    pub undecided: BTreeMap<u32, (usize, usize)>,
}

/// Lower ends of the bands of true percentage.
const BANDS: [u32; 6] = [0, 60, 75, 80, 90, 95];

/// Sum up.
#[must_use]
pub fn figures<'a>(judged: impl Iterator<Item = &'a Judged>) -> Figures {
    let mut figures = Figures::default();
    let mut errors = Vec::new();
    let mut hump_errors = Vec::new();
    for engine in judged {
        figures.engines += 1;
        if !engine.passed() {
            continue;
        }
        figures.passed += 1;
        add_engine(&mut figures, engine);
        for cylinder in &engine.cylinders {
            errors.push((cylinder.estimate - cylinder.truth).abs());
            hump_errors.push((cylinder.hump - cylinder.truth).abs());
        }
    }
    figures.error = spread(&mut errors);
    figures.error_by_humps = spread(&mut hump_errors);
    figures.width /= errors.len().max(1) as f64;
    figures
}

fn add_engine(figures: &mut Figures, engine: &Judged) {
    let all = &engine.cylinders;
    if let Some(weakest) = clearly_weakest(all) {
        let lowest = |value: &dyn Fn(&Cylinder) -> f64| {
            (0..all.len()).min_by(|a, b| value(&all[*a]).total_cmp(&value(&all[*b])))
        };
        count(
            &mut figures.weakest,
            lowest(&|c| c.estimate) == Some(weakest),
        );
        count(
            &mut figures.weakest_by_humps,
            lowest(&|c| c.hump) == Some(weakest),
        );
    }
    let wrong = |c: &Cylinder, low: bool, even: bool| {
        (c.truth < SURELY_LOW && even) || (c.truth > SURELY_EVEN && low)
    };
    let by_fit = |c: &Cylinder| wrong(c, c.finding == Finding::Low, c.finding == Finding::Even);
    let by_hump = |c: &Cylinder| wrong(c, c.hump < WEAK, c.hump >= WEAK);
    figures.wrong += usize::from(all.iter().any(by_fit));
    figures.wrong_by_humps += usize::from(all.iter().any(by_hump));
    for cylinder in all {
        if cylinder.truth < 75.0 {
            count(&mut figures.called_low, cylinder.finding == Finding::Low);
        }
        if cylinder.truth > 95.0 {
            count(&mut figures.called_even, cylinder.finding == Finding::Even);
        }
        count(
            &mut figures.covered,
            (cylinder.low..=cylinder.high).contains(&cylinder.truth),
        );
        figures.width += cylinder.high - cylinder.low;
        let band = BANDS
            .into_iter()
            .rev()
            .find(|band| cylinder.truth >= f64::from(*band));
        let undecided = figures.undecided.entry(band.unwrap_or(0)).or_default();
        count(undecided, cylinder.finding == Finding::Uncertain);
    }
}

/// Place of the weakest cylinder where it is below the limit and the next clearly above it.
fn clearly_weakest(all: &[Cylinder]) -> Option<usize> {
    let mut order: Vec<usize> = (0..all.len()).collect();
    order.sort_by(|a, b| all[*a].truth.total_cmp(&all[*b].truth));
    let (first, next) = (*order.first()?, *order.get(1)?);
    let clear = all[first].truth < WEAK && all[next].truth - all[first].truth >= CLEARLY;
    clear.then_some(first)
}

fn count(tally: &mut (usize, usize), hit: bool) {
    tally.0 += usize::from(hit);
    tally.1 += 1;
}

/// Root mean square and 95th percentile.
fn spread(errors: &mut [f64]) -> (f64, f64) {
    if errors.is_empty() {
        return (0.0, 0.0);
    }
    errors.sort_by(f64::total_cmp);
    let square = errors.iter().map(|error| error * error).sum::<f64>() / errors.len() as f64;
    (
        square.sqrt(),
        errors[(errors.len() * 95 / 100).min(errors.len() - 1)],
    )
}
