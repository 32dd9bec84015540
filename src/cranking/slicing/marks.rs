//! Cycle marks: times one engine cycle apart, and what is known of the crank angle there.

use super::cycles::Samples;
use super::reference;
use super::rhythm;
use super::teeth;
use super::window;
use crate::capture::Capture;
use crate::capture::edges::extremes;
use crate::capture::setup::{Setup, Teeth};
use crate::engine::{CYCLE_DEG, Engine};

/// Gaps between events that it takes to tell a speed by them alone, and how long the typical one is at least, in times
/// that belong to one event: a channel on which nothing happens crosses the middle of its noise soon after each such time.
/// On a record that is long enough to crank on, a fast engine's events may come as close.
const LEAST_GAPS: usize = 3;
const CLEAR_OF_SAME: f64 = 1.6;

/// Typical step from sample to sample, share of the range, from which a channel is noise: of normal noise it is an eighth
/// or more, of pulses next to nothing. Both set on captures cut to a fraction of a second.
const NOISE_STEP: f64 = 0.08;

/// Cycle marks.
#[derive(Debug, Clone, PartialEq)]
pub struct Marks {
    /// Their times, seconds.
    pub times: Vec<f64>,
    /// Where they are known events: degrees between events (720 or 360), and the crank angle at a mark,
    /// degrees after the first place's firing.
    pub event: Option<(f64, f64)>,
    /// Length of a cycle, seconds, where it is known better than from the times' distances.
    pub rhythm: Option<f64>,
    /// Crank speed that most of the reference events tell, revolutions per minute; none where they may be noise.
    pub event_rpm: Option<f64>,
}

/// From the reference, or from the signal's own rhythm: at each pace that it may have, the likeliest first.
#[must_use]
pub fn of_signal(capture: &Capture, setup: &Setup, samples: Samples<'_>) -> Vec<Marks> {
    let marks = of_reference(capture, setup, || {
        paces(samples, &setup.engine)
            .iter()
            .map(|times| length(times))
            .collect()
    });
    if !marks.is_empty() {
        return marks;
    }
    paces(samples, &setup.engine)
        .into_iter()
        .map(|times| Marks {
            times,
            event: None,
            rhythm: None,
            event_rpm: None,
        })
        .collect()
}

/// From the reference, or from every second turn of the wheel.
#[must_use]
pub fn of_teeth(speed: &teeth::Speed, channel: &Teeth, capture: &Capture, setup: &Setup) -> Marks {
    let turns: Vec<f64> = speed.turns.iter().step_by(2).copied().collect();
    let marks = of_reference(capture, setup, || vec![length(&turns)]);
    marks.into_iter().next().unwrap_or_else(|| {
        let known = channel.gap_before_tdc_deg.filter(|_| speed.unique);
        Marks {
            times: turns,
            event: known.map(|before| (CYCLE_DEG / 2.0, top_of(setup, 1) - before)),
            rhythm: None,
            event_rpm: None,
        }
    })
}

/// Cycle marks of the signal's own rhythm, and of other paces that it leaves open: of two cylinders one may be a hole,
/// and the other's one pulse per cycle repeats as the pulses of two alike do at half the speed.
fn paces(samples: Samples<'_>, engine: &Engine) -> Vec<Vec<f64>> {
    let found = rhythm::cycle_marks(samples, engine);
    if engine.cylinders() != 2 || found.len() < 2 {
        return vec![found];
    }
    let between = found.windows(2).map(|pair| 0.5 * (pair[0] + pair[1]));
    let mut twice: Vec<f64> = found.iter().copied().chain(between).collect();
    twice.sort_by(f64::total_cmp);
    let half: Vec<f64> = found.iter().step_by(2).copied().collect();
    let others = [twice, half].into_iter();
    std::iter::once(found)
        .chain(others.filter(|times| rhythm::RPM.contains(&(120.0 / length(times)))))
        .collect()
}

/// Length of a cycle from marks of cycles, seconds; not a number where there are fewer than two.
fn length(times: &[f64]) -> f64 {
    window::median(times.windows(2).map(|pair| pair[1] - pair[0]))
}

/// The typical distance of events, seconds; none where they may be noise.
fn clear_gap(events: &[f64], channel: Samples<'_>) -> Option<f64> {
    let (least, most) = extremes(channel.values);
    let steps = channel.values.windows(2);
    let step = window::median(steps.map(|pair| (pair[1] - pair[0]).abs()));
    let typical = length(events);
    let is_clear = events.len() > LEAST_GAPS
        && (channel.is_long() || typical > CLEAR_OF_SAME * reference::SAME_EVENT_S)
        && step < NOISE_STEP * (most - least);
    is_clear.then_some(typical)
}

/// From the reference; where its events do not lie regularly, with each length of a cycle in turn that `lengths` gives.
/// Empty where there are none.
fn of_reference(
    capture: &Capture,
    setup: &Setup,
    lengths: impl FnOnce() -> Vec<f64>,
) -> Vec<Marks> {
    let Some(reference) = setup.channels.reference.as_ref() else {
        return Vec::new();
    };
    let channel = Samples {
        time: &capture.time,
        values: &capture.columns[&reference.column],
    };
    let events = reference::events(channel, reference.edge);
    if events.len() < 2 {
        return Vec::new();
    }
    let per_cycle: u32 = if reference.every_deg == CYCLE_DEG {
        1
    } else {
        2
    };
    let angle_deg = top_of(setup, reference.cylinder) - reference.before_tdc_deg;
    let marks = |times: Vec<f64>, rhythm| Marks {
        times: times.into_iter().step_by(per_cycle as usize).collect(),
        event: Some((reference.every_deg, angle_deg)),
        rhythm,
        event_rpm: clear_gap(&events, channel).map(|gap| 120.0 / (gap * f64::from(per_cycle))),
    };
    let spaced = |gap: f64| {
        let rhythm = Some(gap * f64::from(per_cycle));
        marks(window::filled(&events, gap), rhythm)
    };
    if let Some(typical) = window::typical_gap(&events, f64::from(per_cycle)) {
        return vec![spaced(typical)];
    }
    let told: Vec<Marks> = lengths()
        .into_iter()
        .filter(|length| *length > 0.0)
        .map(|length| spaced(length / f64::from(per_cycle)))
        .collect();
    if told.is_empty() {
        return vec![marks(events.clone(), None)];
    }
    told
}

/// Firing top dead centre of a cylinder, degrees after the first place's.
fn top_of(setup: &Setup, cylinder: usize) -> f64 {
    setup.engine.firing_angles_deg()[setup.engine.place_of(cylinder).unwrap_or(0)]
}
