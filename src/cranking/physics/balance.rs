//! The torque balance read backwards from the signal: speed and motor torque are taken from the recorded
//! current, so that nothing has to be stepped. It finds its way from far off, where stepping forward
//! would get lost, but knows no one-way clutch; what it finds is where the forward model starts.
//! Thresholds that name no source are our own choice, set on simulated captures, sound and unfit.

use super::load::table_at;
use super::model::{Course, Model, logistic, multiply, place};
use super::motor::flux;
use crate::cranking::slicing::cycles::BINS;

/// Least and greatest speed over the mean that the angle is built from.
const SPEED_RANGE: (f64, f64) = (0.05, 4.0);

/// Least current over the mean.
const LEAST_CURRENT: f64 = 0.05;

/// The locked-rotor current stays above the greatest current by this share, within this spread.
const ABOVE_GREATEST: f64 = 1.05;
const ABOVE_SPREAD: f64 = 0.03;

/// Speed and motor torque as the signal tells them, over their means, at each bin.
struct Seen {
    speed: Vec<f64>,
    torque: Vec<f64>,
    greatest: f64,
    pace: f64,
}

impl Model {
    /// Weighted residuals of the balance, without the parameters' priors. Both sides are passed through
    /// the low-pass that starter and inertia are, so that noise is not differentiated.
    #[must_use]
    pub fn balance_residuals(&self, p: &[f64], table: &[f64]) -> Vec<f64> {
        let seen = self.seen(p);
        let course = self.seen_course(p, &seen);
        let table = self.load(p, table);
        let inertia = p[place::INERTIA].exp();
        // middle of each bin
        let gas: Vec<f64> = course
            .angles
            .windows(2)
            .map(|pair| table_at(&table, 0.5 * (pair[0] + pair[1])))
            .collect();
        // friction is what the motor's mean leaves over; its prior is no data, so no slack for it
        let friction = (seen.torque.iter().sum::<f64>() - gas.iter().sum::<f64>()) / BINS as f64;
        let prior = self.priors[place::FRICTION];
        let off_friction = self.slack * (friction - prior.mean) / prior.spread;
        let (torque, speed, gas) = (
            self.transform(&seen.torque),
            self.transform(&seen.speed),
            self.transform(&gas),
        );
        let law = if self.is_speed {
            0.0
        } else {
            logistic(p[place::MOTOR_LAW])
        };
        let stall = p[place::STALL].exp();
        let (gain, lag) = if self.is_speed {
            (stall, inertia / stall)
        } else {
            (1.0 + law, inertia * (1.0 / stall + law) / (1.0 + law))
        };
        let level = p[place::LEVEL].exp();
        let mut all = Vec::with_capacity(2 * self.sigmas.len() + 2);
        for (index, sigma) in self.sigmas.iter().enumerate() {
            let h = (index + 1) as f64;
            let slope = multiply(speed[index], (0.0, h * self.frequency() * inertia));
            let off = (
                torque[index].0 - slope.0 - gas[index].0,
                torque[index].1 - slope.1 - gas[index].1,
            );
            let smoothed = divide(off, (gain, gain * h * self.frequency() * lag));
            let seen = multiply(smoothed, self.coupling(p, index + 1));
            all.push(level * seen.0 / sigma);
            all.push(level * seen.1 / sigma);
        }
        let short = ABOVE_GREATEST * seen.greatest - (1.0 + stall);
        all.push(if self.is_speed {
            0.0
        } else {
            short.max(0.0) / ABOVE_SPREAD
        });
        all.push(off_friction);
        all.extend(self.event_residual(&course.angles));
        all
    }

    /// Crank angle and speed over the cycle as the signal tells them.
    #[must_use]
    pub fn balance_course(&self, p: &[f64]) -> Course {
        self.seen_course(p, &self.seen(p))
    }

    /// Complete parameters that the balance does not know, for stepping forward from them: friction,
    /// starting speed and pace.
    pub fn complete(&self, p: &mut [f64], table: &[f64]) {
        let table = self.load(p, table);
        let seen = self.seen(p);
        let course = self.seen_course(p, &seen);
        let gas: f64 = course
            .angles
            .windows(2)
            .map(|pair| table_at(&table, 0.5 * (pair[0] + pair[1])))
            .sum();
        p[place::FRICTION] = (seen.torque.iter().sum::<f64>() - gas) / BINS as f64;
        p[place::SPEED] = course.speeds[0];
        p[place::PACE] = seen.pace.ln();
    }

