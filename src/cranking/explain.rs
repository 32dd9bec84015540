//! From a mean cycle to the fitted balance: priors with their reasons, starts, and the stages of the fit.

use rayon::prelude::*;

use super::cycles::MeanCycle;
use super::fit::{Fitted, Reading, fit};
use super::model::{Course, EventPlace, Model, Prior, place};
use crate::engine::{Engine, Fuel};

/// How well a reference event's stated place is known, degrees.
const EVENT_SPREAD_DEG: f64 = 4.0;

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

/// What is known of a mean cycle before it is fitted.
#[derive(Debug, Clone, Copy)]
pub struct Circumstances<'a> {
    /// The engine.
    pub engine: &'a Engine,
    /// The reference event: share of the cycle's time after its start, and the crank angle there in
    /// degrees after the first place's firing.
    pub event: Option<(f64, f64)>,
    /// Crank angle at the cycle's greatest signal to start from where there is no event.
    pub guess_deg: f64,
    /// Mean level above no current and its relative spread, where the record tells it.
    pub level: Option<(f64, f64)>,
    /// Corner of an AC coupling and its relative spread; none for a direct channel.
    pub coupling: Option<Corner>,
    /// Whether the signal is crank speed.
    pub is_speed: bool,
}

/// What is known of an AC coupling.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Corner {
    /// Its corner, hertz.
    Told(f64),
    /// Nothing.
    Unknown,
}

/// A mean cycle explained.
#[derive(Debug, Clone)]
pub struct Explained {
    /// The model with its data.
    pub model: Model,
    /// The best fit.
    pub fitted: Fitted,
    /// The course of the cycle.
    pub course: Course,
    /// Share of the data's cycle at which the model's cycle starts.
    pub begins: f64,
}

/// Fit a mean cycle.
#[must_use]
pub fn explain(data: &MeanCycle, known: &Circumstances<'_>) -> Explained {
    let begins = data.greatest();
    let model = prepare(data, known, begins);
    let (model, fitted) = best_of_starts(&model);
    let course = model.course(&fitted.parameters, &fitted.table);
    Explained {
        model,
        fitted,
        course,
        begins,
    }
}

/// The best fit. Whether the crank overruns its starter divides the starts: which side fits is screened first,
/// the other side is tried where the first does not explain the data.
fn best_of_starts(model: &Model) -> (Model, Fitted) {
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
    if best.1.cost < WANTING * 2.0 * best.0.data.harmonics.len() as f64 {
        return best;
    }
    from_afar(best, &seen, &from_priors)
}

/// Starts that owe the backward fit nothing, where all others have failed: from level losses, over a grid of inertia,
/// overrun and angle. Inertia and overrun held at first find what lies far off, free ones what lies between.
fn from_afar(best: (Model, Fitted), seen: &Model, from_priors: &[f64]) -> (Model, Fitted) {
    let mut plain = seen.clone();
    plain.slowness.fill(1.0);
    let mut level = from_priors.to_vec();
    for (index, value) in level.iter_mut().enumerate() {
        if index >= place::LOSSES || index == place::ANGLE {
            *value = seen.priors[index].mean;
        }
    }
    let mut starts = vec![level];
    for (index, values) in FAR {
        starts = starts
            .iter()
            .flat_map(|start| {
                values.iter().map(move |value| {
                    let mut start = start.clone();
                    start[index] = if index == place::ANGLE {
                        start[index] + value
                    } else {
                        *value
                    };
                    start
                })
            })
            .collect();
    }
    let rounds: [&[usize]; 2] = [&[place::INERTIA, place::SHARE], &[]];
    let tried = rounds.into_iter().flat_map(|kept| {
        let mut screened: Vec<(Model, Fitted)> = starts
            .par_iter()
            .map(|start| {
                let mut p = start.clone();
                p[place::SCALE] = plain.best_scale(&p);
                screened(plain.clone(), &p, kept)
            })
            .collect();
        screened.sort_by(|a, b| a.1.cost.total_cmp(&b.1.cost));
        screened.truncate(FAR_TRIES);
        screened
            .into_par_iter()
            .map(|(model, fitted)| forward(model, fitted, kept))
            .collect::<Vec<_>>()
    });
    tried
        .chain([best.clone()])
        .min_by(|a, b| a.1.cost.total_cmp(&b.1.cost))
        .unwrap_or(best)
}

