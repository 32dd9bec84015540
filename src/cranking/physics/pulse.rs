//! The torque pulse of one cylinder over its closed part, and the peak pressure that belongs to it:
//! slider-crank volume (Heywood eq. 2.4 to 2.6), adiabatic change with heat lost to the walls, and a leak as
//! an orifice, both in time.
//! Dimensionless: pressures over atmospheric, volumes over displaced volume.

use std::sync::LazyLock;

use crate::engine::nozzle::flow_function;
use crate::engine::slider_crank::SliderCrank;

/// Step of the pulse's grid, degrees. 3° moves the peak of a compression ratio of 18 by under 0.2 %
/// against 0.25°, alike in all cylinders.
pub const STEP_DEG: f64 = 3.0;

/// Half width of the grid: one compression stroke before, one expansion after top dead centre.
const HALF_DEG: f64 = 180.0;

/// Places of the grid.
pub const POINTS: usize = 121;

/// Share of the pressure that is left a step later once the exhaust is open: it settles over some 15°.
const BLOW_DOWN: f64 = 0.82;

/// Exhaust opening before bottom dead centre, degrees: the middle of the usual 40 to 60.
const EXHAUST_OPENING_DEG: f64 = 50.0;

/// Rod length over crank radius: the middle of the usual 3 to 4.
const ROD_RATIO: f64 = 3.5;

/// Leak, in units of [`leak_of_loss`], at which roughly half of the peak is lost.
const HALF_LOSS_LEAK: f64 = 1.1;

/// Greatest loss that is told apart from a hole.
pub const GREATEST_LOSS: f64 = 0.97;

/// Displaced share of the volume and its slope per radian at each place of the grid: the crank's part, which
/// no parameter moves.
static STROKE: LazyLock<[(f64, f64); POINTS]> = LazyLock::new(|| {
    let crank = SliderCrank {
        compression_ratio: 2.0,
        rod_ratio: ROD_RATIO,
    };
    std::array::from_fn(|index| {
        let angle = (-HALF_DEG + STEP_DEG * index as f64).to_radians();
        (crank.volume(angle) - 1.0, crank.volume_slope(angle))
    })
});

/// What all cylinders share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    /// Compression ratio.
    pub compression_ratio: f64,
    /// Adiabatic exponent.
    pub exponent: f64,
    /// Inlet closing, degrees after bottom dead centre.
    pub inlet_closing_deg: f64,
    /// Share of its excess over the walls' temperature that the gas loses per step of the grid at the mean
    /// crank speed.
    pub cooling: f64,
}

/// One cylinder's pulse.
#[derive(Debug, Clone)]
pub struct Pulse {
    /// Load torque over atmospheric pressure times displaced volume, every 3° from −180° to 180°.
    pub torque: [f64; POINTS],
    /// Peak gauge pressure over atmospheric.
    pub peak: f64,
}

/// Leak strength of a loss between 0 (none) and 1 (a hole); negative losses are cylinders better than
/// the common shape, so that the fit has no edge at zero.
fn leak_of_loss(loss: f64) -> f64 {
    HALF_LOSS_LEAK * loss / (1.0 - loss.min(GREATEST_LOSS))
}

