//! Cycle marks: times one engine cycle apart, and what is known of the crank angle there.

use super::cycles::Samples;
use super::reference;
use super::rhythm;
use super::teeth;
use super::window;
use crate::capture::Capture;
use crate::capture::setup::{Setup, Teeth};
use crate::engine::CYCLE_DEG;

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
    /// Crank speed that most of the reference events tell, revolutions per minute.
    pub event_rpm: Option<f64>,
}

/// From the reference, or from the signal's own rhythm.
#[must_use]
pub fn of_signal(capture: &Capture, setup: &Setup, samples: Samples<'_>) -> Marks {
    of_reference(capture, setup, samples).unwrap_or_else(|| Marks {
        times: rhythm::cycle_marks(samples, &setup.engine),
        event: None,
        rhythm: None,
        event_rpm: None,
    })
}

/// From the reference, or from every second turn of the wheel.
#[must_use]
pub fn of_teeth(
    speed: &teeth::Speed,
    channel: &Teeth,
    capture: &Capture,
    setup: &Setup,
    samples: Samples<'_>,
) -> Marks {
    of_reference(capture, setup, samples).unwrap_or_else(|| {
        let known = channel.gap_before_tdc_deg.filter(|_| speed.unique);
        Marks {
            times: speed.turns.iter().step_by(2).copied().collect(),
            event: known.map(|before| (CYCLE_DEG / 2.0, top_of(setup, 1) - before)),
            rhythm: None,
            event_rpm: None,
        }
    })
}

fn of_reference(capture: &Capture, setup: &Setup, samples: Samples<'_>) -> Option<Marks> {
    let reference = setup.channels.reference.as_ref()?;
    let channel = Samples {
        time: &capture.time,
        values: &capture.columns[&reference.column],
    };
    let mut times = reference::events(channel, reference.edge);
    if times.len() < 2 {
        return None;
    }
    let per_cycle: u32 = if reference.every_deg == CYCLE_DEG {
        1
    } else {
        2
    };
    let gap = window::median(times.windows(2).map(|pair| pair[1] - pair[0]));
    let event_rpm = Some(120.0 / (gap * f64::from(per_cycle)));
    let mut rhythm = None;
    if let Some(typical) = window::typical_gap(&times, f64::from(per_cycle)) {
        times = window::filled(&times, typical);
        rhythm = Some(typical * f64::from(per_cycle));
    } else {
        let marks = rhythm::cycle_marks(samples, &setup.engine);
        let length = window::median(marks.windows(2).map(|pair| pair[1] - pair[0]));
        if length > 0.0 {
            rhythm = Some(length);
            times = window::filled(&times, length / f64::from(per_cycle));
        }
    }
    let times: Vec<f64> = times.into_iter().step_by(per_cycle as usize).collect();
    let angle_deg = top_of(setup, reference.cylinder) - reference.before_tdc_deg;
    Some(Marks {
        times,
        event: Some((reference.every_deg, angle_deg)),
        rhythm,
        event_rpm,
    })
}

/// Firing top dead centre of a cylinder, degrees after the first place's.
fn top_of(setup: &Setup, cylinder: usize) -> f64 {
    setup.engine.firing_angles_deg()[setup.engine.place_of(cylinder).unwrap_or(0)]
}
