//! Sensors and converter: from what the vehicle did to the columns of a capture.

use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use super::draw::{ReferenceWish, Wish, log_within, within};
use super::drive::{Motion, STEP_S};
use super::filter::{HighPass, LowPass};
use super::plan::{BatteryPlan, FeedPlan, Plan, RecordingPlan, Spacing};
use super::{reference, wheel};
use crate::cranking::answer::SignalKind;
use crate::engine::Engine;

/// A recording that suits the signal, drawn. `mean_current` is in amperes, `firing_hz` the rate of firings.
pub fn draw(
    random: &mut impl Rng,
    engine: &Engine,
    wish: &Wish,
    battery: &BatteryPlan,
    mean_current: f64,
    firing_hz: f64,
) -> RecordingPlan {
    let source = wish.source.unwrap_or_else(|| {
        let kinds = [
            SignalKind::StarterCurrent,
            SignalKind::StarterCurrent,
            SignalKind::BatteryVoltage,
            SignalKind::BatteryVoltage,
            SignalKind::BatteryVoltage,
            SignalKind::CrankSpeed,
        ];
        kinds[random.random_range(0..kinds.len())]
    });
    let voltage = source == SignalKind::BatteryVoltage;
    let coupled = voltage && wish.ac_coupled.unwrap_or_else(|| random.random_bool(0.6));
    let (full_scale, noise, bits) = scale(random, source, coupled, battery, mean_current);
    let offset = if source == SignalKind::StarterCurrent {
        within(random, -8.0, 8.0)
    } else {
        within(random, -0.05, 0.05)
    };
    let spacing = if random.random_bool(0.1) {
        Spacing::Uneven(within(random, 0.1, 0.45))
    } else {
        Spacing::Even
    };
    let rate_hz = wish
        .rate_hz
        .unwrap_or_else(|| rate(random, source, firing_hz));
    let reference = wish.reference.unwrap_or_else(|| {
        use ReferenceWish::{Cycle, None, Turn};
        [Cycle, Turn, None][(random.random_range(0.0..1.0f64).powi(3) * 3.0) as usize]
    });
    let reference = match reference {
        ReferenceWish::Cycle => Some(reference::draw(random, engine, 720.0, wish.shape)),
        ReferenceWish::Turn => Some(reference::draw(random, engine, 360.0, wish.shape)),
        ReferenceWish::None => None,
    };
    RecordingPlan {
        source,
        rate_hz,
        bits: bits[random.random_range(0..4)],
        full_scale,
        coupling_hz: coupled
            .then(|| log_within(random, 0.1, 2.0))
            .map(|drawn| wish.corner_hz.unwrap_or(drawn)),
        coupling_told: random.random_bool(0.6) || wish.corner_hz.is_some(),
        converter_told: random.random_bool(0.7),
        turned_over: random.random_bool(0.2),
        gain: within(random, 0.97, 1.03),
        offset,
        noise,
        wrong_cable: false,
        feed: (voltage && wish.connector.unwrap_or(random.random_bool(0.3))).then(|| feed(random)),
        spacing,
        bandwidth_hz: log_within(random, 300.0, 20_000.0),
        drop_outs_per_s: 0.0,
        wheel: wheel::draw(random, wish.wheel.as_ref()),
        reference,
    }
}

/// Range, noise and the bits of converters to draw from, as somebody sets a scope for this signal.
fn scale(
    random: &mut impl Rng,
    source: SignalKind,
    coupled: bool,
    battery: &BatteryPlan,
    mean_current: f64,
) -> (f64, f64, [u32; 4]) {
    let swing_v = battery.resistance * mean_current * 0.5;
    match (source, coupled) {
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
    }
}

/// Samples per second, mostly as a technician sets them; at the lower end a dozen for each firing.
fn rate(random: &mut impl Rng, source: SignalKind, firing_hz: f64) -> f64 {
    if source == SignalKind::CrankSpeed {
        return log_within(random, 20_000.0, 200_000.0).round();
    }
    if random.random_bool(0.75) {
        return [1000.0, 2000.0, 5000.0, 10_000.0][random.random_range(0..4)];
    }
    let least = (12.0 * firing_hz).max(95.0);
    log_within(random, least, 50_000.0).round()
}

