//! The reference channel: when its events happen, and what they look like.

use rand::{Rng, RngExt};
use rand_distr::{Distribution, StandardNormal};

use super::draw::within;
use super::drive::{Motion, STEP_S};
use super::plan::{Plan, ReferencePlan, ReferenceShape};
use crate::engine::Engine;

/// Volts of a reference event and its length, seconds.
const REFERENCE_V: f64 = 5.0;
const TRIGGER_S: f64 = 2.5e-3;

/// Decay of a spike, seconds.
const SPIKE_S: f64 = 8e-4;

/// Samples that an event lasts at least: a faster one would not be called a reference.
const SAMPLES: f64 = 2.5;

/// A channel that suits the engine, drawn but for a wanted shape; `every_deg` is 720 or 360.
pub fn draw(
    random: &mut impl Rng,
    engine: &Engine,
    every_deg: f64,
    wanted: Option<ReferenceShape>,
) -> ReferencePlan {
    let shapes = [
        ReferenceShape::TriggerRising,
        ReferenceShape::TriggerFalling,
        ReferenceShape::Spike,
        ReferenceShape::Injector,
        ReferenceShape::Cam,
    ];
    // a cam turns once per cycle: it gives no event per turn
    let drawn = shapes[random.random_range(0..if every_deg == 720.0 { 5 } else { 4 })];
    let shape = wanted.unwrap_or(drawn);
    let told = if shape == ReferenceShape::Cam {
        within(random, -60.0, 80.0)
    } else {
        within(random, 0.0, 15.0)
    };
    let error: f64 = StandardNormal.sample(random);
    ReferencePlan {
        shape,
        every_deg,
        cylinder: engine.firing_order()[random.random_range(0..engine.cylinders())],
        told_before_deg: told.round(),
        true_before_deg: told.round() + 3.0 * error.clamp(-2.5, 2.5),
        scatter_deg: within(random, 0.0, 0.5),
    }
}

/// Firing top dead centre of the event's cylinder, degrees after the first place's.
fn top_deg(plan: &Plan, reference: &ReferencePlan) -> f64 {
    let place = plan.engine.place_of(reference.cylinder).unwrap_or(0);
    plan.engine.firing_angles_deg()[place]
}

/// Times at which the reference event happens.
fn event_times(
    plan: &Plan,
    reference: &ReferencePlan,
    motion: &Motion,
    random: &mut impl Rng,
) -> Vec<f64> {
    let top = top_deg(plan, reference);
    let first = motion.angle[0];
    let last = motion.angle[motion.angle.len() - 1];
    let mut events = Vec::new();
    let mut turn = ((first - top) / reference.every_deg).floor() - 1.0;
    loop {
        let noise: f64 = StandardNormal.sample(random);
        let angle = top + turn * reference.every_deg - reference.true_before_deg
            + reference.scatter_deg * noise;
        if angle > last {
            return events;
        }
        if angle > first {
            let index = motion.angle.partition_point(|a| *a < angle);
            events.push(index as f64 * STEP_S);
        }
        turn += 1.0;
    }
}

/// Length of an event as a recording of that rate can show it, seconds.
fn length(plan: &Plan, shortest: f64) -> f64 {
    shortest.max(SAMPLES / plan.recording.rate_hz)
}

/// The channel's voltage at each step of the motion.
pub fn trace(
    plan: &Plan,
    reference: &ReferencePlan,
    motion: &Motion,
    random: &mut impl Rng,
) -> Vec<f64> {
    let events = event_times(plan, reference, motion, random);
    let top = top_deg(plan, reference);
    let trigger = length(plan, TRIGGER_S);
    let spike = length(plan, SPIKE_S);
    let mut next = 0;
    motion
        .angle
        .iter()
        .enumerate()
        .map(|(index, angle)| {
            let at = index as f64 * STEP_S;
            while next < events.len() && events[next] <= at {
                next += 1;
            }
            let since = if next > 0 {
                at - events[next - 1]
            } else {
                f64::INFINITY
            };
            match reference.shape {
                ReferenceShape::TriggerRising => high(since < trigger),
                ReferenceShape::TriggerFalling => high(since >= trigger),
                ReferenceShape::Spike => {
                    let decay = (-since / spike).exp();
                    if decay > 1e-6 {
                        3.0 * REFERENCE_V * decay * (since / (spike / 8.0)).cos()
                    } else {
                        0.0
                    }
                }
                ReferenceShape::Injector => {
                    // earthed at the event; the coil's field collapses when it is let go
                    let after = since - trigger;
                    if after < 0.0 {
                        0.0
                    } else {
                        REFERENCE_V * (2.4 + 8.0 * (-after / 4e-4).exp())
                    }
                }
                ReferenceShape::Cam => {
                    let local =
                        (angle - top + reference.true_before_deg).rem_euclid(reference.every_deg);
                    high(local >= 0.5 * reference.every_deg)
                }
            }
        })
        .collect()
}

fn high(is: bool) -> f64 {
    if is { REFERENCE_V } else { 0.0 }
}
