//! What a cranked engine lets expect: mean current, the swing between compressions, and what both make of
//! the battery's voltage. Reckoned for a usual engine; engines differ by about twofold either way.

use std::f64::consts::PI;

use super::{Given, System};
use crate::engine::slider_crank::SliderCrank;
use crate::engine::{CYCLE_DEG, Fuel};

/// A usual engine and starter. All from memory, no source; on 50 practice engines of five layouts the
/// reckoned swing lay within twofold of the simulated one (see the test).
mod usual {
    /// Displacement of one cylinder times atmospheric pressure, N·m: 0.45 litre.
    pub const CYLINDER_NM: f64 = 45.0;
    /// Rod length over crank radius.
    pub const ROD_RATIO: f64 = 3.5;
    /// Compression ratio and exponent, petrol and diesel.
    pub const PETROL: (f64, f64) = (10.0, 1.3);
    pub const DIESEL: (f64, f64) = (18.0, 1.35);
    /// Exhaust valve's opening, degrees after firing.
    pub const EXHAUST_OPENS_DEG: f64 = 140.0;
    /// Friction and pumping at the crank, N·m: of the engine, and of each cylinder.
    pub const FRICTION_NM: (f64, f64) = (10.0, 8.0);
    /// How much more a diesel resists.
    pub const DIESEL_FRICTION: f64 = 1.6;
    /// Torque at the crank per ampere of a 12 V starter, N·m/A.
    pub const STARTER_NM_PER_A: f64 = 0.4;
    /// Electromechanical time constant, s.
    pub const TIME_CONSTANT_S: f64 = 0.14;
    /// Resistance of a 12 V battery between its posts, ohm.
    pub const BATTERY_OHM: f64 = 0.010;
    /// Inrush over mean current.
    pub const INRUSH: f64 = 4.0;
}

/// Swings differ between engines of one layout by this factor, either way.
pub const SPREAD: f64 = 2.0;

/// Harmonics of the cycle that are taken: what lies beyond, the starter's inertia swallows.
const HARMONICS: usize = 48;

/// Steps of the cycle that is reckoned.
const STEPS: usize = 720;

/// What is expected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// Mean cranking current, A.
    pub mean_a: f64,
    /// Inrush when the starter engages, A.
    pub inrush_a: f64,
    /// Swing of the current from foot to top, A.
    pub swing_a: f64,
    /// Drop of the battery's voltage under the mean current, V.
    pub drop_v: f64,
    /// Swing of the voltage at the posts, V.
    pub swing_v: f64,
}

/// What that engine lets expect.
#[must_use]
pub fn expected(given: &Given) -> Expected {
    let diesel = given.engine.fuel() == Some(Fuel::Diesel);
    // the same power at twice the voltage is half the current, and two batteries in a row
    let volts = match given.system {
        System::TwelveVolts => 1.0,
        System::TwentyFourVolts => 2.0,
    };
    let constant = usual::STARTER_NM_PER_A * volts;
    let ohm = usual::BATTERY_OHM * volts;
    let (own, each) = usual::FRICTION_NM;
    let friction = (own + each * given.engine.cylinders() as f64)
        * if diesel { usual::DIESEL_FRICTION } else { 1.0 };
    let mean_a = friction / constant;
    let swing_a = torque_swing(given) * usual::CYLINDER_NM / constant;
    Expected {
        mean_a,
        inrush_a: usual::INRUSH * mean_a,
        swing_a,
        drop_v: mean_a * ohm,
        swing_v: swing_a * ohm,
    }
}

/// Swing of the summed gas torque behind the starter's inertia, in units of one cylinder's displacement
/// times atmospheric pressure.
fn torque_swing(given: &Given) -> f64 {
    let angles = given.engine.firing_angles_deg();
    let pulse = Pulse::of(given.engine.fuel() == Some(Fuel::Diesel));
    let degrees = |step: usize| step as f64 * CYCLE_DEG / STEPS as f64;
    let torque: Vec<f64> = (0..STEPS)
        .map(|step| angles.iter().map(|at| pulse.at(degrees(step) - at)).sum())
        .collect();
    let cycle_hz = given.rpm / 120.0;
    let mut smoothed = vec![0.0; STEPS];
    for harmonic in 1..=HARMONICS {
        let phase = |step: usize| 2.0 * PI * (harmonic * step) as f64 / STEPS as f64;
        let part = |wave: fn(f64) -> f64| -> f64 {
            let sum: f64 = torque
                .iter()
                .enumerate()
                .map(|(step, t)| t * wave(phase(step)))
                .sum();
            2.0 * sum / STEPS as f64
        };
        let (cos, sin) = (part(f64::cos), part(f64::sin));
        let lag = 2.0 * PI * cycle_hz * harmonic as f64 * usual::TIME_CONSTANT_S;
        let less = 1.0 / (1.0 + lag * lag);
        for (step, value) in smoothed.iter_mut().enumerate() {
            let (s, c) = phase(step).sin_cos();
            *value += less * ((cos - lag * sin) * c + (sin + lag * cos) * s);
        }
    }
    let least = smoothed.iter().copied().fold(f64::INFINITY, f64::min);
    let most = smoothed.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    most - least
}