impl Shape {
    /// The pulse of a cylinder that loses about `loss` of its peak, the share `charge_share` of it because
    /// less gas was trapped, the rest because gas leaks away while the valves are shut. `slowness(angle_deg)` is the mean
    /// crank speed over the speed at that angle: a leak has more time where the crank is slow.
    pub fn pulse(&self, loss: f64, charge_share: f64, slowness: impl Fn(f64) -> f64) -> Pulse {
        let crank = SliderCrank {
            compression_ratio: self.compression_ratio,
            rod_ratio: ROD_RATIO,
        };
        let displaced = self.compression_ratio - 1.0;
        let charge = 1.0 - charge_share * loss;
        let leak = leak_of_loss(1.0 - (1.0 - loss.min(GREATEST_LOSS)) / charge);
        let first = -HALF_DEG + self.inlet_closing_deg;
        let last = HALF_DEG - EXHAUST_OPENING_DEG;
        let trapped_volume = crank.volume(first.to_radians());
        let step = STEP_DEG.to_radians();
        // share of the trapped mass that a unit leak passes per radian at unit pressure
        let passes = leak * displaced / trapped_volume;
        let (mut mass, mut cooled) = (1.0f64, 1.0f64);
        let mut gauge = 0.0;
        let mut pulse = Pulse {
            torque: [0.0; POINTS],
            peak: 0.0,
        };
        let places = pulse.torque.iter_mut().zip(STROKE.iter());
        for (index, (torque, (stroke, slope))) in places.enumerate() {
            let angle = -HALF_DEG + STEP_DEG * index as f64;
            if angle >= last {
                gauge *= BLOW_DOWN;
            } else if angle > first {
                let density = (mass * trapped_volume / (1.0 + displaced * stroke)).max(1e-6);
                let warmth = cooled * ((self.exponent - 1.0) * density.ln()).exp();
                let pressure = charge * density * warmth;
                gauge = pressure - 1.0;
                let flow = if pressure > 1.0 {
                    density * warmth.sqrt() * flow_function(1.0 / pressure)
                } else {
                    -flow_function(pressure) / charge
                };
                let share = ((angle - first) / STEP_DEG).min(1.0) * slowness(angle);
                mass = (mass - passes * flow * step * share).max(0.01);
                cooled += cooled * (1.0 / warmth - 1.0) * self.cooling * share;
                if gauge > pulse.peak {
                    pulse.peak = gauge;
                }
            }
            *torque = -gauge * slope;
        }
        pulse
    }
}

impl Pulse {
    /// Torque at `angle_deg` after firing top dead centre, between −360 and 360.
    #[must_use]
    pub fn at(&self, angle_deg: f64) -> f64 {
        let place = (angle_deg + HALF_DEG) / STEP_DEG;
        if place <= 0.0 || place >= (POINTS - 1) as f64 {
            return 0.0;
        }
        let index = place as usize;
        let share = place - index as f64;
        self.torque[index] * (1.0 - share) + self.torque[index + 1] * share
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHAPE: Shape = Shape {
        compression_ratio: 7.5,
        exponent: 1.3,
        inlet_closing_deg: 0.0,
        cooling: 0.0,
    };

    /// A worked example of an encyclopedia's article on compression ratio: ratio 7.5, exponent 1.3 and
    /// 14.7 psi give 187.1 psi gauge.
    #[test]
    fn a_sealed_cylinder_peaks_where_the_worked_example_says() {
        let pulse = SHAPE.pulse(0.0, 0.0, |_| 1.0);
        assert!(
            (14.7 * pulse.peak - 187.1).abs() < 0.2,
            "{}",
            14.7 * pulse.peak
        );
    }

    /// Compression torque from bottom dead centre, r_c 10, n 1.3, R 3.5: peak 2.77935·p1·V_d at 23.8°
    /// before top dead centre (computed from Heywood's equation 2.6).
    #[test]
    fn the_torque_peaks_where_the_equation_says() {
        let shape = Shape {
            compression_ratio: 10.0,
            ..SHAPE
        };
        let pulse = shape.pulse(0.0, 0.0, |_| 1.0);
        let at = (0..1800).map(|tenth| -f64::from(tenth) / 10.0);
        let best = at
            .max_by(|a, b| pulse.at(*a).total_cmp(&pulse.at(*b)))
            .unwrap();
        assert!((best + 23.8).abs() < 1.6, "{best}");
        assert!(
            (pulse.at(best) - 2.77935).abs() < 0.02,
            "{}",
            pulse.at(best)
        );
    }

    #[test]
    fn losses_lower_the_peak_and_a_leak_takes_more_after_top_dead_centre() {
        let shape = Shape {
            compression_ratio: 10.0,
            exponent: 1.3,
            inlet_closing_deg: 48.0,
            cooling: 0.0,
        };
        let sound = shape.pulse(0.0, 0.0, |_| 1.0);
        let leak = shape.pulse(0.4, 0.0, |_| 1.0);
        let charge = shape.pulse(0.4, 1.0, |_| 1.0);
        assert!(leak.peak < 0.8 * sound.peak && charge.peak < 0.8 * sound.peak);
        let push = |pulse: &Pulse| -pulse.at(25.0) / pulse.at(-25.0);
        assert!((push(&sound) - 1.0).abs() < 0.02, "{}", push(&sound));
        assert!(
            push(&leak) < 0.8 * push(&charge),
            "{} {}",
            push(&leak),
            push(&charge)
        );
        let slow = shape.pulse(0.4, 0.0, |_| 2.0);
        assert!(
            slow.peak < leak.peak,
            "a leak has more time where the crank is slow"
        );
    }
}
