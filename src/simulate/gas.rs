//! One cylinder's gas: a closed part that loses mass through a leak and heat to the walls, blow-down and
//! refill in the open parts. State moves with the crank and never runs backwards through a valve event.

use crate::engine::nozzle::flow_function;
use crate::engine::slider_crank::SliderCrank;

use super::plan::{Condition, CylinderPlan};

/// √(R·T) of the trapped air at inlet closing, m/s (R 287 J/kg/K, 300 K); the walls are as warm.
const SQRT_RT: f64 = 293.4;

/// Crank angle over which pressure settles to a port's, degrees.
const EXHAUST_SETTLE_DEG: f64 = 14.0;
const INLET_SETTLE_DEG: f64 = 20.0;

/// Rise of pressure when a charge burns, about top dead centre, while the engine is just catching.
const BURNT_RISE: f64 = 3.0;

/// What one cylinder holds.
#[derive(Debug, Clone)]
pub struct Gas {
    crank: SliderCrank,
    plan: CylinderPlan,
    condition: Condition,
    closed: Option<Closed>,
    pressure: f64,
    peak: f64,
    /// Peak gauge pressures of the closed parts gone through, Pa, with the time of each.
    pub peaks: Vec<(f64, f64)>,
}

#[derive(Debug, Clone)]
struct Closed {
    /// Pressure and volume when the inlet closed.
    pressure: f64,
    volume: f64,
    /// Volume at the step before.
    before: f64,
    /// Mass and temperature over those when the inlet closed.
    mass: f64,
    warmth: f64,
    burnt: bool,
}

impl Gas {
    /// A cylinder at rest with the atmosphere in it.
    #[must_use]
    pub fn new(plan: &CylinderPlan, condition: Condition) -> Self {
        let crank = SliderCrank {
            compression_ratio: plan.compression_ratio * condition.ratio,
            rod_ratio: plan.rod_ratio,
        };
        Self {
            crank,
            plan: *plan,
            condition,
            closed: None,
            pressure: plan.atmosphere_pa,
            peak: 0.0,
            peaks: Vec::new(),
        }
    }

    /// Load torque on the crank, N·m, at `angle_deg` after firing top dead centre (−360 to 360).
    #[must_use]
    pub fn torque(&self, angle_deg: f64) -> f64 {
        let clearance = self.plan.displaced_m3 / (self.crank.compression_ratio - 1.0);
        let slope = self.crank.volume_slope(angle_deg.to_radians()) * clearance;
        -(self.pressure - self.plan.atmosphere_pa) * slope
    }

    /// Move on to `angle_deg`, `step_deg` and `step_s` after the last call. `charge_noise` scales the
    /// charge that is trapped if the inlet closes in this step; `burns` says that fuel is there.
    pub fn advance(
        &mut self,
        angle_deg: f64,
        step_deg: f64,
        step_s: f64,
        at_s: f64,
        noise: f64,
        burns: bool,
    ) {
        let inlet_closing = -180.0 + self.plan.inlet_closing_deg;
        let exhaust_opening = 180.0 - self.plan.exhaust_opening_deg;
        if (inlet_closing..exhaust_opening).contains(&angle_deg) {
            self.compress(angle_deg, step_s, noise, burns);
            return;
        }
        if self.closed.take().is_some() {
            self.peaks.push((at_s, self.peak - self.plan.atmosphere_pa));
            self.peak = 0.0;
        }
        // the blow-down ends at the exhaust's pressure, the refill at the manifold's; the last stretch
        // before inlet closing pushes a little of the charge back
        let atmosphere = self.plan.atmosphere_pa;
        let (port, settle) = if angle_deg >= exhaust_opening && angle_deg < 350.0 {
            (1.01 * atmosphere, EXHAUST_SETTLE_DEG)
        } else {
            (self.plan.manifold * atmosphere, INLET_SETTLE_DEG)
        };
        self.pressure += (port - self.pressure) * (1.0 - (-step_deg.abs() / settle).exp());
    }

