//! What a picture of the capture shows, made once with the analysis.

use super::answer::{Drawing, Identified, SignalKind};
use super::attempt::Attempt;
use super::slicing::cycles::Samples;
use crate::capture::edges::extremes;
use crate::engine::Engine;

/// Stretches of a trace, each drawn by its least and greatest value.
const STRETCHES: usize = 400;

/// Share of the window's length that is shown before and after it.
const AROUND: f64 = 0.12;

/// Draw an attempt. `references` are the times of the reference events.
#[must_use]
pub fn draw(attempt: &Attempt, engine: &Engine, references: &[f64]) -> Option<Drawing> {
    let found = attempt.found.as_ref()?;
    let window = attempt.window.as_ref()?;
    let samples = attempt.samples();
    let length = (window.end - window.start) / window.cycles;
    let around = AROUND * (window.end - window.start);
    let (from, to) = (window.start - around, window.end + around);
    let middle = window.cuts[(window.cuts.len() - 1) / 2];
    let mut label = attempt.kind.name().to_owned();
    if found.sign < 0.0 || attempt.kind == SignalKind::CrankSpeed {
        label.push_str(", drawn upside down so that load points up");
    }
    Some(Drawing {
        label,
        unit: attempt.kind.unit().to_owned(),
        trace: thinned(samples.between(from, to), found.sign),
        window: (rounded(window.start), rounded(window.end)),
        firings: firings(attempt, engine),
        references: references
            .iter()
            .filter(|t| (from..=to).contains(*t))
            .map(|t| rounded(*t))
            .collect(),
        detail: thinned(samples.between(middle, middle + 2.0 * length), found.sign),
    })
}

/// Least and greatest value of each stretch, in the order in which they occur.
fn thinned(samples: Samples<'_>, sign: f64) -> Vec<(f64, f64)> {
    let count = samples.values.len();
    let point = |index: usize| {
        (
            rounded(samples.time[index]),
            rounded(sign * samples.values[index]),
        )
    };
    if count <= 2 * STRETCHES {
        return (0..count).map(point).collect();
    }
    let mut points = Vec::with_capacity(2 * STRETCHES);
    for part in 0..STRETCHES {
        let (from, to) = (part * count / STRETCHES, (part + 1) * count / STRETCHES);
        let (least, most) = extremes(&samples.values[from..to]);
        let place = |wanted: f64| {
            (from..to)
                .find(|index| samples.values[*index] == wanted)
                .unwrap_or(from)
        };
        let (a, b) = (place(least), place(most));
        points.push(point(a.min(b)));
        if a != b {
            points.push(point(a.max(b)));
        }
    }
    points
}

/// Times of the firing top dead centres inside the window, each with cylinder or position.
fn firings(attempt: &Attempt, engine: &Engine) -> Vec<(f64, usize)> {
    let (Some(found), Some(window)) = (&attempt.found, &attempt.window) else {
        return Vec::new();
    };
    let angles = &found.explained.course.angles;
    let steps = (angles.len() - 1) as f64;
    let mut all = Vec::new();
    for (place, firing) in engine.firing_angles_deg().into_iter().enumerate() {
        let turns = ((angles[0] - firing) / 720.0).ceil();
        let wanted = firing + 720.0 * turns;
        let index = angles
            .partition_point(|angle| *angle < wanted)
            .min(angles.len() - 1);
        let share = found.explained.begins + index as f64 / steps;
        let name = if found.identified == Identified::PositionOnly {
            place + 1
        } else {
            engine.firing_order()[place]
        };
        for pair in window.cuts.windows(2) {
            let at = pair[0] + (share % 1.0) * (pair[1] - pair[0]);
            all.push((rounded(at), name));
        }
    }
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    all
}

/// Six significant digits suffice for a picture and keep the record short.
fn rounded(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return 0.0;
    }
    let digits = 5 - value.abs().log10().floor() as i32;
    let scale = 10f64.powi(digits.clamp(0, 12));
    (value * scale).round() / scale
}
