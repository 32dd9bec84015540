//! Layouts that are drawn: firing orders and, where they are uneven, firing intervals (common practice, from
//! memory).

use rand::{Rng, RngExt};

use crate::engine::{Engine, Fuel};

/// A firing order, the intervals where they are uneven, and how often it is drawn.
type Layout = (&'static [usize], &'static [f64], u32);

const LAYOUTS: [Layout; 20] = [
    (&[1, 2], &[], 2),
    (&[1, 2], &[180.0, 540.0], 1),
    (&[1, 3, 2], &[], 8),
    (&[1, 3, 4, 2], &[], 16),
    (&[1, 2, 4, 3], &[], 6),
    (&[1, 3, 2, 4], &[], 3),
    (&[1, 2, 4, 5, 3], &[], 7),
    (&[1, 5, 3, 6, 2, 4], &[], 8),
    (&[1, 2, 3, 4, 5, 6], &[], 7),
    (&[1, 4, 2, 5, 3, 6], &[], 7),
    (
        &[1, 6, 5, 4, 3, 2],
        &[90.0, 150.0, 90.0, 150.0, 90.0, 150.0],
        5,
    ),
    (
        &[1, 6, 5, 4, 3, 2],
        &[108.0, 132.0, 108.0, 132.0, 108.0, 132.0],
        3,
    ),
    (&[1, 8, 4, 3, 6, 5, 7, 2], &[], 8),
    (&[1, 3, 7, 2, 6, 5, 4, 8], &[], 7),
    (&[1, 5, 4, 2, 6, 3, 7, 8], &[], 6),
    (&[1, 10, 9, 4, 3, 6, 5, 8, 7, 2], &[], 2),
    (
        &[1, 6, 5, 10, 2, 7, 3, 8, 4, 9],
        &[90.0, 54.0, 90.0, 54.0, 90.0, 54.0, 90.0, 54.0, 90.0, 54.0],
        2,
    ),
    (&[1, 7, 5, 11, 3, 9, 6, 12, 2, 8, 4, 10], &[], 2),
    (&[1, 12, 5, 8, 3, 10, 6, 7, 2, 11, 4, 9], &[], 1),
    (&[1, 2, 3], &[180.0, 180.0, 360.0], 1),
];

/// Layouts by the name that an option writes: order, and intervals where they are uneven.
const NAMED: [(&str, &[usize], &[f64]); 13] = [
    ("single", &[1], &[]),
    ("twin", &[1, 2], &[]),
    ("i3", &[1, 3, 2], &[]),
    ("i4", &[1, 3, 4, 2], &[]),
    ("flat4", &[1, 3, 2, 4], &[]),
    ("i5", &[1, 2, 4, 5, 3], &[]),
    ("i6", &[1, 5, 3, 6, 2, 4], &[]),
    ("v6", &[1, 2, 3, 4, 5, 6], &[]),
    (
        "v6-odd",
        &[1, 6, 5, 4, 3, 2],
        &[90.0, 150.0, 90.0, 150.0, 90.0, 150.0],
    ),
    ("v8", &[1, 8, 4, 3, 6, 5, 7, 2], &[]),
    ("v10", &[1, 10, 9, 4, 3, 6, 5, 8, 7, 2], &[]),
    (
        "v10-odd",
        &[1, 6, 5, 10, 2, 7, 3, 8, 4, 9],
        &[90.0, 54.0, 90.0, 54.0, 90.0, 54.0, 90.0, 54.0, 90.0, 54.0],
    ),
    ("v12", &[1, 7, 5, 11, 3, 9, 6, 12, 2, 8, 4, 10], &[]),
];

/// Names of layouts.
pub fn names() -> impl Iterator<Item = &'static str> {
    NAMED.iter().map(|(name, _, _)| *name)
}

/// The layout of a name.
#[must_use]
pub fn named(name: &str, fuel: Fuel) -> Option<Engine> {
    let (_, order, intervals) = NAMED.iter().find(|(known, _, _)| *known == name)?;
    let intervals = (!intervals.is_empty()).then_some(*intervals);
    Engine::new(order.len(), order, intervals, Some(fuel)).ok()
}

/// Share of diesels.
const DIESELS: f64 = 0.3;

/// One of them.
pub fn layout(random: &mut impl Rng) -> Engine {
    let all: u32 = LAYOUTS.iter().map(|(_, _, weight)| weight).sum();
    let mut place = random.random_range(0..all);
    let (order, intervals, _) = LAYOUTS
        .into_iter()
        .find(|(_, _, weight)| {
            let here = place < *weight;
            place = place.saturating_sub(*weight);
            here
        })
        .unwrap_or(LAYOUTS[0]);
    let fuel = if random.random_bool(DIESELS) {
        Fuel::Diesel
    } else {
        Fuel::Petrol
    };
    let intervals = (!intervals.is_empty()).then_some(intervals);
    Engine::new(order.len(), order, intervals, Some(fuel)).expect("the layouts above are sound")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_layout_is_an_engine() {
        for (order, intervals, _) in LAYOUTS {
            let intervals = (!intervals.is_empty()).then_some(intervals);
            Engine::new(order.len(), order, intervals, None).unwrap();
        }
        for name in names() {
            assert!(named(name, Fuel::Petrol).is_some(), "{name}");
        }
    }
}
