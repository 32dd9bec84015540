//! Relative compression from fitted peaks, with its standard error: the scatter of the cycles and what
//! was assumed both stand in the fit's covariance, because every assumption is a parameter with a prior.

use crate::cranking::fitting::explain::Explained;
use crate::cranking::physics::model::place;
use crate::engine::Loss;

/// Step of the derivatives, in units of the priors' spreads.
const STEP: f64 = 0.01;

/// What the model leaves out even where it fits, points: found on simulated engines that vary what the
/// fit assumes (shape of friction, sensors, saturation), see the accuracy report.
const LEFT_OUT_POINTS: f64 = 0.7;

/// The same for a loss, per square root of its points: leak and poor filling are told apart imperfectly.
const LEFT_OUT_OF_LOSS: f64 = 0.27;

/// By how much the covariance falls short on simulated engines, since harmonics that the model explains
/// alike badly are not independent.
const WIDER: f64 = 1.12;

/// Fits that are closer than what the model is trusted to still carry this share of it.
const LEAST_MISFIT: f64 = 0.25;

/// Quantile of the 95 % interval.
const QUANTILE: f64 = 1.96;

/// One place's relative compression, percent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Relative {
    /// The estimate.
    pub percent: f64,
    /// Lower end of its 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Peaks as percentages of the mean peak of the places in `sound`.
#[must_use]
pub fn relative(explained: &Explained, sound: &[usize]) -> Vec<Relative> {
    let fitted = &explained.fitted;
    let base: Vec<f64> = fitted.pulses.iter().map(|pulse| pulse.peak).collect();
    let percent = percentages(&base, sound);
    let gradients = gradients(explained, sound, &percent);
    let data = 2 * explained.model.data.harmonics.len();
    let misfit = (fitted.data_cost / data as f64).max(LEAST_MISFIT);
    percent
        .iter()
        .enumerate()
        .map(|(index, percent)| {
            let mut variance = 0.0;
            for (i, column) in gradients.iter().enumerate() {
                for (j, other) in gradients.iter().enumerate() {
                    variance += column[index] * fitted.covariance[(i, j)] * other[index];
                }
            }
            let left_out =
                LEFT_OUT_POINTS.powi(2) + LEFT_OUT_OF_LOSS.powi(2) * (100.0 - percent).max(0.0);
            let squared = WIDER * WIDER * misfit * variance.max(0.0) + left_out;
            let half_width = QUANTILE * squared.sqrt();
            Relative {
                percent: *percent,
                low: percent - half_width,
                high: percent + half_width,
            }
        })
        .collect()
}

fn percentages(peaks: &[f64], sound: &[usize]) -> Vec<f64> {
    let mean = sound.iter().map(|index| peaks[*index]).sum::<f64>() / sound.len().max(1) as f64;
    peaks
        .iter()
        .map(|peak| 100.0 * peak / mean.max(1e-9))
        .collect()
}

/// Change of every place's percentage per spread of each free parameter.
fn gradients(explained: &Explained, sound: &[usize], percent: &[f64]) -> Vec<Vec<f64>> {
    let (model, fitted) = (&explained.model, &explained.fitted);
    let mut moved = fitted.parameters.clone();
    fitted
        .free
        .iter()
        .map(|index| {
            let shapes = [place::RATIO, place::EXPONENT, place::INLET, place::COOLING];
            if *index < place::LOSSES && !shapes.contains(index) {
                return vec![0.0; percent.len()];
            }
            moved[*index] += STEP * model.priors[*index].spread;
            let peaks: Vec<f64> = if *index < place::LOSSES {
                model
                    .pulses(&moved)
                    .iter()
                    .map(|pulse| pulse.peak)
                    .collect()
            } else {
                let changed = (*index - place::LOSSES) % percent.len();
                let peak = |i: usize| {
                    if i == changed {
                        model.pulse(&moved, i).peak
                    } else {
                        fitted.pulses[i].peak
                    }
                };
                (0..percent.len()).map(peak).collect()
            };
            moved[*index] = fitted.parameters[*index];
            percentages(&peaks, sound)
                .iter()
                .zip(percent)
                .map(|(a, b)| (a - b) / STEP)
                .collect()
        })
        .collect()
}

/// Standard deviations by which a loss must be more the one than the other to be told.
const TELLING: f64 = 2.0;

/// What the greater part of a place's loss is, where the data tell.
#[must_use]
pub fn kind_of_loss(explained: &Explained, index: usize) -> Option<Loss> {
    let (model, fitted) = (&explained.model, &explained.fitted);
    let parameter = place::LOSSES + fitted.pulses.len() + index;
    let column = fitted.free.iter().position(|free| *free == parameter)?;
    let data = 2 * model.data.harmonics.len();
    let misfit = (fitted.data_cost / data as f64).max(LEAST_MISFIT);
    let deviation = WIDER * (misfit * fitted.covariance[(column, column)]).sqrt();
    // half and half lies at 0 of the logistic scale
    let off = fitted.parameters[parameter] / (deviation * model.priors[parameter].spread);
    if off > TELLING {
        Some(Loss::Filling)
    } else if off < -TELLING {
        Some(Loss::Leak)
    } else {
        None
    }
}
