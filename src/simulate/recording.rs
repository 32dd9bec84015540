//! Sensors and converter: from what the vehicle did to the columns of a capture.

use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use super::draw::{Wish, log_within, within};
use super::drive::{Motion, STEP_S};
use super::plan::{BatteryPlan, Plan, RecordingPlan, ReferencePlan, ReferenceShape};
use crate::cranking::answer::SignalKind;
use crate::engine::Engine;

/// Volts of a reference event and its length, seconds.
const REFERENCE_V: f64 = 5.0;
const TRIGGER_S: f64 = 2.5e-3;

/// A recording that suits the signal, drawn.
pub fn draw(
    random: &mut impl Rng,
    engine: &Engine,
    wish: &Wish,
    battery: &BatteryPlan,
    mean_current: f64,
) -> RecordingPlan {
    let source = wish.source.unwrap_or(if random.random_bool(0.45) {
        SignalKind::StarterCurrent
    } else {
        SignalKind::BatteryVoltage
    });
    let voltage = source == SignalKind::BatteryVoltage;
    let coupled = voltage && wish.ac_coupled.unwrap_or_else(|| random.random_bool(0.6));
    let swing_v = battery.resistance * mean_current * 0.5;
    let (full_scale, noise, bits) = match (source, coupled) {
        (SignalKind::StarterCurrent, _) => {
            let range = [600.0, 1000.0, 2000.0]
                .into_iter()
                .find(|r| *r > 2.5 * mean_current);
            (
                range.unwrap_or(2000.0),
                mean_current * log_within(random, 0.002, 0.02),
                [12, 12, 14, 16],
            )
        }
        (_, true) => {
            let range = [1.0, 2.0, 5.0].into_iter().find(|r| *r > 2.2 * swing_v);
            (
                range.unwrap_or(5.0),
                swing_v * log_within(random, 0.004, 0.04),
                [10, 12, 12, 16],
            )
        }
        _ => {
            let range = if battery.rest_v > 15.0 { 50.0 } else { 20.0 };
            (
                range,
                swing_v * log_within(random, 0.004, 0.04),
                [12, 14, 14, 16],
            )
        }
    };
    let rate = [1000.0, 2000.0, 5000.0, 10_000.0][random.random_range(0..4)];
    let offset = if source == SignalKind::StarterCurrent {
        within(random, -8.0, 8.0)
    } else {
        within(random, -0.05, 0.05)
    };
    RecordingPlan {
        source,
        rate_hz: wish.rate_hz.unwrap_or(rate),
        bits: bits[random.random_range(0..4)],
        full_scale,
        coupling_hz: coupled.then(|| log_within(random, 0.1, 2.0)),
        coupling_told: random.random_bool(0.6),
        converter_told: random.random_bool(0.7),
        turned_over: random.random_bool(0.2),
        gain: within(random, 0.97, 1.03),
        offset,
        noise,
        bandwidth_hz: log_within(random, 300.0, 20_000.0),
        drop_outs_per_s: 0.0,
        wheel: (60, vec![2]),
        wheel_error_deg: within(random, 0.01, 0.06),
        reference: Some(reference(random, engine)),
    }
}

fn reference(random: &mut impl Rng, engine: &Engine) -> ReferencePlan {
    let shapes = [
        ReferenceShape::TriggerRising,
        ReferenceShape::TriggerFalling,
        ReferenceShape::Spike,
        ReferenceShape::Cam,
    ];
    let shape = shapes[random.random_range(0..4)];
    let told = if shape == ReferenceShape::Cam {
        within(random, -60.0, 80.0)
    } else {
        within(random, 0.0, 15.0)
    };
    let error: f64 = StandardNormal.sample(random);
    ReferencePlan {
        shape,
        every_deg: 720.0,
        cylinder: engine.firing_order()[random.random_range(0..engine.cylinders())],
        told_before_deg: told.round(),
        true_before_deg: told.round() + 3.0 * error.clamp(-2.5, 2.5),
        scatter_deg: within(random, 0.0, 0.5),
    }
}

/// The columns of a capture, rows evenly spaced.
#[derive(Debug, Clone, Default)]
pub struct Table {
    /// Seconds.
    pub time: Vec<f64>,
    /// The signal, in its unit.
    pub signal: Vec<f64>,
    /// The reference channel, volts.
    pub reference: Option<Vec<f64>>,
}

