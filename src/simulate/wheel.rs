//! A toothed wheel on the crank and its sensor.

use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use super::draw::within;
use super::drive::{Motion, STEP_S};
use super::plan::{Plan, WheelPlan};

/// Volts of the sensor's high level.
const HIGH_V: f64 = 5.0;

/// Degrees from the edge that carries a tooth back to the other edge, share of a position.
const OTHER_EDGE: f64 = 0.45;

/// Fewest and most positions of a wheel (flywheel ring gears have the most).
const FEWEST: usize = 4;
const MOST: usize = 360;

/// Wheels that are drawn: positions, gaps (common practice, from memory).
const WHEELS: [(usize, &[(usize, usize)]); 6] = [
    (24, &[]),
    (36, &[(0, 1)]),
    (36, &[(0, 2), (15, 2), (18, 2)]),
    (60, &[(0, 2)]),
    (60, &[(0, 2)]),
    (60, &[(0, 2), (30, 2)]),
];

/// Positions and gaps of a wheel by its name, as a set-up file writes it: those of the wheels that are drawn,
/// else the gaps spread evenly. None where that is no wheel.
#[must_use]
pub fn named(name: &str) -> Option<(usize, Vec<(usize, usize)>)> {
    let mut numbers = name.split('-').map(|part| part.parse::<usize>().ok());
    let positions = numbers.next()??;
    let missing: Vec<usize> = numbers.collect::<Option<_>>()?;
    let drawn = WHEELS.into_iter().find(|(known, gaps)| {
        *known == positions && gaps.iter().map(|gap| gap.1).eq(missing.iter().copied())
    });
    if let Some((positions, gaps)) = drawn {
        return Some((positions, gaps.to_vec()));
    }
    let room = positions / missing.len().max(1);
    let sound = (FEWEST..=MOST).contains(&positions)
        && missing
            .iter()
            .all(|missing| (1..room / 2).contains(missing));
    let gaps = missing.iter().enumerate();
    sound.then(|| {
        (
            positions,
            gaps.map(|(gap, missing)| (gap * room, *missing)).collect(),
        )
    })
}

/// A wheel, drawn but for what is wanted.
pub fn draw(random: &mut impl Rng, wanted: Option<&(usize, Vec<(usize, usize)>)>) -> WheelPlan {
    let (positions, gaps) = WHEELS[random.random_range(0..WHEELS.len())];
    let (positions, gaps) = wanted
        .cloned()
        .unwrap_or_else(|| (positions, gaps.to_vec()));
    WheelPlan {
        positions,
        gaps,
        error_deg: within(random, 0.005, 0.05),
        before_tdc_deg: within(random, 20.0, 140.0).round(),
        told: random.random_bool(0.7),
        by_change: random.random_bool(0.5),
    }
}

impl WheelPlan {
    /// As a set-up file writes it: positions, then teeth missing at each gap.
    #[must_use]
    pub fn name(&self) -> String {
        let missing = self.gaps.iter().map(|(_, missing)| format!("-{missing}"));
        format!("{}{}", self.positions, missing.collect::<String>())
    }

    fn is_missing(&self, position: usize) -> bool {
        self.gaps
            .iter()
            .any(|(at, missing)| (*at..at + missing).contains(&position))
    }
}

/// Changes of the sensor's level: time and level after it. It falls at each tooth.
#[must_use]
pub fn changes(plan: &Plan, motion: &Motion) -> Vec<(f64, f64)> {
    let wheel = &plan.recording.wheel;
    let mut random = ChaCha8Rng::seed_from_u64(plan.seed ^ 0x0074_6565_7468);
    let errors: Vec<f64> = (0..wheel.positions)
        .map(|_| StandardNormal.sample(&mut random))
        .map(|error: f64| wheel.error_deg * error)
        .collect();
    let step = 360.0 / wheel.positions as f64;
    let before_gap = -wheel.before_tdc_deg;
    let (first, last) = (motion.angle[0], motion.angle[motion.angle.len() - 1]);
    let from = ((first - before_gap) / step).floor() as i64;
    let to = ((last - before_gap) / step).ceil() as i64;
    let mut found = Vec::new();
    for place in from..=to {
        // place 0 is the last tooth before gap 1, which begins at position 0
        let position = (place - 1).rem_euclid(wheel.positions as i64) as usize;
        if wheel.is_missing(position) {
            continue;
        }
        let angle = before_gap + place as f64 * step + errors[position];
        for (at, level) in [(angle - OTHER_EDGE * step, HIGH_V), (angle, 0.0)] {
            if at > first && at < last {
                found.push((time_of(motion, at), level));
            }
        }
    }
    found
}

/// When the crank passes an angle, seconds.
fn time_of(motion: &Motion, angle: f64) -> f64 {
    let index = motion.angle.partition_point(|a| *a < angle).max(1);
    let (a, b) = (motion.angle[index - 1], motion.angle[index]);
    let share = if b > a { (angle - a) / (b - a) } else { 0.0 };
    (index as f64 - 1.0 + share) * STEP_S
}

/// The sensor's level at times in rising order, slanted edges between levels as a line's capacitance makes
/// them.
#[must_use]
pub fn sampled(changes: &[(f64, f64)], time: &[f64], slant_s: f64) -> Vec<f64> {
    let mut next = 0;
    time.iter()
        .map(|at| {
            while next < changes.len() && changes[next].0 <= *at {
                next += 1;
            }
            let Some((since, level)) = next.checked_sub(1).map(|index| changes[index]) else {
                return HIGH_V;
            };
            let before = if level > 0.0 { 0.0 } else { HIGH_V };
            // centred on the change, so that the middle of the range is passed when it happens
            let share = ((at - since) / slant_s + 0.5).clamp(0.0, 1.0);
            let ahead = changes.get(next).map_or(0.0, |(when, _)| {
                ((at - when) / slant_s + 0.5).clamp(0.0, 1.0)
            });
            let here = before + (level - before) * share;
            here + (before - level) * ahead
        })
        .collect()
}
