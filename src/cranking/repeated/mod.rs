//! Whether two captures are of one crank: the one a cut of the other, saved anew with other decimals, scaled, turned
//! over or sampled otherwise. Two cranks of an engine are alike in their mean cycle, so that proves nothing. What no
//! second crank repeats is all that one cycle does not have from the one before: noise, and how strong and how long
//! each compression came out. It is measured within each capture, from cycle to cycle; where one capture explains the
//! other far better than its own next cycle does, both hold the same crank.

mod alike;
mod curve;

use self::alike::Steady;
use crate::capture::Capture;
use crate::capture::setup::{Analogue, Setup};
use crate::cranking::cycles::Samples;
use crate::cranking::judging::quality;
use crate::cranking::slicing::marks;
use crate::cranking::slicing::window;
use crate::cranking::teeth;

/// What one capture leaves of the other, over what cycles leave of each other, below which both are of one crank. By
/// what simulated pairs show (see the tests): two cranks leave about as much as cycles do or far more; one crank saved
/// otherwise leaves less than a tenth. Nearer to the latter, because a crank refused wrongly costs the starter another.
pub(crate) const ONE_CRANK: f64 = 0.25;

/// Whether two captures are of one crank. Signals of different kinds are not compared, nor is what has no steady
/// cranking: no verdict hangs on it.
#[must_use]
pub fn is_one_crank(first: (&Capture, &Setup), second: (&Capture, &Setup)) -> bool {
    left_over(first, second).is_some_and(|left| left < ONE_CRANK)
}

/// What the signal that both captures have leaves of each other, over what its cycles leave of each other: about one
/// or more for two cranks, next to nothing for one. The least where they have several.
pub(crate) fn left_over(first: (&Capture, &Setup), second: (&Capture, &Setup)) -> Option<f64> {
    let signals = [current, voltage, teeth];
    let both = signals.iter().filter_map(|signal| {
        let (one, other) = (signal(first.0, first.1)?, signal(second.0, second.1)?);
        alike::left_over(&one, &other)
    });
    both.min_by(f64::total_cmp)
}

fn current(capture: &Capture, setup: &Setup) -> Option<Steady> {
    analogue(capture, setup, setup.channels.starter_current.as_ref()?)
}

fn voltage(capture: &Capture, setup: &Setup) -> Option<Steady> {
    analogue(capture, setup, setup.channels.battery_voltage.as_ref()?)
}

fn analogue(capture: &Capture, setup: &Setup, channel: &Analogue) -> Option<Steady> {
    let samples = Samples {
        time: &capture.time,
        values: capture.columns.get(&channel.column)?,
    };
    let marks = marks::of_signal(capture, setup, samples);
    let at_end = quality::range_end(samples.values, channel.full_scale, channel.bits);
    steady(samples, marks.first()?, setup, at_end)
}

/// The speed that a wheel's teeth tell.
fn teeth(capture: &Capture, setup: &Setup) -> Option<Steady> {
    let channel = setup.channels.crank_speed.as_ref()?;
    let sensor = Samples {
        time: &capture.time,
        values: capture.columns.get(&channel.column)?,
    };
    let speed = teeth::speed(sensor, channel).ok()?;
    let samples = Samples {
        time: &speed.time,
        values: &speed.slowness,
    };
    let marks = marks::of_teeth(&speed, channel, capture, setup);
    steady(samples, &marks, setup, |_| false)
}

fn steady(
    samples: Samples<'_>,
    marks: &marks::Marks,
    setup: &Setup,
    at_end: impl Fn(f64) -> bool,
) -> Option<Steady> {
    let firings = setup.engine.cylinders();
    let window = window::find(samples, &marks.times, firings, marks.rhythm, at_end)?;
    Some(Steady {
        curve: curve::Curve::of(samples),
        from: window.start,
        to: window.end,
        cycle: (window.end - window.start) / window.cycles,
        firings,
    })
}

#[cfg(test)]
mod tests;
