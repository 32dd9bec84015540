//! The engine as the analysis sees it: cylinders, firing order, firing intervals, companions.
//! Where the numbers come from (a plate, a handbook) is the record's business.

pub mod nozzle;
pub mod slider_crank;
pub mod starter_duty;

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Degrees of crank rotation in one four-stroke cycle.
pub const CYCLE_DEG: f64 = 720.0;

/// How far the firing intervals' sum may miss 720° and still count as 720° (rounded entries such as
/// 102.86 for a seventh).
pub const INTERVAL_SUM_TOLERANCE_DEG: f64 = 0.5;

/// How near 360° apart two cylinders must fire to be companions.
pub const COMPANION_TOLERANCE_DEG: f64 = 1.0;

/// Cranking speed where none is told, rpm; makers specify 80 to 250. Common practice of the trade, no source.
pub const USUAL_RPM: f64 = 200.0;

/// Most cylinders that the program deals with.
pub const MOST_CYLINDERS: usize = 12;

/// What a cylinder loses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Loss {
    /// Gas leaks away while the valves are shut: rings, valve, gasket.
    Leak,
    /// Too little gas is trapped: a valve that opens too little or at the wrong time.
    Filling,
}

/// What the engine burns; it decides the default compression ratio.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fuel {
    /// Spark ignition.
    Petrol,
    /// Compression ignition.
    Diesel,
}

impl Fuel {
    /// As procedures, scenarios and options name it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Fuel::Petrol => "petrol",
            Fuel::Diesel => "diesel",
        }
    }
}

/// A four-stroke engine's cylinders in firing order. Built by [`Engine::new`] only, so every value
/// is a valid one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Engine {
    firing_order: Vec<usize>,
    firing_intervals_deg: Vec<f64>,
    fuel: Option<Fuel>,
}

/// What is wrong with an engine's description.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum EngineError {
    /// Number of cylinders outside 1 to 12.
    #[error("{0} cylinders: this program deals with 1 to {MOST_CYLINDERS}")]
    Cylinders(usize),
    /// The order has another length than the number of cylinders.
    #[error(
        "the firing order has {found} of {expected} cylinders; write all of them, as in 1-3-4-2"
    )]
    OrderLength {
        /// Cylinders of the engine.
        expected: usize,
        /// Entries of the order.
        found: usize,
    },
    /// Not every cylinder exactly once.
    #[error(
        "the firing order must name each cylinder from 1 to {cylinders} exactly once; cylinder {cylinder} {problem}"
    )]
    OrderNotPermutation {
        /// Cylinders of the engine.
        cylinders: usize,
        /// The offending number.
        cylinder: usize,
        /// "is missing", "stands twice" or "does not exist".
        problem: &'static str,
    },
    /// Another number of intervals than cylinders.
    #[error(
        "firing intervals: {found} for {expected} cylinders; give one per cylinder, from each firing to the next, or write even where all are alike"
    )]
    IntervalCount {
        /// Cylinders of the engine.
        expected: usize,
        /// Intervals given.
        found: usize,
    },
    /// An interval that is not a positive number.
    #[error("firing interval {0} is not a positive number of degrees")]
    IntervalValue(f64),
    /// The intervals do not make one cycle.
    #[error("the firing intervals sum to {0}°, one four-stroke cycle has 720°")]
    IntervalSum(f64),
}

impl Engine {
    /// An engine with the given firing order (cylinder numbers from 1, in the order in which they
    /// fire) and the intervals in degrees from each firing to the next (even where none are given).
    ///
    /// # Errors
    /// Where the order is no permutation of 1…N or the intervals do not make 720°.
    pub fn new(
        cylinders: usize,
        firing_order: &[usize],
        firing_intervals_deg: Option<&[f64]>,
        fuel: Option<Fuel>,
    ) -> Result<Self, EngineError> {
        if !(1..=MOST_CYLINDERS).contains(&cylinders) {
            return Err(EngineError::Cylinders(cylinders));
        }
        check_order(cylinders, firing_order)?;
        let even = vec![CYCLE_DEG / cylinders as f64; cylinders];
        let intervals = firing_intervals_deg.unwrap_or(&even);
        check_intervals(cylinders, intervals)?;
        let sum: f64 = intervals.iter().sum();
        Ok(Self {
            firing_order: firing_order.to_vec(),
            firing_intervals_deg: intervals.iter().map(|d| d * CYCLE_DEG / sum).collect(),
            fuel,
        })
    }

    /// Number of cylinders.
    #[must_use]
    pub fn cylinders(&self) -> usize {
        self.firing_order.len()
    }

    /// Cylinder numbers in the order in which they fire.
    #[must_use]
    pub fn firing_order(&self) -> &[usize] {
        &self.firing_order
    }

    /// Degrees from each firing to the next, in firing order; they sum to 720 exactly.
    #[must_use]
    pub fn firing_intervals_deg(&self) -> &[f64] {
        &self.firing_intervals_deg
    }

    /// What it burns, where that was said.
    #[must_use]
    pub fn fuel(&self) -> Option<Fuel> {
        self.fuel
    }

