//! The load of a cycle, place by place: gas torque of all cylinders and what the pistons rub.

use super::model::{Model, place};
use super::pulse::{POINTS, Pulse, STEP_DEG};

/// Places of the torque table over 720°, as far apart as those of a pulse.
pub(super) const PLACES: usize = (720.0 / STEP_DEG) as usize;

impl Model {
    /// Gas torque over displaced volume and atmospheric pressure at each place of the cycle; the scale is
    /// the motor's business.
    #[must_use]
    pub fn torque_table(&self, pulses: &[Pulse]) -> Vec<f64> {
        let mut table = vec![0.0; PLACES];
        for (index, pulse) in pulses.iter().enumerate() {
            self.add_pulse(&mut table, pulse, index, 1.0);
        }
        table
    }

    /// Torque of gas and rubbing pistons over the mean motor torque at each place of the cycle.
    pub(super) fn load(&self, p: &[f64], table: &[f64]) -> Vec<f64> {
        let scale = p[place::SCALE].exp();
        let rubbing = p[place::FRICTION] * p[place::RUBBING];
        let both = table.iter().zip(&self.rubbing);
        both.map(|(gas, piston)| scale * gas + rubbing * piston)
            .collect()
    }

    /// Put `times` a pulse into a torque table.
    pub fn add_pulse(&self, table: &mut [f64], pulse: &Pulse, index: usize, times: f64) {
        let first = self.firings_deg[index] / STEP_DEG - (POINTS / 2) as f64;
        let mark = first.ceil();
        let share = mark - first;
        let mut place = (mark as i64).rem_euclid(PLACES as i64) as usize;
        for pair in pulse.torque.windows(2) {
            table[place] += times * (pair[0] * (1.0 - share) + pair[1] * share);
            place += 1;
            if place == PLACES {
                place = 0;
            }
        }
    }
}

/// Pistons' speeds over their mean, less one, to the first order of the rod.
pub(super) fn rubbing(firings_deg: &[f64]) -> Vec<f64> {
    (0..PLACES)
        .map(|place| {
            let speeds = firings_deg
                .iter()
                .map(|firing| (STEP_DEG * place as f64 - firing).to_radians().sin().abs());
            speeds.sum::<f64>() / firings_deg.len() as f64 * std::f64::consts::FRAC_PI_2 - 1.0
        })
        .collect()
}

/// A torque table's value at an angle, by straight lines.
pub(super) fn table_at(table: &[f64], angle_deg: f64) -> f64 {
    let cycles = (angle_deg * (1.0 / 720.0)).floor();
    let at = (angle_deg - 720.0 * cycles) * (1.0 / STEP_DEG);
    // rounding may leave the very end of the cycle
    let index = (at as usize).min(PLACES - 1);
    let share = at - index as f64;
    let next = if index + 1 == PLACES { 0 } else { index + 1 };
    table[index] + (table[next] - table[index]) * share
}
