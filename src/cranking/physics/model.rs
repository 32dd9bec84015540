//! The torque balance of cranking, stepped forward through one mean engine cycle, as a least-squares
//! problem. In units of the mean: w the crank's speed, i the current, g the gas torque over the mean
//! motor torque.
//!
//! ```text
//! H·dw/dt = i^(1+γ) − f − a·Σ P(θ − φ_k; loss_k)        while starter and crank turn together
//! τ_e·di/dt = ρ − i − (ρ − 1)·w·i^γ
//! ```
//!
//! H is the inertia as a time, ρ the locked-rotor current, γ the motor's law (0 permanent magnet, 1
//! unsaturated series), τ_e the armature's time constant. Where the crank overruns the starter, the
//! one-way clutch parts them: the share β of the inertia that is the armature's follows the motor, the
//! rest the gas, until the armature has caught up. The signal is i times the mean level, or w times the
//! mean speed, through the channel's coupling, and is compared harmonic by harmonic.

use std::sync::{Arc, LazyLock};

use realfft::{RealFftPlanner, RealToComplex};

use super::load::{PLACES, rubbing, table_at};
use super::motor::Drive;
use super::pulse::{Pulse, STEP_DEG, Shape};
use crate::cranking::slicing::cycles::{BINS, MeanCycle};

pub(super) const TAU: f64 = std::f64::consts::TAU;

/// Steps of a cycle: two per bin, 2° of mean crank rotation.
pub(super) const STEPS: usize = 2 * BINS;

/// Greatest rate of cooling, per second.
pub const GREATEST_COOLING: f64 = 14.0;

/// Discrete Fourier transform of a cycle's bins.
static TRANSFORM: LazyLock<Arc<dyn RealToComplex<f64>>> =
    LazyLock::new(|| RealFftPlanner::new().plan_fft_forward(BINS));

/// Share of each harmonic that the model is trusted to; what pulse shape and motor law leave over.
const MODEL_SHARE: f64 = 0.006;

/// Share of the whole swing below which harmonics are not trusted.
const MODEL_FLOOR: f64 = 0.0015;

/// How exactly a cycle must end as it began: speed over its mean, and angle in degrees.
const CLOSE_SPEED: f64 = 0.003;
const CLOSE_DEG: f64 = 0.5;

/// Places of the common parameters.
pub mod place {
    /// Logarithm of the pulses' scale over the mean motor torque.
    pub const SCALE: usize = 0;
    /// Logarithm of H, seconds.
    pub const INERTIA: usize = 1;
    /// Logarithm of ρ − 1.
    pub const STALL: usize = 2;
    /// Motor law γ on a logistic scale.
    pub const MOTOR_LAW: usize = 3;
    /// Logarithm of τ_e, seconds.
    pub const ARMATURE: usize = 4;
    /// Crank angle at the start of the cycle, degrees after the first place's firing.
    pub const ANGLE: usize = 5;
    /// Logarithm of the compression ratio.
    pub const RATIO: usize = 6;
    /// Adiabatic exponent.
    pub const EXPONENT: usize = 7;
    /// Inlet closing, degrees.
    pub const INLET: usize = 8;
    /// Logarithm of the signal's mean level above none.
    pub const LEVEL: usize = 9;
    /// Logarithm of the coupling's corner, hertz.
    pub const CORNER: usize = 10;
    /// Armature's share β of the inertia on a logistic scale.
    pub const SHARE: usize = 11;
    /// Friction f over the mean motor torque.
    pub const FRICTION: usize = 12;
    /// Speed at the start of the cycle over its mean.
    pub const SPEED: usize = 13;
    /// Logarithm of the speed at the mean current over the mean speed.
    pub const PACE: usize = 14;
    /// Rate at which the gas cools to the walls' temperature, on a logistic scale up to
    /// [`super::GREATEST_COOLING`].
    pub const COOLING: usize = 15;
    /// Share of the friction that comes and goes with the pistons' speed.
    pub const RUBBING: usize = 16;
    /// First of the losses; after one per place follow the shares of poor filling in them, on a logistic
    /// scale.
    pub const LOSSES: usize = 17;
}

/// A parameter's prior, a normal distribution; a spread of 0 holds it.
#[derive(Debug, Clone, Copy)]
pub struct Prior {
    /// Its mean, also where the fit starts.
    pub mean: f64,
    /// Its standard deviation.
    pub spread: f64,
}