    /// Angle of each firing top dead centre in degrees, in firing order, the first at 0.
    #[must_use]
    pub fn firing_angles_deg(&self) -> Vec<f64> {
        let mut angle = 0.0;
        self.firing_intervals_deg
            .iter()
            .map(|interval| {
                let here = angle;
                angle += interval;
                here
            })
            .collect()
    }

    /// How often the pattern of intervals repeats within a cycle: as often as there are cylinders if they are
    /// even.
    #[must_use]
    pub fn pattern_repeats(&self) -> usize {
        let intervals = &self.firing_intervals_deg;
        let count = intervals.len();
        let same = |shift: usize| {
            (0..count).all(|k| {
                (intervals[k] - intervals[(k + shift) % count]).abs() < INTERVAL_SUM_TOLERANCE_DEG
            })
        };
        (1..=count)
            .filter(|shift| count.is_multiple_of(*shift))
            .find(|shift| same(*shift))
            .map_or(1, |shift| count / shift)
    }

    /// Place of a cylinder in the firing order, from 0.
    #[must_use]
    pub fn place_of(&self, cylinder: usize) -> Option<usize> {
        self.firing_order.iter().position(|c| *c == cylinder)
    }

    /// The cylinder that fires 360° away from the given one, within `tolerance_deg`.
    #[must_use]
    pub fn companion(&self, cylinder: usize, tolerance_deg: f64) -> Option<usize> {
        let angles = self.firing_angles_deg();
        let own = angles[self.place_of(cylinder)?];
        let wanted = (own + CYCLE_DEG / 2.0) % CYCLE_DEG;
        let away = |angle: f64| {
            let apart = (angle - wanted).abs();
            apart.min(CYCLE_DEG - apart)
        };
        let place = angles.iter().position(|a| away(*a) <= tolerance_deg)?;
        Some(self.firing_order[place])
    }
}

fn check_order(cylinders: usize, order: &[usize]) -> Result<(), EngineError> {
    if order.len() != cylinders {
        return Err(EngineError::OrderLength {
            expected: cylinders,
            found: order.len(),
        });
    }
    let wrong = |cylinder, problem| {
        Err(EngineError::OrderNotPermutation {
            cylinders,
            cylinder,
            problem,
        })
    };
    for (at, cylinder) in order.iter().enumerate() {
        if !(1..=cylinders).contains(cylinder) {
            return wrong(*cylinder, "does not exist");
        }
        if order[..at].contains(cylinder) {
            return wrong(*cylinder, "stands twice");
        }
    }
    Ok(())
}

fn check_intervals(cylinders: usize, intervals: &[f64]) -> Result<(), EngineError> {
    if intervals.len() != cylinders {
        return Err(EngineError::IntervalCount {
            expected: cylinders,
            found: intervals.len(),
        });
    }
    if let Some(bad) = intervals.iter().find(|d| !(d.is_finite() && **d > 0.0)) {
        return Err(EngineError::IntervalValue(*bad));
    }
    let sum: f64 = intervals.iter().sum();
    if (sum - CYCLE_DEG).abs() > INTERVAL_SUM_TOLERANCE_DEG {
        return Err(EngineError::IntervalSum(sum));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Firing geometry: intervals and orders as published, from memory (I3 240, I4 180, I5 144,
    /// I6/V6 120, V8 90); the companion stands half the order away.
    #[test]
    fn companions_of_common_layouts() {
        let four = Engine::new(4, &[1, 3, 4, 2], None, None).unwrap();
        assert_eq!(four.firing_intervals_deg(), &[180.0; 4]);
        assert_eq!(four.companion(1, 1.0), Some(4));
        assert_eq!(four.companion(3, 1.0), Some(2));
        let eight = Engine::new(8, &[1, 8, 4, 3, 6, 5, 7, 2], None, None).unwrap();
        assert_eq!(eight.companion(1, 1.0), Some(6));
        let five = Engine::new(5, &[1, 2, 4, 5, 3], None, None).unwrap();
        assert_eq!(five.companion(1, 1.0), None);
        let odd = [90.0, 150.0, 90.0, 150.0, 90.0, 150.0];
        let odd_six = Engine::new(6, &[1, 6, 5, 4, 3, 2], Some(&odd), None).unwrap();
        assert_eq!(odd_six.companion(1, 1.0), None);
    }

    #[test]
    fn impossible_engines_are_refused_with_the_reason() {
        let text = |r: Result<Engine, EngineError>| r.unwrap_err().to_string();
        assert!(text(Engine::new(4, &[1, 3, 4, 4], None, None)).contains("stands twice"));
        assert!(text(Engine::new(4, &[1, 3, 4, 9], None, None)).contains("does not exist"));
        assert!(text(Engine::new(4, &[1, 3, 4], None, None)).contains("has 3 of 4 cylinders"));
        assert!(text(Engine::new(13, &[], None, None)).contains("1 to 12"));
        let sum = Engine::new(2, &[1, 2], Some(&[360.0, 350.0]), None);
        assert!(text(sum).contains("sum to 710°"));
    }
}
