//! Levenberg-Marquardt over the model's parameters in units of their priors' spread; priors are residuals
//! like any other, so that what the data cannot tell stays where it was.

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::{DMatrix, DVector, Dyn, storage::Owned};
use rayon::prelude::*;

use crate::cranking::physics::model::{Model, place};
use crate::cranking::physics::pulse::Pulse;

/// Step of the numerical derivatives, in units of the prior's spread.
const STEP: f64 = 1e-3;

/// Evaluations per parameter before a fit is given up.
const PATIENCE: usize = 1;

/// How far a first step may go, in units of the start: far steps lose the way.
const FIRST_STEP: f64 = 0.5;

/// A prior's spread over that on the side of negative losses: carbon on a piston raises compression by some
/// percent, a loss may be anything.
const GAIN_STEEPNESS: f64 = 7.0;

/// Relative change at which a fit stops: a stage that only leads to the next, and the last.
const ROUGH: f64 = 0.03;
const FINE: f64 = 1e-3;

/// A fitted model.
#[derive(Debug, Clone)]
pub struct Fitted {
    /// All parameters.
    pub parameters: Vec<f64>,
    /// Pulse of each place.
    pub pulses: Vec<Pulse>,
    /// Their sum, see [`Model::torque_table`].
    pub table: Vec<f64>,
    /// Sum of squared residuals, priors included.
    pub cost: f64,
    /// The same without the priors.
    pub data_cost: f64,
    /// Covariance of the free parameters in units of their spreads.
    pub covariance: DMatrix<f64>,
    /// Places of the free parameters.
    pub free: Vec<usize>,
}

/// Which side the balance is read from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reading {
    /// From the signal backwards.
    Backward,
    /// From the torques forward.
    Forward,
}

struct Problem<'a> {
    model: &'a Model,
    reading: Reading,
    free: Vec<usize>,
    scaled: DVector<f64>,
    all: Vec<f64>,
    pulses: Vec<Pulse>,
    table: Vec<f64>,
}

impl<'a> Problem<'a> {
    fn new(model: &'a Model, reading: Reading, start: &[f64], held: &[usize]) -> Self {
        let free: Vec<usize> = (0..start.len())
            .filter(|i| model.priors[*i].spread > 0.0 && !held.contains(i))
            .collect();
        let scaled = DVector::from_iterator(
            free.len(),
            free.iter()
                .map(|i| (start[*i] - model.priors[*i].mean) / model.priors[*i].spread),
        );
        Self {
            model,
            reading,
            free,
            scaled,
            all: start.to_vec(),
            table: Vec::new(),
            pulses: Vec::new(),
        }
        .with_pulses()
    }
}

impl Problem<'_> {
    fn with_pulses(mut self) -> Self {
        self.compress();
        self
    }

    fn compress(&mut self) {
        self.pulses = self.model.pulses(&self.all);
        self.table = self.model.torque_table(&self.pulses);
    }

    fn explained(&self, p: &[f64], table: &[f64]) -> Vec<f64> {
        let mut all = match self.reading {
            Reading::Backward => self.model.balance_residuals(p, table),
            Reading::Forward => self.model.residuals(p, table),
        };
        all.iter_mut()
            .for_each(|residual| *residual /= self.model.slack);
        all
    }
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, scaled: &DVector<f64>) {
        self.scaled.copy_from(scaled);
        for (value, index) in self.scaled.iter().zip(&self.free) {
            let prior = self.model.priors[*index];
            // eight spreads off is no place to look; keeps exponentials finite
            self.all[*index] = prior.mean + prior.spread * value.clamp(-8.0, 8.0);
        }
        self.compress();
    }

    fn params(&self) -> DVector<f64> {
        self.scaled.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        let mut all = self.explained(&self.all, &self.table);
        all.extend(self.off_priors());
        Some(DVector::from_vec(all))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let base = self.explained(&self.all, &self.table);
        let rows = base.len();
        let columns: Vec<Vec<f64>> = self
            .free
            .par_iter()
            .map(|index| self.changed(*index))
            .collect();
        let mut jacobian = DMatrix::zeros(rows + self.free.len(), self.free.len());
        for (column, changed) in columns.iter().enumerate() {
            for row in 0..rows {
                jacobian[(row, column)] = (changed[row] - base[row]) / STEP;
            }
            jacobian[(rows + column, column)] = self.steepness(column);
        }
        Some(jacobian)
    }
}