/// Record what the vehicle did.
#[must_use]
pub fn record(plan: &Plan, motion: &Motion) -> Table {
    let recording = &plan.recording;
    let mut random = ChaCha8Rng::seed_from_u64(plan.seed ^ 0x7265_636f_7264);
    let quantity = signal(plan, motion, &mut random);
    let rows = (plan.timing.end_s * recording.rate_hz).floor() as usize;
    let rows = rows.min(((motion.angle.len() - 1) as f64 * STEP_S * recording.rate_hz) as usize);
    let time: Vec<f64> = (0..rows)
        .map(|row| row as f64 / recording.rate_hz)
        .collect();
    let signal = time
        .iter()
        .map(|at| converted(recording, at_time(&quantity, *at), &mut random))
        .collect();
    let reference = recording.reference.map(|reference| {
        let events = event_times(plan, &reference, motion, &mut random);
        let shape: Vec<f64> = reference_trace(&reference, &events, motion, plan);
        time.iter()
            .map(|at| {
                let noise: f64 = StandardNormal.sample(&mut random);
                at_time(&shape, *at) + 0.02 * noise
            })
            .collect()
    });
    Table {
        time,
        signal,
        reference,
    }
}

fn at_time(values: &[f64], at: f64) -> f64 {
    let place = at / STEP_S;
    let index = (place as usize).min(values.len() - 2);
    let share = (place - index as f64).clamp(0.0, 1.0);
    values[index] * (1.0 - share) + values[index + 1] * share
}

/// The analogue signal before noise and converter: ripple of the commutator, bandwidth, coupling.
fn signal(plan: &Plan, motion: &Motion, random: &mut impl Rng) -> Vec<f64> {
    let recording = &plan.recording;
    let current = recording.source == SignalKind::StarterCurrent;
    let low_pass = 1.0 - (-std::f64::consts::TAU * recording.bandwidth_hz * STEP_S).exp();
    let high_pass = recording
        .coupling_hz
        .map_or(0.0, |hz| std::f64::consts::TAU * hz * STEP_S);
    // the coupling has settled on the rest level before the recording, or on what came just before it
    let first = if current {
        motion.current[0]
    } else {
        motion.posts[0]
    };
    let (mut smooth, mut blocked) = (
        first,
        if plan.timing.key_on_s < 0.0 {
            first
        } else {
            plan.battery.rest_v
        },
    );
    let mut drop_out = 0.0;
    motion
        .current
        .iter()
        .zip(&motion.posts)
        .zip(&motion.angle)
        .map(|((amps, volts), angle)| {
            let ripple =
                plan.starter.ripple * amps * (angle.to_radians() * plan.starter.commutations).sin();
            let raw = if current {
                amps + ripple
            } else {
                volts - plan.battery.resistance * ripple
            };
            smooth += (raw - smooth) * low_pass;
            let mut value = smooth;
            if recording.coupling_hz.is_some() {
                blocked += (smooth - blocked) * high_pass;
                value = smooth - blocked;
            }
            if random.random_bool((recording.drop_outs_per_s * STEP_S).min(1.0)) {
                drop_out = within(random, 0.002, 0.03);
            }
            drop_out -= STEP_S;
            if drop_out > 0.0 { value * 0.2 } else { value }
        })
        .collect()
}

fn converted(recording: &RecordingPlan, value: f64, random: &mut impl Rng) -> f64 {
    let noise: f64 = StandardNormal.sample(random);
    let mut value = value * recording.gain + recording.offset + recording.noise * noise;
    if recording.turned_over {
        value = -value;
    }
    let step = 2.0 * recording.full_scale / f64::from(1u32 << recording.bits);
    let code = (value / step).round();
    let most = f64::from(1u32 << (recording.bits - 1));
    code.clamp(-most, most - 1.0) * step
}

/// Times at which the reference event happens.
fn event_times(
    plan: &Plan,
    reference: &ReferencePlan,
    motion: &Motion,
    random: &mut impl Rng,
) -> Vec<f64> {
    let place = plan.engine.place_of(reference.cylinder).unwrap_or(0);
    let top = plan.engine.firing_angles_deg()[place];
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

fn reference_trace(
    reference: &ReferencePlan,
    events: &[f64],
    motion: &Motion,
    plan: &Plan,
) -> Vec<f64> {
    let place = plan.engine.place_of(reference.cylinder).unwrap_or(0);
    let top = plan.engine.firing_angles_deg()[place];
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
                ReferenceShape::TriggerRising => {
                    if since < TRIGGER_S {
                        REFERENCE_V
                    } else {
                        0.0
                    }
                }
                ReferenceShape::TriggerFalling => {
                    if since < TRIGGER_S {
                        0.0
                    } else {
                        REFERENCE_V
                    }
                }
                ReferenceShape::Spike => {
                    let decay = (-since / 8e-4).exp();
                    if decay > 1e-6 {
                        3.0 * REFERENCE_V * decay * (since / 1e-4).cos()
                    } else {
                        0.0
                    }
                }
                ReferenceShape::Cam => {
                    let local =
                        (angle - top + reference.true_before_deg).rem_euclid(reference.every_deg);
                    if local < 0.5 * reference.every_deg {
                        0.0
                    } else {
                        REFERENCE_V
                    }
                }
            }
        })
        .collect()
}