/// Torque of one sealed cylinder about its firing top dead centre, positive where it brakes.
struct Pulse {
    crank: SliderCrank,
    exponent: f64,
    full: f64,
}

impl Pulse {
    fn of(diesel: bool) -> Self {
        let (compression_ratio, exponent) = if diesel { usual::DIESEL } else { usual::PETROL };
        let crank = SliderCrank {
            compression_ratio,
            rod_ratio: usual::ROD_RATIO,
        };
        Pulse {
            full: crank.volume(PI),
            crank,
            exponent,
        }
    }

    /// (p − p1)·dV/dθ over p1·V_d; nothing while a valve is open.
    fn at(&self, degrees: f64) -> f64 {
        let angle = (degrees + CYCLE_DEG / 2.0).rem_euclid(CYCLE_DEG) - CYCLE_DEG / 2.0;
        if !(-180.0..=usual::EXHAUST_OPENS_DEG).contains(&angle) {
            return 0.0;
        }
        let angle = angle.to_radians();
        let pressure = (self.full / self.crank.volume(angle)).powf(self.exponent);
        let displaced = self.full - 1.0;
        -(pressure - 1.0) * self.crank.volume_slope(angle) / displaced
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advise::tests::given;

    /// Peak 2.77935·p1·V_d at 23.8° before top dead centre (r_c = 10, n = 1.3, R = 3.5), 5.27577 at 17.8°
    /// (r_c = 18, n = 1.35): computed from Heywood's slider-crank formula and a polytrope.
    #[test]
    fn the_pulse_peaks_where_the_formula_says() {
        for (diesel, peak, before) in [(false, 2.77935, 23.8), (true, 5.27577, 17.8)] {
            let pulse = Pulse::of(diesel);
            assert!(
                (pulse.at(-before) - peak).abs() < 2e-3,
                "{}",
                pulse.at(-before)
            );
            assert!(pulse.at(-before - 2.0) < peak && pulse.at(-before + 2.0) < peak);
        }
    }

    /// Middle of five practice engines of each layout, current swing over 8 ms means, A (`evenfire simulate`,
    /// seeds 1 to 5, sound, petrol and diesel).
    #[test]
    fn swings_are_those_of_practice_engines_within_twofold() {
        let middle = [
            ("1-3-2", 113.9, 172.6),
            ("1-3-4-2", 97.3, 181.4),
            ("1-2-4-5-3", 88.2, 153.5),
            ("1-5-3-6-2-4", 69.5, 143.0),
            ("1-8-4-3-6-5-7-2", 46.6, 104.4),
        ];
        for (order, petrol, diesel) in middle {
            for (fuel, simulated) in [(Fuel::Petrol, petrol), (Fuel::Diesel, diesel)] {
                let reckoned = expected(&given(order, fuel, 200.0)).swing_a;
                let ratio = reckoned / simulated;
                assert!(
                    (0.5..=2.0).contains(&ratio),
                    "{order} {fuel:?}: {reckoned:.1} A"
                );
            }
        }
    }

    /// The mean cranking current is 100 to 300 A: common practice of the trade, no source.
    #[test]
    fn mean_currents_are_those_of_the_trade() {
        for order in ["1-3-4-2", "1-8-4-3-6-5-7-2"] {
            for fuel in [Fuel::Petrol, Fuel::Diesel] {
                let mean = expected(&given(order, fuel, 200.0)).mean_a;
                assert!((100.0..=300.0).contains(&mean), "{order}: {mean}");
            }
        }
    }

    #[test]
    fn twice_the_voltage_is_half_the_current() {
        let twelve = given("1-3-4-2", Fuel::Diesel, 200.0);
        let mut other = twelve.clone();
        other.system = System::TwentyFourVolts;
        let (twelve, other) = (expected(&twelve), expected(&other));
        assert!((other.swing_a / twelve.swing_a - 0.5).abs() < 1e-9);
        assert!((other.swing_v / twelve.swing_v - 1.0).abs() < 1e-9);
    }
}