const WANTING: f64 = 2.5;
const FAR: [(usize, &[f64]); 3] = [
    (place::INERTIA, &[-2.3, -1.6, -0.9, -0.2]),
    (place::SHARE, &[-3.0, 0.0, 1.5]),
    (place::ANGLE, &[-30.0, 0.0, 30.0]),
];
const FAR_TRIES: usize = 6;

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

fn prepare(data: &MeanCycle, known: &Circumstances<'_>, begins: f64) -> Model {
    let firings = known.engine.firing_angles_deg();
    let mut priors = common_priors(data, known);
    for _ in &firings {
        // sound cylinders lose a few percent at their rings; what the others lose is the question
        priors.push(Prior {
            mean: 0.06,
            spread: 0.4,
        });
    }
    for _ in &firings {
        // leaks are the commoner loss; which it is shows only where there is much of it
        priors.push(Prior {
            mean: -1.0,
            spread: 2.0,
        });
    }
    let event = known.event.map(|(phase, angle_deg)| EventPlace {
        phase: (phase - begins).rem_euclid(1.0),
        angle_deg,
        spread_deg: EVENT_SPREAD_DEG,
    });
    priors[place::ANGLE] = match event {
        Some(event) => Prior {
            mean: event.angle_deg - 720.0 * event.phase,
            spread: 40.0,
        },
        None => Prior {
            mean: known.guess_deg,
            spread: 40.0,
        },
    };
    let top = data.at(begins) / priors[place::LEVEL].mean.exp();
    if !known.is_speed {
        // the locked-rotor current lies above the greatest
        let least = (1.3 * top).max(1e-3).ln();
        priors[place::STALL].mean = priors[place::STALL].mean.max(least);
    }
    let slow = if known.is_speed {
        top
    } else {
        top / priors[place::STALL].mean.exp()
    };
    priors[place::SPEED] = Prior {
        mean: (1.0 - slow).max(0.3),
        spread: 0.3,
    };
    let mut model = Model::new(data.clone().begun_later(begins), firings, priors);
    model.event = event;
    model.coupled = known.coupling.is_some();
    model.is_speed = known.is_speed;
    model
}

/// Priors of the parameters that all cylinders share, by [`place`].
fn common_priors(data: &MeanCycle, known: &Circumstances<'_>) -> Vec<Prior> {
    let prior = |mean: f64, spread: f64| Prior { mean, spread };
    let held = |mean: f64| Prior { mean, spread: 0.0 };
    let electric = |found: Prior| {
        if known.is_speed {
            held(found.mean)
        } else {
            found
        }
    };
    let mut priors = vec![held(0.0); place::LOSSES];
    priors[place::SCALE] = prior(0.5, 1.5);
    // flywheels and geared armatures; an order of magnitude either way
    priors[place::INERTIA] = prior(0.25f64.ln(), 0.8);
    // starters run at a third of their locked-rotor current, give or take
    priors[place::STALL] = prior(2f64.ln(), 0.45);
    priors[place::MOTOR_LAW] = prior(-0.5, 1.5);
    // 3 to 15 ms
    priors[place::ARMATURE] = electric(prior(0.006f64.ln(), 0.5));
    let (ratio, spread) = match known.engine.fuel() {
        Some(Fuel::Petrol) => (10.4, 0.12),
        Some(Fuel::Diesel) => (17.2, 0.08),
        None => (12.0, 0.28),
    };
    priors[place::RATIO] = prior(f64::ln(ratio), spread);
    priors[place::EXPONENT] = prior(1.34, 0.035);
    // from hardly any to a time constant of a tenth of a second
    priors[place::COOLING] = prior(-1.7, 1.3);
    priors[place::INLET] = prior(48.0, 13.0);
    priors[place::LEVEL] = match known.level {
        Some((level, spread)) => prior(level.max(1e-9).ln(), spread),
        None => prior((3.5 * data.swing()).max(1e-9).ln(), 1.0),
    };
    priors[place::CORNER] = match known.coupling {
        None => held(0.0),
        Some(Corner::Told(hz)) => prior(hz.ln(), 0.03),
        // 0.1 to 2 Hz
        Some(Corner::Unknown) => prior(0.45f64.ln(), 0.8),
    };
    priors[place::SHARE] = prior(-0.5, 1.5);
    // the gas gives back most of what it takes, so friction is most of the mean torque
    priors[place::FRICTION] = prior(0.8, 0.2);
    // rings and skirts rub with the pistons' speed, bearings do not
    priors[place::RUBBING] = prior(0.3, 0.15);
    priors[place::PACE] = electric(prior(0.0, 0.05));
    priors
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
