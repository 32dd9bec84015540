//! What a record shows in which no steady cranking was found, or hardly any.

use super::quality;
use crate::capture::setup::Analogue;
use crate::cranking::answer::{Check, SignalKind};
use crate::cranking::slicing::cycles::{LEAST_HARMONICS, Samples, fold};
use crate::cranking::slicing::marks::Marks;
use crate::engine::USUAL_RPM;

/// Samples at the range's end outside the inrush, percent, and jumps per second, from which a record without steady
/// cranking is spoiled by them: more than the key's release makes.
const CLIPPED_PERCENT: f64 = 5.0;
const JUMPS: f64 = 1.0;

/// Seconds for which an inrush stands at the range's end at the longest, with its tail behind an AC coupling.
const INRUSH_S: f64 = 0.5;

/// Marks that it takes to tell ripple and noise from one to the next.
const MARKS: usize = 4;

/// What spoils a record in which no steady cranking was found: only faults that an inrush or the release
/// of the key cannot look like.
pub fn spoiled(
    kind: SignalKind,
    samples: Samples<'_>,
    channel: &Analogue,
    firings: usize,
) -> Vec<Check> {
    if is_short(samples, false) {
        return Vec::new();
    }
    // the inrush is no part of the swing
    let mut sorted = samples.values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let spare = sorted.len() / 20;
    let swing = sorted[sorted.len() - 1 - spare] - sorted[spare];
    // a converter of a few steps also looks clipped and full of jumps
    if let Some(coarse) = quality::converter_steps(swing, converter_step(channel, samples))
        && !coarse.passed
    {
        return vec![coarse];
    }
    let firings_in_it = samples.seconds() * USUAL_RPM / 120.0 * firings as f64;
    let checks = [
        (
            clipped(
                kind,
                channel,
                samples.between(inrush_over(channel, samples), f64::INFINITY),
            ),
            CLIPPED_PERCENT,
        ),
        (quality::loose_connection(samples, samples, swing), JUMPS),
        (
            quality::undersampled(samples.values.len() as f64 / firings_in_it),
            0.0,
        ),
    ];
    checks
        .into_iter()
        .filter(|(check, from)| !check.passed && check.measured.is_some_and(|m| m >= *from))
        .map(|(check, _)| check)
        .collect()
}

/// Step of the converter, told or seen.
pub fn converter_step(channel: &Analogue, samples: Samples<'_>) -> Option<f64> {
    match (channel.bits, channel.full_scale) {
        (Some(bits), Some(range)) => Some(2.0 * range / 2f64.powi(bits as i32)),
        _ => quality::apparent_step(samples.values),
    }
}

/// That the engine runs, by the events of its reference.
pub fn running(marks: &Marks) -> Option<Check> {
    let told = marks.event_rpm.map(quality::engine_running);
    told.filter(|check| !check.passed)
}

/// What is told of a record that is too short for its cycles to be looked at; none where it is not.
pub fn short(samples: Samples<'_>, marks: &Marks, enough: bool) -> Option<Vec<Check>> {
    if !is_short(samples, enough) {
        return None;
    }
    let mut checks = vec![quality::too_short(samples.seconds(), 0.0)];
    checks.extend(running(marks));
    Some(checks)
}

/// Whether the cycles that a verdict needs take longer than a record at the fastest that an engine is cranked, or,
/// where so many were not found, at the usual speed.
fn is_short(samples: Samples<'_>, enough: bool) -> bool {
    let rpm = if enough {
        quality::RUNNING_RPM
    } else {
        USUAL_RPM
    };
    samples.seconds() < quality::limit::CYCLES * 120.0 / rpm
}

/// Ripple and noise from mark to mark over the whole record, where there are enough marks for that.
pub fn ripple(samples: Samples<'_>, marks: &Marks) -> Option<[Check; 2]> {
    let (first, last) = (samples.time[0], samples.time[samples.time.len() - 1]);
    let inside: Vec<f64> = marks
        .times
        .iter()
        .copied()
        .filter(|time| (first..=last).contains(time))
        .collect();
    // run-up and release are no cranking
    let spare = inside.len() / 5;
    let inside = &inside[spare..inside.len() - spare];
    if inside.len() < MARKS {
        return None;
    }
    let cycle = fold(samples, inside, LEAST_HARMONICS);
    Some(quality::ripple(cycle.error_share()))
}

/// When an inrush that ran off the range is over, seconds: it harms nothing, and is a great share of a short record.
pub fn inrush_over(channel: &Analogue, record: Samples<'_>) -> f64 {
    let at_end = quality::range_end(record.values, channel.full_scale, channel.bits);
    let first = record.values.iter().position(|value| at_end(*value));
    first.map_or(f64::NEG_INFINITY, |first| record.time[first] + INRUSH_S)
}

/// Samples at the end of a channel's range.
pub fn clipped(kind: SignalKind, channel: &Analogue, samples: Samples<'_>) -> Check {
    quality::clipped(samples, channel.full_scale, channel.bits, kind.unit())
}
