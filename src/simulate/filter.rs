//! First-order filters of a recording, stepped: a sensor's and lead's low-pass, an AC coupling's high-pass.

use std::f64::consts::TAU;

/// A low-pass, exact for a level that stays over a step.
#[derive(Debug, Clone, Copy)]
pub struct LowPass {
    share: f64,
    level: f64,
}

impl LowPass {
    /// Settled on `level`.
    #[must_use]
    pub fn settled(corner_hz: f64, step_s: f64, level: f64) -> Self {
        Self {
            share: 1.0 - (-TAU * corner_hz * step_s).exp(),
            level,
        }
    }

    /// One step.
    pub fn pass(&mut self, value: f64) -> f64 {
        self.level += (value - self.level) * self.share;
        self.level
    }
}

/// A high-pass: what is left of a value without its slow part. Right to the first order of the step: to a
/// thousandth at a corner of 2 Hz and steps of 0.1 ms.
#[derive(Debug, Clone, Copy)]
pub struct HighPass {
    share: f64,
    blocked: f64,
}

impl HighPass {
    /// Settled on `level`, which is blocked.
    #[must_use]
    pub fn settled(corner_hz: f64, step_s: f64, level: f64) -> Self {
        Self {
            share: TAU * corner_hz * step_s,
            blocked: level,
        }
    }

    /// One step.
    pub fn pass(&mut self, value: f64) -> f64 {
        self.blocked += (value - self.blocked) * self.share;
        value - self.blocked
    }
}
