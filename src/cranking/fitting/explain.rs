//! From a mean cycle to the fitted balance: what is known before, and priors with their reasons.

use super::fit::Fitted;
use super::starts::best_of_starts;
use crate::cranking::physics::model::{Course, EventPlace, Model, Prior, place};
use crate::cranking::slicing::cycles::MeanCycle;
use crate::engine::{Engine, Fuel};

/// How well a reference event's stated place is known, degrees.
const EVENT_SPREAD_DEG: f64 = 4.0;

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