    fn compress(&mut self, angle_deg: f64, step_s: f64, noise: f64, burns: bool) {
        let volume = self.crank.volume(angle_deg.to_radians());
        let condition = self.condition;
        let trapped = self.pressure * condition.charge * noise;
        let closed = self.closed.get_or_insert(Closed {
            pressure: trapped,
            volume,
            before: volume,
            mass: 1.0,
            warmth: 1.0,
            burnt: false,
        });
        let above = self.plan.exponent - 1.0;
        closed.warmth *= (closed.before / volume).powf(above);
        closed.warmth += (1.0 - closed.warmth) * (1.0 - (-step_s / self.plan.heat_s).exp());
        closed.before = volume;
        let mut pressure = closed.pressure * closed.mass * closed.warmth * closed.volume / volume;
        // ṁ = A·p·ψ/√(RT), over the trapped mass p0·V0/(R·T0)
        let clearance = self.plan.displaced_m3 / (self.crank.compression_ratio - 1.0);
        let rate = condition.leak_m2 * SQRT_RT / (closed.volume * clearance) * step_s;
        let atmosphere = self.plan.atmosphere_pa;
        let before = closed.mass;
        if pressure >= atmosphere {
            let loss = rate * pressure / closed.pressure / closed.warmth.sqrt()
                * flow_function(atmosphere / pressure);
            closed.mass = (before - loss).max(0.02);
            // what stays behind has expanded
            closed.warmth *= (closed.mass / before).powf(above);
        } else {
            let gain = rate * atmosphere / closed.pressure * flow_function(pressure / atmosphere);
            closed.mass = before + gain;
            closed.warmth = (before * closed.warmth + gain) / closed.mass;
        }
        if burns && !closed.burnt && angle_deg > 2.0 {
            closed.burnt = true;
            closed.pressure *= BURNT_RISE;
            pressure *= BURNT_RISE;
        }
        self.pressure = pressure;
        if !closed.burnt {
            self.peak = self.peak.max(pressure);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan(ratio: f64, exponent: f64) -> CylinderPlan {
        CylinderPlan {
            compression_ratio: ratio,
            rod_ratio: 3.5,
            displaced_m3: 5e-4,
            exponent,
            heat_s: f64::INFINITY,
            inlet_closing_deg: 0.01,
            exhaust_opening_deg: 0.01,
            manifold: 1.0,
            atmosphere_pa: 101_325.0,
            cycle_scatter: 0.0,
        }
    }

    fn turn(gas: &mut Gas, from: f64, to: f64, seconds: f64) -> f64 {
        let steps = 40_000;
        let step = (to - from) / f64::from(steps);
        let mut work = 0.0;
        for i in 0..steps {
            let angle = from + step * f64::from(i);
            gas.advance(angle, step, seconds / f64::from(steps), 0.0, 1.0, false);
            work += gas.torque(angle) * step.to_radians();
        }
        work
    }

    const SOUND: Condition = Condition {
        leak_m2: 0.0,
        charge: 1.0,
        ratio: 1.0,
    };

    /// A worked example of an encyclopedia's article on compression ratio: a ratio of 7.5 and an
    /// exponent of 1.3 at 14.7 psi give 201.8 psi absolute.
    #[test]
    fn a_sealed_charge_compresses_polytropically() {
        let mut gas = Gas::new(&plan(7.5, 1.3), SOUND);
        turn(&mut gas, -179.9, 0.0, 0.1);
        assert!(
            (gas.pressure / 101_325.0 * 14.7 - 201.8).abs() < 0.2,
            "{}",
            gas.pressure
        );
    }

    /// Otto cycle, r 8, γ 1.4 from 100 kPa: 1837.917 kPa (textbook set-up, computed).
    #[test]
    fn an_otto_compression_ends_where_the_textbook_says() {
        let mut otto = plan(8.0, 1.4);
        otto.atmosphere_pa = 100_000.0;
        let mut gas = Gas::new(&otto, SOUND);
        turn(&mut gas, -179.9, 0.0, 0.1);
        assert!(
            (gas.pressure / 1000.0 - 1837.917).abs() < 0.6,
            "{}",
            gas.pressure
        );
    }

    /// A charge that cools to the walls' temperature all the way is compressed isothermally: p·V stays
    /// (Boyle's law), so a ratio of 7.5 gives 7.5 atmospheres; and expansion gives back less than
    /// compression took if it cools in between.
    #[test]
    fn heat_lost_to_the_walls_flattens_the_compression() {
        let mut isothermal = plan(7.5, 1.4);
        isothermal.heat_s = 1e-4;
        let mut gas = Gas::new(&isothermal, SOUND);
        turn(&mut gas, -179.9, 0.0, 1.0);
        assert!(
            (gas.pressure / 101_325.0 - 7.5).abs() < 0.02,
            "{}",
            gas.pressure
        );
        let mut cooling = plan(10.0, 1.4);
        cooling.heat_s = 0.2;
        let mut gas = Gas::new(&cooling, SOUND);
        let up = turn(&mut gas, -179.9, 0.0, 0.15);
        let down = turn(&mut gas, 0.0, 179.9, 0.15);
        assert!(up + down > 0.03 * up, "{up} {down}");
    }

    /// Conservation: what a sealed cylinder takes up to top dead centre it gives back after it.
    #[test]
    fn a_sealed_cylinder_does_no_work_and_a_leaking_one_does() {
        let mut gas = Gas::new(&plan(10.0, 1.3), SOUND);
        let up = turn(&mut gas, -179.9, 0.0, 0.1);
        let down = turn(&mut gas, 0.0, 179.9, 0.1);
        assert!(up > 50.0 && (up + down).abs() < 0.005 * up, "{up} {down}");
        let mut leaky = Gas::new(
            &plan(10.0, 1.3),
            Condition {
                leak_m2: 2e-6,
                ..SOUND
            },
        );
        let up = turn(&mut leaky, -179.9, 0.0, 0.1);
        let down = turn(&mut leaky, 0.0, 179.9, 0.1);
        assert!(up + down > 0.1 * up, "{up} {down}");
    }
}