    /// The scale of the pulses that suits the other parameters best, as its logarithm.
    #[must_use]
    pub fn best_scale(&self, p: &[f64]) -> f64 {
        let table = self.torque_table(&self.pulses(p));
        let mut without = p.to_vec();
        without[place::SCALE] = -50.0;
        without[place::RUBBING] = 0.0;
        let left = self.balance_residuals(&without, &table);
        without[place::SCALE] = 0.0;
        let both = self.balance_residuals(&without, &table);
        let (mut cross, mut square) = (0.0, 0.0);
        for (l, b) in left.iter().zip(&both).take(2 * self.sigmas.len()) {
            cross += l * (l - b);
            square += (l - b) * (l - b);
        }
        (cross / square).clamp(1e-3, 1e3).ln()
    }

    fn seen(&self, p: &[f64]) -> Seen {
        let level = p[place::LEVEL].exp();
        let law = if self.is_speed {
            0.0
        } else {
            logistic(p[place::MOTOR_LAW])
        };
        let lag = if self.is_speed {
            0.0
        } else {
            p[place::ARMATURE].exp()
        };
        let stall = p[place::STALL].exp();
        let (swing, slope) = self.uncoupled(p);
        let mut seen = Seen {
            speed: Vec::with_capacity(BINS),
            torque: Vec::with_capacity(BINS),
            greatest: 0.0,
            pace: 1.0,
        };
        for (u, slope) in swing.iter().zip(&slope) {
            if self.is_speed {
                seen.speed
                    .push((1.0 - u / level).clamp(SPEED_RANGE.0, SPEED_RANGE.1));
                seen.torque.push(1.0 + stall * u / level);
                continue;
            }
            let current = (1.0 + u / level).max(LEAST_CURRENT);
            let lagged = 1.0 + (u + lag * slope) / level;
            let flux = flux(current, law);
            let speed = (1.0 + stall - lagged) / (stall * flux);
            seen.greatest = seen.greatest.max(lagged);
            seen.speed.push(speed.clamp(SPEED_RANGE.0, SPEED_RANGE.1));
            seen.torque.push(current * flux);
        }
        let mean = seen.speed.iter().sum::<f64>() / BINS as f64;
        seen.speed.iter_mut().for_each(|s| *s /= mean);
        seen.pace = 1.0 / mean;
        seen
    }

    /// The signal's swing and its slope per second before the coupling, at the middle of each bin.
    fn uncoupled(&self, p: &[f64]) -> (Vec<f64>, Vec<f64>) {
        let (mut swing, mut slope) = (vec![0.0; BINS], vec![0.0; BINS]);
        for (index, part) in self.data.harmonics.iter().enumerate() {
            let h = index + 1;
            let half = std::f64::consts::PI * h as f64 / BINS as f64;
            let u = multiply(divide(*part, self.coupling(p, h)), (half.cos(), half.sin()));
            let rate = h as f64 * self.frequency();
            let mut phase = 0;
            for b in 0..BINS {
                let (cos, sin) = self.twiddles[phase];
                swing[b] += u.0 * cos - u.1 * sin;
                slope[b] -= rate * (u.1 * cos + u.0 * sin);
                phase += h;
                if phase >= BINS {
                    phase -= BINS;
                }
            }
        }
        (swing, slope)
    }

    /// Angles at the edges of the bins and speeds there.
    fn seen_course(&self, p: &[f64], seen: &Seen) -> Course {
        let step = 720.0 / BINS as f64;
        let mut course = Course {
            signal: Vec::new(),
            angles: vec![p[place::ANGLE]],
            speeds: Vec::with_capacity(BINS + 1),
            overrun: 0.0,
        };
        for b in 0..BINS {
            course
                .speeds
                .push(0.5 * (seen.speed[(b + BINS - 1) % BINS] + seen.speed[b]));
            let angle = course.angles[b] + step * seen.speed[b];
            course.angles.push(angle);
        }
        course.speeds.push(course.speeds[0]);
        course
    }
}

fn divide(a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    let size = b.0 * b.0 + b.1 * b.1;
    (
        (a.0 * b.0 + a.1 * b.1) / size,
        (a.1 * b.0 - a.0 * b.1) / size,
    )
}
