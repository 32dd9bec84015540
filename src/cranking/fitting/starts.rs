//! The best of several fits: starts, which of them are worth fitting wholly, and the stages of a fit.
//! Thresholds that name no source are our own choice, set on simulated captures, sound and unfit.

use rayon::prelude::*;

use super::fit::{Fitted, Reading, fit};
use crate::cranking::physics::model::{Model, place};

/// Inertias from which the backward fit starts, as times in seconds.
const BACKWARD_STARTS: [f64; 2] = [0.1, 0.4];

/// A start of the forward fit.
struct Start {
    /// Whether it takes the common parameters from their priors instead of the backward fit.
    from_priors: bool,
    /// Inertia, where not the backward fit's or the prior's.
    inertia: Option<f64>,
    /// Armature's share of the inertia on a logistic scale.
    share: f64,
}

const fn start(from_priors: bool, inertia: Option<f64>, share: f64) -> Start {
    Start {
        from_priors,
        inertia,
        share,
    }
}

/// Starts that are screened: never overrunning, and overrunning more or less.
const SCREENED_STARTS: [Start; 9] = [
    start(false, None, -3.5),
    start(true, None, -3.5),
    start(true, None, 0.5),
    start(false, Some(0.3), 1.0),
    start(true, Some(0.15), 0.5),
    start(true, Some(0.3), 0.2),
    start(true, Some(0.3), 1.0),
    start(true, Some(0.6), 0.5),
    start(true, Some(0.6), 1.5),
];

/// Of these, at most so many are fitted wholly.
const TRIES: usize = 6;

/// Parameters that decide between the ways to explain a cycle.
const SCREENED: [usize; 9] = [
    place::SCALE,
    place::INERTIA,
    place::STALL,
    place::ANGLE,
    place::SHARE,
    place::FRICTION,
    place::SPEED,
    place::PACE,
    place::LEVEL,
];

/// Slack of the data while screening: what is held cannot fit well.
const SCREENED_SLACK: f64 = 3.0;

/// Slack of the data in the stages of the forward fit.
const STAGES: [f64; 3] = [10.0, 3.0, 1.0];

/// Loss that is a hole, and the loss from which such a cylinder is tried again.
const HOLE: f64 = 0.88;
const HALF_HOLE: f64 = 0.5;

/// Squared residuals, those of the priors among them, per datum below which no other start is tried.
const GOOD_ENOUGH: f64 = 1.1;

/// The same from which a fit is so poor that starts are sought from afar: mostly an overrun that every other start
/// took for none, or the reverse.
const WANTING: f64 = 2.5;

/// Grid of those starts: logarithm of the inertia, armature's share on a logistic scale, degrees off the angle's prior.
const FAR: [(usize, &[f64]); 3] = [
    (place::INERTIA, &[-2.3, -1.6, -0.9, -0.2]),
    (place::SHARE, &[-3.0, 0.0, 1.5]),
    (place::ANGLE, &[-30.0, 0.0, 30.0]),
];

/// Of these, at most so many are fitted wholly with inertia and overrun held at first, and as many with them free.
const FAR_TRIES: usize = 6;

/// The best fit. Whether the crank overruns its starter divides the starts: which side fits is screened first,
/// the other side is tried where the first does not explain the data.
pub fn best_of_starts(model: &Model) -> (Model, Fitted) {
    let first = BACKWARD_STARTS
        .into_iter()
        .map(|inertia| backward(model.clone(), inertia))
        .min_by(|a, b| a.1.cost.total_cmp(&b.1.cost))
        .unwrap_or_else(|| backward(model.clone(), BACKWARD_STARTS[0]));
    let (seen, own) = completed(&first);
    let from_priors = from_priors(&seen, &own);
    let mut screened: Vec<(Model, Fitted, &[usize])> = SCREENED_STARTS
        .par_iter()
        .map(|start| {
            let common = if start.from_priors {
                &from_priors
            } else {
                &own
            };
            screen(&seen, common.clone(), start)
        })
        .collect();
    screened.sort_by(|a, b| a.1.cost.total_cmp(&b.1.cost));
    // turn about: the best of those that find their own inertia, the best of those that overrun
    let (free, overrunning): (Vec<_>, Vec<_>) = screened
        .into_iter()
        .partition(|(_, _, held)| held.is_empty());
    let starts = free.into_iter().zip(overrunning).flat_map(|(a, b)| [a, b]);
    let enough = GOOD_ENOUGH * 2.0 * model.data.harmonics.len() as f64;
    let mut best: Option<(Model, Fitted)> = None;
    for (model, start, held) in starts.take(TRIES) {
        let next = forward(model, start, held);
        if best.as_ref().is_none_or(|best| next.1.cost < best.1.cost) {
            best = Some(next);
        }
        if best.as_ref().is_some_and(|best| best.1.cost < enough) {
            break;
        }
    }
    let best = best.unwrap_or(first);
    let wanting = WANTING * 2.0 * model.data.harmonics.len() as f64;
    if best.1.cost < wanting {
        return best;
    }
    from_afar(best, &seen, &from_priors)
}

/// Starts that owe the backward fit nothing, where all others have failed: from level losses, over a grid of inertia,
/// overrun and angle. Inertia and overrun held at first find what lies far off, free ones what lies between.
fn from_afar(best: (Model, Fitted), seen: &Model, from_priors: &[f64]) -> (Model, Fitted) {
    let mut plain = seen.clone();
    plain.slowness.fill(1.0);
    let starts = far_starts(&plain, from_priors);
    let rounds: [&[usize]; 2] = [&[place::INERTIA, place::SHARE], &[]];
    let tried = rounds.into_iter().flat_map(|kept| {
        let mut screened: Vec<(Model, Fitted)> = starts
            .par_iter()
            .map(|start| screened(plain.clone(), start, kept))
            .collect();
        screened.sort_by(|a, b| a.1.cost.total_cmp(&b.1.cost));
        screened.truncate(FAR_TRIES);
        screened
            .into_par_iter()
            .map(|(model, fitted)| forward(model, fitted, kept))
            .collect::<Vec<_>>()
    });
    tried.fold(best, |best, next| {
        if next.1.cost < best.1.cost {
            next
        } else {
            best
        }
    })
}