/// Where the reference event lies.
#[derive(Debug, Clone, Copy)]
pub struct EventPlace {
    /// Share of the cycle's time after its start.
    pub phase: f64,
    /// Crank angle, degrees after the first place's firing.
    pub angle_deg: f64,
    /// How well that angle is known, degrees.
    pub spread_deg: f64,
}

/// One mean cycle to be explained.
#[derive(Debug, Clone)]
pub struct Model {
    /// The data.
    pub data: MeanCycle,
    /// Firing angle of each place in the order, degrees, the first at 0.
    pub firings_deg: Vec<f64>,
    /// Priors of the common parameters, then of the losses.
    pub priors: Vec<Prior>,
    /// The reference event.
    pub event: Option<EventPlace>,
    /// Whether the channel is AC-coupled.
    pub coupled: bool,
    /// Whether the signal is crank speed.
    pub is_speed: bool,
    /// Mean speed over the speed at each place of the torque table, from the best prediction so far: a leak has more
    /// time where the crank is slow.
    pub slowness: Vec<f64>,
    /// By how much the data are trusted less than they deserve: above 1 the priors lead, which keeps the
    /// first steps of a fit from running off.
    pub slack: f64,
    /// Pistons' speeds over their mean, less one, at each place of the torque table.
    pub(super) rubbing: Vec<f64>,
    pub(super) twiddles: Vec<(f64, f64)>,
    pub(super) sigmas: Vec<f64>,
    swing: f64,
}

/// The course of a cycle.
#[derive(Debug, Clone)]
pub struct Course {
    /// The signal's swing at each bin, in its unit, before any coupling.
    pub signal: Vec<f64>,
    /// Crank angle at each step.
    pub angles: Vec<f64>,
    /// Crank speed at each step.
    pub speeds: Vec<f64>,
    /// Share of the time in which the crank overran the starter.
    pub overrun: f64,
}

impl Model {
    /// A problem.
    #[must_use]
    pub fn new(data: MeanCycle, firings_deg: Vec<f64>, priors: Vec<Prior>) -> Self {
        let twiddles = (0..BINS)
            .map(|b| (TAU * b as f64 / BINS as f64).sin_cos())
            .map(|(s, c)| (c, s))
            .collect();
        let power: f64 = data
            .harmonics
            .iter()
            .map(|(re, im)| 0.5 * (re * re + im * im))
            .sum();
        let swing = power.sqrt().max(f64::MIN_POSITIVE);
        let sigmas = data
            .harmonics
            .iter()
            .zip(&data.errors)
            .map(|((re, im), error)| {
                error.hypot((MODEL_SHARE * re.hypot(*im)).hypot(MODEL_FLOOR * swing))
            })
            .collect();
        let slowness = vec![1.0; PLACES];
        let rubbing = rubbing(&firings_deg);
        Self {
            data,
            rubbing,
            firings_deg,
            priors,
            event: None,
            coupled: false,
            is_speed: false,
            slowness,
            slack: 1.0,
            twiddles,
            sigmas,
            swing,
        }
    }

    /// Root mean square of the swing.
    #[must_use]
    pub fn swing(&self) -> f64 {
        self.swing
    }

    /// Pulse of every place.
    #[must_use]
    pub fn pulses(&self, p: &[f64]) -> Vec<Pulse> {
        (0..self.firings_deg.len())
            .map(|index| self.pulse(p, index))
            .collect()
    }

    /// Pulse of one place.
    #[must_use]
    pub fn pulse(&self, p: &[f64], index: usize) -> Pulse {
        let shape = Shape {
            compression_ratio: p[place::RATIO].exp(),
            exponent: p[place::EXPONENT],
            inlet_closing_deg: p[place::INLET],
            cooling: GREATEST_COOLING * logistic(p[place::COOLING]) * self.data.seconds
                / PLACES as f64,
        };
        let firing = self.firings_deg[index];
        let charge_share = logistic(p[place::LOSSES + self.firings_deg.len() + index]);
        shape.pulse(p[place::LOSSES + index], charge_share, |angle| {
            table_at(&self.slowness, angle + firing)
        })
    }

    /// Weighted residuals, without the parameters' priors. `table` is the gas torque, see
    /// [`Model::torque_table`].
    #[must_use]
    pub fn residuals(&self, p: &[f64], table: &[f64]) -> Vec<f64> {
        let course = self.course(p, table);
        let mut all = Vec::with_capacity(2 * self.sigmas.len() + 3);
        for (index, predicted) in self.transform(&course.signal).into_iter().enumerate() {
            let seen = multiply(predicted, self.coupling(p, index + 1));
            let measured = self.data.harmonics[index];
            all.push((seen.0 - measured.0) / self.sigmas[index]);
            all.push((seen.1 - measured.1) / self.sigmas[index]);
        }
        let advance = course.angles[STEPS] - course.angles[0];
        all.push((course.speeds[STEPS] - course.speeds[0]) / CLOSE_SPEED);
        all.push((advance - 720.0) / CLOSE_DEG);
        all.extend(self.event_residual(&course.angles));
        all
    }

