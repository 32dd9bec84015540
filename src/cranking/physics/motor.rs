//! Starter, one-way clutch and crank, stepped forward through a cycle: the equations of
//! [`super::model`].

use super::load::table_at;
use super::model::{STEPS, logistic, place};

/// Slowest and fastest speed, and least current, that a step may reach, over their means.
const SPEED_RANGE: (f64, f64) = (0.02, 5.0);
const LEAST_CURRENT: f64 = 0.01;

/// Flux over that at the mean current, which saturates after Fröhlich, i/(i + s): `law` is its steepness
/// s/(1 + s) at the mean current, 0 for permanent magnets, 1 for unsaturated series windings.
pub(super) fn flux(current: f64, law: f64) -> f64 {
    current / (law + (1.0 - law) * current)
}

/// Relative change of flux per relative change of current.
fn steepness(current: f64, law: f64) -> f64 {
    law / (law + (1.0 - law) * current)
}

/// Motor and crank on their way.
pub(super) struct Drive {
    step_s: f64,
    inertia: f64,
    share: f64,
    stall: f64,
    back: f64,
    law: f64,
    armature_s: f64,
    friction: f64,
    flux: f64,
    pub(super) angle: f64,
    pub(super) crank: f64,
    armature: f64,
    current: f64,
    pub(super) engaged: bool,
    degrees_per_step: f64,
}

impl Drive {
    pub(super) fn new(p: &[f64], step_s: f64) -> Self {
        let mut drive = Self {
            step_s,
            inertia: p[place::INERTIA].exp(),
            share: logistic(p[place::SHARE]),
            stall: 1.0 + p[place::STALL].exp(),
            back: (p[place::STALL] - p[place::PACE]).exp(),
            law: logistic(p[place::MOTOR_LAW]),
            armature_s: p[place::ARMATURE].exp(),
            friction: p[place::FRICTION],
            flux: 1.0,
            angle: p[place::ANGLE],
            crank: p[place::SPEED].clamp(SPEED_RANGE.0, SPEED_RANGE.1),
            armature: 0.0,
            current: 1.0,
            engaged: true,
            degrees_per_step: 720.0 / STEPS as f64,
        };
        drive.armature = drive.crank;
        drive.settle();
        drive
    }

    /// The current that belongs to a steady speed.
    fn settle(&mut self) {
        for _ in 0..8 {
            let flux = flux(self.current, self.law);
            let off = self.stall - self.current - self.back * self.armature * flux;
            let slope = 1.0
                + self.back * self.armature * steepness(self.current, self.law) * flux
                    / self.current;
            self.current = (self.current + off / slope).max(LEAST_CURRENT);
        }
        self.flux = flux(self.current, self.law);
    }

    pub(super) fn seen(&self, is_speed: bool) -> f64 {
        if is_speed { -self.crank } else { self.current }
    }

    pub(super) fn step(&mut self, table: &[f64]) {
        let back = self.back * self.armature * self.flux;
        let stiff = 1.0 + back * steepness(self.current, self.law) / self.current;
        let rate = self.step_s / self.armature_s;
        let motor_before = self.current * self.flux;
        self.current += rate * (self.stall - self.current - back) / (1.0 + rate * stiff);
        self.current = self.current.max(LEAST_CURRENT);
        self.flux = flux(self.current, self.law);
        let motor = 0.5 * (motor_before + self.current * self.flux);
        let gas = table_at(table, self.angle + 0.5 * self.crank * self.degrees_per_step);
        let load = self.friction + gas;
        let crank_before = self.crank;
        if self.engaged {
            let slope = (motor - load) / self.inertia;
            if motor < self.share * self.inertia * slope {
                self.engaged = false;
            } else {
                self.crank += slope * self.step_s;
                self.armature = self.crank;
            }
        }
        if !self.engaged {
            self.crank -= load / ((1.0 - self.share) * self.inertia) * self.step_s;
            self.armature += motor / (self.share * self.inertia) * self.step_s;
            if self.armature >= self.crank {
                let both = self.share * self.armature + (1.0 - self.share) * self.crank;
                (self.crank, self.armature, self.engaged) = (both, both, true);
            }
        }
        self.crank = self.crank.clamp(SPEED_RANGE.0, SPEED_RANGE.1);
        self.armature = self.armature.clamp(SPEED_RANGE.0, SPEED_RANGE.1);
        self.angle += 0.5 * (crank_before + self.crank) * self.degrees_per_step;
    }
}