/// Wiring of a diagnostic connector behind its fuse, and what else hangs on it, drawn.
fn feed(random: &mut impl Rng) -> FeedPlan {
    FeedPlan {
        resistance: log_within(random, 0.01, 0.08),
        steady_a: within(random, 0.5, 5.0),
        switching_a: within(random, 0.0, 1.5),
        switching_hz: log_within(random, 0.1, 1.5),
        ripple_a: within(random, 0.0, 0.4),
        ripple_hz: log_within(random, 30.0, 300.0),
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
    let mut random = ChaCha8Rng::seed_from_u64(plan.noise() ^ 0x7265_636f_7264);
    let shape = recording
        .reference
        .map(|reference| reference::trace(plan, &reference, motion, &mut random));
    let (time, signal) = if recording.source == SignalKind::CrankSpeed {
        let changes = wheel::changes(plan, motion);
        if recording.wheel.by_change {
            return by_change(&changes, shape.as_deref());
        }
        let time = row_times(plan, motion, &mut random);
        let slant = 0.7 / recording.rate_hz;
        let levels = wheel::sampled(&changes, &time, 3.0 * slant);
        let noisy = levels.into_iter().map(|level| {
            let noise: f64 = StandardNormal.sample(&mut random);
            level * recording.gain + 0.01 * noise
        });
        let signal = noisy.collect();
        (time, signal)
    } else {
        let quantity = signal(plan, motion, &mut random);
        let time = row_times(plan, motion, &mut random);
        let signal = time
            .iter()
            .map(|at| converted(recording, at_time(&quantity, *at), &mut random))
            .collect();
        (time, signal)
    };
    let reference = shape.map(|shape| {
        let noisy = time.iter().map(|at| {
            let noise: f64 = StandardNormal.sample(&mut random);
            at_time(&shape, *at) + 0.02 * noise
        });
        noisy.collect()
    });
    Table {
        time,
        signal,
        reference,
    }
}

fn row_times(plan: &Plan, motion: &Motion, random: &mut impl Rng) -> Vec<f64> {
    let recording = &plan.recording;
    let rows = (plan.timing.end_s * recording.rate_hz).floor() as usize;
    let rows = rows.min(((motion.angle.len() - 1) as f64 * STEP_S * recording.rate_hz) as usize);
    (0..rows)
        .map(|row| {
            let off = match recording.spacing {
                Spacing::Even => 0.0,
                Spacing::Uneven(share) => within(random, -share, share),
            };
            ((row as f64 + off) / recording.rate_hz).max(0.0)
        })
        .collect()
}

/// One row per change of the sensor's level, and one per change of the reference.
fn by_change(changes: &[(f64, f64)], reference: Option<&[f64]>) -> Table {
    let mut rows: Vec<(f64, Option<f64>)> = vec![(
        0.0,
        Some(changes.first().map_or(0.0, |(_, level)| 5.0 - level)),
    )];
    rows.extend(changes.iter().map(|(time, level)| (*time, Some(*level))));
    if let Some(trace) = reference {
        let moved = trace
            .windows(2)
            .enumerate()
            .filter(|(_, pair)| (pair[1] - pair[0]).abs() > 1.0);
        rows.extend(moved.map(|(index, _)| ((index + 1) as f64 * STEP_S + 1e-7, None)));
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    }
    let mut level = 0.0;
    let mut table = Table::default();
    for (time, change) in rows {
        level = change.unwrap_or(level);
        table.time.push(time);
        table.signal.push(level);
    }
    table.reference =
        reference.map(|trace| table.time.iter().map(|at| at_time(trace, *at)).collect());
    table
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
    // the coupling has settled on the rest level before the recording, or on what came just before it
    let first = if current {
        motion.current[0]
    } else {
        motion.posts[0]
    };
    let blocked = if plan.timing.key_on_s < 0.0 {
        first
    } else {
        plan.battery.rest_v
    };
    let mut bandwidth = LowPass::settled(recording.bandwidth_hz, STEP_S, first);
    let mut coupling = recording
        .coupling_hz
        .map(|hz| HighPass::settled(hz, STEP_S, blocked));
    let mut drop_out = 0.0;
    let rest = plan.battery.rest_v;
    // around another cable there are the other loads, and nothing of the starter
    let (through, astray) = if recording.wrong_cable {
        (0.0, plan.battery.other_a)
    } else {
        (1.0, 0.0)
    };
    let mut behind_fuse = fuse_drop(recording.feed, rest);
    motion
        .current
        .iter()
        .zip(&motion.posts)
        .zip(&motion.angle)
        .map(|((amps, volts), angle)| {
            let ripple =
                plan.starter.ripple * amps * (angle.to_radians() * plan.starter.commutations).sin();
            let raw = if current {
                through * (amps + ripple) + astray
            } else {
                let posts = rest + through * (volts - plan.battery.resistance * ripple - rest);
                posts - behind_fuse(random, posts)
            };
            if random.random_bool((recording.drop_outs_per_s * STEP_S).min(1.0)) {
                drop_out = within(random, 0.002, 0.03);
            }
            drop_out -= STEP_S;
            // the contact lies before the coupling, which sees the whole level come and go
            let smooth = bandwidth.pass(raw);
            let arrives = if drop_out > 0.0 { 0.2 * smooth } else { smooth };
            coupling
                .as_mut()
                .map_or(arrives, |coupling| coupling.pass(arrives))
        })
        .collect()
}

/// Voltage lost behind a fuse, step by step, from the voltage at the posts.
fn fuse_drop<R: Rng>(feed: Option<FeedPlan>, rest: f64) -> impl FnMut(&mut R, f64) -> f64 {
    let (mut on, mut at) = (false, 0.0);
    move |random, posts| {
        let Some(feed) = feed else {
            return 0.0;
        };
        at += STEP_S;
        if random.random_bool((feed.switching_hz * STEP_S).min(1.0)) {
            on = !on;
        }
        let switched = if on { feed.switching_a } else { 0.0 };
        let ripple = feed.ripple_a * (std::f64::consts::TAU * feed.ripple_hz * at).sin();
        feed.resistance * ((feed.steady_a + switched) * posts / rest + ripple)
    }
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