    /// How far the reference event is from its place; `angles` are evenly spaced over the cycle.
    pub(super) fn event_residual(&self, angles: &[f64]) -> Option<f64> {
        let event = self.event?;
        let angle = between(angles, event.phase * (angles.len() - 1) as f64);
        let off = (angle - event.angle_deg + 360.0).rem_euclid(720.0) - 360.0;
        Some(off / event.spread_deg)
    }

    /// Step through the cycle.
    #[must_use]
    pub fn course(&self, p: &[f64], table: &[f64]) -> Course {
        let table = self.load(p, table);
        let mut drive = Drive::new(p, self.data.seconds / STEPS as f64);
        let mut course = Course {
            signal: Vec::with_capacity(BINS),
            angles: Vec::with_capacity(STEPS + 1),
            speeds: Vec::with_capacity(STEPS + 1),
            overrun: 0.0,
        };
        let level = p[place::LEVEL].exp();
        course.angles.push(drive.angle);
        course.speeds.push(drive.crank);
        let mut half = 0.0;
        for step in 0..STEPS {
            let before = drive.seen(self.is_speed);
            drive.step(&table);
            course.angles.push(drive.angle);
            course.speeds.push(drive.crank);
            if !drive.engaged {
                course.overrun += 1.0 / STEPS as f64;
            }
            let mean = 0.5 * (before + drive.seen(self.is_speed));
            if step % 2 == 0 {
                half = mean;
            } else {
                course.signal.push(level * 0.5 * (half + mean));
            }
        }
        course
    }

    /// Take the slowness from a course: crank angles and speeds evenly spaced over the cycle.
    pub fn learn_slowness(&mut self, course: &Course) {
        for step in 0..course.angles.len() - 1 {
            let (from, to) = (
                course.angles[step] / STEP_DEG,
                course.angles[step + 1] / STEP_DEG,
            );
            for mark in from.ceil() as i64..to.ceil() as i64 {
                let share = (mark as f64 - from) / (to - from);
                let speed =
                    course.speeds[step] + (course.speeds[step + 1] - course.speeds[step]) * share;
                self.slowness[mark.rem_euclid(PLACES as i64) as usize] = 1.0 / speed.max(0.1);
            }
        }
    }

    pub(super) fn frequency(&self) -> f64 {
        TAU / self.data.seconds
    }

    /// Transfer of the coupling at harmonic `h` (from 1).
    pub(super) fn coupling(&self, p: &[f64], h: usize) -> (f64, f64) {
        if !self.coupled {
            return (1.0, 0.0);
        }
        high_pass(h as f64 * self.frequency() / (TAU * p[place::CORNER].exp()))
    }

    /// Harmonics of values at the bins' centres, with the phase of the data's.
    pub(super) fn transform(&self, values: &[f64]) -> Vec<(f64, f64)> {
        let mut bins = values.to_vec();
        let mut parts = TRANSFORM.make_output_vec();
        // lengths are those that the transform was made for
        let _ = TRANSFORM.process(&mut bins, &mut parts);
        let scale = 2.0 / BINS as f64;
        (1..=self.sigmas.len())
            .map(|h| {
                // bins are centred half a bin after their edges; means over a bin shrink a harmonic
                let half = std::f64::consts::PI * h as f64 / BINS as f64;
                let grow = scale * half / half.sin();
                let part = (parts[h].re * grow, parts[h].im * grow);
                multiply(part, (half.cos(), -half.sin()))
            })
            .collect()
    }
}

/// Transfer of a first-order high-pass, jx/(1 + jx), x the frequency over the corner's: real and imaginary part.
#[must_use]
pub fn high_pass(x: f64) -> (f64, f64) {
    let scale = 1.0 / (1.0 + x * x);
    (x * x * scale, x * scale)
}

/// A number between 0 and 1 from any number.
#[must_use]
pub fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

pub(super) fn between(values: &[f64], at: f64) -> f64 {
    let index = (at as usize).min(values.len() - 2);
    values[index] + (values[index + 1] - values[index]) * (at - index as f64)
}

pub(super) fn multiply(a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    (a.0 * b.0 - a.1 * b.1, a.0 * b.1 + a.1 * b.0)
}