impl Problem<'_> {
    /// How far each free parameter is from its prior.
    fn off_priors(&self) -> impl Iterator<Item = f64> {
        (0..self.free.len()).map(|column| self.steepness(column) * self.scaled[column])
    }

    /// How steeply a prior rises on the side on which the parameter is: losses go one way only, a cylinder
    /// that is much better than the common shape is hardly ever met.
    fn steepness(&self, column: usize) -> f64 {
        let losses = place::LOSSES..place::LOSSES + self.pulses.len();
        if losses.contains(&self.free[column]) && self.scaled[column] < 0.0 {
            GAIN_STEEPNESS
        } else {
            1.0
        }
    }

    /// Residuals with one parameter moved by a step.
    fn changed(&self, index: usize) -> Vec<f64> {
        let mut moved = self.all.clone();
        moved[index] += STEP * self.model.priors[index].spread;
        match index {
            place::RATIO | place::EXPONENT | place::INLET | place::COOLING => {
                let table = self.model.torque_table(&self.model.pulses(&moved));
                self.explained(&moved, &table)
            }
            loss if loss >= place::LOSSES => {
                let changed = (loss - place::LOSSES) % self.pulses.len();
                let mut table = self.table.clone();
                let pulse = self.model.pulse(&moved, changed);
                self.model
                    .add_pulse(&mut table, &self.pulses[changed], changed, -1.0);
                self.model.add_pulse(&mut table, &pulse, changed, 1.0);
                self.explained(&moved, &table)
            }
            _ => self.explained(&moved, &self.table),
        }
    }
}

/// Walk down from where a problem stands until a step changes little, or patience ends.
#[must_use]
pub fn minimised<P>(problem: P, little: f64) -> P
where
    P: LeastSquaresProblem<f64, Dyn, Dyn, ParameterStorage = Owned<f64, Dyn>>,
{
    LevenbergMarquardt::new()
        .with_patience(PATIENCE)
        .with_stepbound(FIRST_STEP)
        .with_ftol(little)
        .with_xtol(little)
        .with_gtol(1e-6)
        .minimize(problem)
        .0
}

/// Covariance of parameters whose residuals have a variance of 1; none where the residuals do not tell them.
#[must_use]
pub fn covariance(jacobian: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    let normal = jacobian.transpose() * jacobian;
    normal.cholesky().map(|solved| solved.inverse())
}

/// Fit from one start, with some parameters held where they start.
#[must_use]
pub fn fit(model: &Model, reading: Reading, start: &[f64], held: &[usize]) -> Fitted {
    let problem = Problem::new(model, reading, start, held);
    let problem = minimised(problem, if model.slack > 1.0 { ROUGH } else { FINE });
    let residuals = problem.explained(&problem.all, &problem.table);
    let data_cost: f64 = residuals.iter().map(|r| r * r).sum();
    let priors: f64 = problem.off_priors().map(|off| off * off).sum();
    let cost = data_cost + priors;
    let size = problem.free.len();
    let covariance = problem
        .jacobian()
        .and_then(|jacobian| covariance(&jacobian))
        .unwrap_or_else(|| DMatrix::identity(size, size));
    let cost = if cost.is_finite() { cost } else { f64::MAX };
    Fitted {
        parameters: problem.all,
        pulses: problem.pulses,
        table: problem.table,
        cost,
        data_cost,
        covariance,
        free: problem.free,
    }
}
