//! Which signal to take, and how to set the scope for it: computed from the engine, the expected speed and
//! the instruments at hand, each number with its reason. Captures are judged in `cranking`; this is before
//! there is one.

pub mod facts;
pub mod range;
pub mod signals;
pub mod swing;
pub mod timing;

use crate::engine::Engine;
use crate::engine::starter_duty::StarterDuty;
use signals::Judged;
use swing::Expected;
use timing::Timing;

/// Voltage of the starting system.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum System {
    /// One battery of 12 V.
    TwelveVolts,
    /// 24 V.
    TwentyFourVolts,
}

/// What ties the scope to anything but its leads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Grounds {
    /// Each input is isolated from the others and from earth.
    pub isolated: bool,
    /// Scope or laptop hang on the mains, a charger, or a diagnostic cable in the vehicle.
    pub tied: bool,
    /// The leads at the posts are meant to be exchanged, to turn the trace upside down.
    pub exchanged: bool,
}

/// A current clamp.
#[derive(Debug, Clone, PartialEq)]
pub struct ClampAtHand {
    /// Its name in the shop's list; none where it was described otherwise.
    pub name: Option<String>,
    /// Its output for one ampere, mV.
    pub mv_per_ampere: f64,
    /// Greatest current that it shows, A.
    pub range_a: f64,
    /// Widest cable that its jaws close around, mm; none where not known.
    pub jaw_mm: Option<f64>,
}

/// A scope.
#[derive(Debug, Clone, PartialEq)]
pub struct Scope {
    /// Bits of its converter.
    pub bits: u32,
    /// Positive ends of its ± ranges, V, ascending.
    pub ranges_v: Vec<f64>,
    /// How it is grounded.
    pub grounds: Grounds,
}

impl Default for Scope {
    /// Twelve bits, ranges in steps of 1, 2 and 5, on battery.
    fn default() -> Self {
        Scope {
            bits: 12,
            ranges_v: vec![
                0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0,
            ],
            grounds: Grounds::default(),
        }
    }
}

/// What is advised on.
#[derive(Debug, Clone, PartialEq)]
pub struct Given {
    /// The engine.
    pub engine: Engine,
    /// Expected cranking speed, rpm.
    pub rpm: f64,
    /// Voltage of the starting system.
    pub system: System,
    /// The shop's limit for starters.
    pub duty: StarterDuty,
    /// The scope.
    pub scope: Scope,
    /// The clamp, where there is one.
    pub clamp: Option<ClampAtHand>,
    /// Outer diameter of the starter's cable, mm.
    pub cable_mm: Option<f64>,
    /// Positions of the crank wheel.
    pub wheel_positions: Option<u32>,
}

/// What is advised.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// What the engine lets expect.
    pub expected: Expected,
    /// Time.
    pub timing: Timing,
    /// Every signal, best first.
    pub signals: Vec<Judged>,
}

/// The advice.
#[must_use]
pub fn advise(given: &Given) -> Advice {
    let expected = swing::expected(given);
    let timing = timing::timing(given);
    Advice {
        signals: signals::ranked(given, &expected),
        expected,
        timing,
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::engine::Fuel;

    pub(crate) fn given(order: &str, fuel: Fuel, rpm: f64) -> Given {
        let order: Vec<usize> = order.split('-').map(|n| n.parse().unwrap()).collect();
        Given {
            engine: Engine::new(order.len(), &order, None, Some(fuel)).unwrap(),
            rpm,
            system: System::TwelveVolts,
            duty: StarterDuty::default(),
            scope: Scope::default(),
            clamp: None,
            cable_mm: None,
            wheel_positions: None,
        }
    }
}
