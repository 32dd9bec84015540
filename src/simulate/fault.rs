//! What is wrong with an engine: leaks and poor filling sized so that a cylinder keeps a wanted share of
//! a sound one's peak pressure.

use rand::{Rng, RngExt};

use super::draw::{Wish, sound, within};
use super::gas::Gas;
use super::plan::{Condition, CylinderPlan};
use crate::engine::{Engine, Loss};

/// Each cylinder's condition in firing order: sound but for the wanted losses (place, percent kept), or
/// for drawn ones.
pub fn conditions(
    random: &mut impl Rng,
    engine: &Engine,
    cylinder: &CylinderPlan,
    rpm: f64,
    wish: &Wish,
) -> Vec<Condition> {
    let mut all: Vec<Condition> = (0..engine.cylinders())
        .map(|_| sound(random, cylinder))
        .collect();
    let wanted = wish.losses.as_deref();
    let drawn = wanted.map_or_else(|| draw_losses(random, engine.cylinders()), <[_]>::to_vec);
    for (place, percent) in drawn {
        let loss = if wanted.is_none() && random.random_bool(0.3) {
            Loss::Filling
        } else {
            Loss::Leak
        };
        let loss = wish.loss.unwrap_or(loss);
        all[place] = weakened(all[place], cylinder, rpm, percent / 100.0, loss);
    }
    if let Some((place, ratio)) = wish.raised {
        all[place].ratio *= ratio;
    }
    all
}

/// None in a quarter of engines, else one to three weak cylinders anywhere, often neighbours in firing
/// order; each keeps 30 to 97 %.
fn draw_losses(random: &mut impl Rng, cylinders: usize) -> Vec<(usize, f64)> {
    if random.random_bool(0.25) || cylinders == 1 {
        return Vec::new();
    }
    let first = random.random_range(0..cylinders);
    let mut places = vec![first];
    if random.random_bool(0.3) {
        places.push((first + 1) % cylinders);
    }
    if random.random_bool(0.12) && cylinders > 3 {
        places.push((first + cylinders / 2) % cylinders);
    }
    places.dedup();
    places
        .into_iter()
        .map(|place| (place, within(random, 30.0, 97.0)))
        .collect()
}

/// Peak gauge pressure of a cylinder turned at a steady speed, over the atmosphere's.
fn steady_peak(cylinder: &CylinderPlan, condition: Condition, rpm: f64) -> f64 {
    let mut gas = Gas::new(cylinder, condition);
    let step_s = 5e-4;
    let step = rpm * 6.0 * step_s;
    let mut angle = -360.0;
    while angle < 200.0 {
        gas.advance(angle, step, step_s, 0.0, 1.0, false);
        angle += step;
    }
    gas.peaks
        .first()
        .map_or(0.0, |(_, peak)| peak / cylinder.atmosphere_pa)
}

/// The condition that keeps `share` of the sound one's peak, found by bisection.
#[must_use]
pub fn weakened(
    sound: Condition,
    cylinder: &CylinderPlan,
    rpm: f64,
    share: f64,
    loss: Loss,
) -> Condition {
    let wanted = steady_peak(cylinder, sound, rpm) * share;
    let with = |amount: f64| match loss {
        Loss::Leak => Condition {
            leak_m2: sound.leak_m2 + amount * 0.2 * cylinder.displaced_m3,
            ..sound
        },
        Loss::Filling => Condition {
            charge: sound.charge * (1.0 - amount),
            ..sound
        },
    };
    let (mut low, mut high) = (0.0f64, 1.0f64);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if steady_peak(cylinder, with(middle), rpm) > wanted {
            low = middle;
        } else {
            high = middle;
        }
    }
    with(0.5 * (low + high))
}