/// The grid of starts from afar.
fn far_starts(model: &Model, from_priors: &[f64]) -> Vec<Vec<f64>> {
    let mut level = from_priors.to_vec();
    for (index, value) in level.iter_mut().enumerate() {
        if index >= place::LOSSES || index == place::ANGLE {
            *value = model.priors[index].mean;
        }
    }
    let mut starts = vec![level];
    for (index, values) in FAR {
        let of = |start: &Vec<f64>, value: f64| {
            let mut start = start.clone();
            start[index] = if index == place::ANGLE {
                start[index] + value
            } else {
                value
            };
            start
        };
        starts = starts
            .iter()
            .flat_map(|start| values.iter().map(move |value| of(start, *value)))
            .collect();
    }
    for start in &mut starts {
        start[place::SCALE] = model.best_scale(start);
    }
    starts
}

/// The backward fit's model with the slowness that it saw, and its parameters with those that it does not know.
fn completed((model, first): &(Model, Fitted)) -> (Model, Vec<f64>) {
    let mut model = model.clone();
    let mut p = first.parameters.clone();
    model.learn_slowness(&model.balance_course(&p));
    model.complete(&mut p, &first.table);
    (model, p)
}

/// The same with the common parameters from their priors, but for the angle, and the scale that suits them.
fn from_priors(model: &Model, own: &[f64]) -> Vec<f64> {
    let mut p = own.to_vec();
    for (index, value) in p.iter_mut().enumerate().take(place::LOSSES) {
        if model.priors[index].spread > 0.0 && index != place::ANGLE {
            *value = model.priors[index].mean;
        }
    }
    p[place::SCALE] = model.best_scale(&p);
    p
}

/// Fit only what decides between the ways to explain a cycle, from one start.
fn screen(model: &Model, mut p: Vec<f64>, start: &Start) -> (Model, Fitted, &'static [usize]) {
    let model = model.clone();
    if let Some(inertia) = start.inertia {
        p[place::INERTIA] = f64::ln(inertia);
    }
    p[place::SHARE] = start.share;
    let kept: &[usize] = if start.inertia.is_some() {
        &[place::INERTIA, place::SHARE]
    } else {
        &[]
    };
    let (model, fitted) = screened(model, &p, kept);
    (model, fitted, kept)
}

/// Fit only what decides between the ways to explain a cycle, but for what is kept.
fn screened(mut model: Model, start: &[f64], kept: &[usize]) -> (Model, Fitted) {
    let held: Vec<usize> = (0..start.len())
        .filter(|index| !SCREENED.contains(index) || kept.contains(index))
        .collect();
    model.slack = SCREENED_SLACK;
    let fitted = fit(&model, Reading::Forward, start, &held);
    (model, fitted)
}

/// The forward fit of everything, in stages; once more with smaller losses where it ended with a hole, out of
/// which no slope leads.
fn forward(model: Model, fitted: Fitted, held: &[usize]) -> (Model, Fitted) {
    let (model, fitted) = staged(model, fitted, &STAGES, held);
    let losses = place::LOSSES..place::LOSSES + fitted.pulses.len();
    if fitted.parameters[losses.clone()]
        .iter()
        .all(|loss| *loss < HOLE)
    {
        return (model, fitted);
    }
    let mut again = fitted.clone();
    for loss in &mut again.parameters[losses] {
        *loss = loss.min(HALF_HOLE);
    }
    let (other, refitted) = staged(model.clone(), again, &STAGES[1..], &[]);
    if refitted.cost < fitted.cost {
        (other, refitted)
    } else {
        (model, fitted)
    }
}

fn staged(mut model: Model, mut fitted: Fitted, stages: &[f64], held: &[usize]) -> (Model, Fitted) {
    for (stage, slack) in stages.iter().enumerate() {
        model.slack = *slack;
        let held = if stage == 0 { held } else { &[] };
        fitted = fit(&model, Reading::Forward, &fitted.parameters, held);
        if *slack > 1.0 {
            let course = model.course(&fitted.parameters, &fitted.table);
            model.learn_slowness(&course);
        }
    }
    (model, fitted)
}

/// The backward fit, in two steps, from one inertia.
fn backward(mut model: Model, inertia: f64) -> (Model, Fitted) {
    let late = [place::SHARE, place::FRICTION, place::SPEED, place::PACE];
    let mut held = late.to_vec();
    held.extend([
        place::MOTOR_LAW,
        place::ARMATURE,
        place::RATIO,
        place::EXPONENT,
    ]);
    held.extend([place::INLET, place::CORNER, place::COOLING, place::RUBBING]);
    let places = model.firings_deg.len();
    held.extend(place::LOSSES + places..place::LOSSES + 2 * places);
    let mut start: Vec<f64> = model.priors.iter().map(|prior| prior.mean).collect();
    start[place::INERTIA] = inertia.ln();
    start[place::SCALE] = model.best_scale(&start);
    model.slack = 20.0;
    let rough = fit(&model, Reading::Backward, &start, &held);
    let course = model.balance_course(&rough.parameters);
    model.learn_slowness(&course);
    model.slack = 5.0;
    let fitted = fit(&model, Reading::Backward, &rough.parameters, &late);
    (model, fitted)
}
