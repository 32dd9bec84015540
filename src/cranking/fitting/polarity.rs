//! Which way load points, and how far the record tells where "no load" lies.
//! Thresholds that name no source are our own choice, set on simulated captures, sound and unfit.

use crate::capture::edges::extremes;
use crate::capture::setup::{Analogue, Coupling, Polarity};
use crate::cranking::answer::SignalKind;
use crate::cranking::slicing::cycles::Samples;
use crate::cranking::slicing::window::{Window, median};

/// An inrush stands out from the ripple by this factor.
const INRUSH: f64 = 1.8;

/// Rested voltage assumed where the record does not show it: of a 12 V and a 24 V system.
const REST_V: (f64, f64) = (12.6, 25.2);

/// Where rested voltages lie: flooded and other lead-acid batteries from flat to just charged.
const RESTED_V: [std::ops::Range<f64>; 2] = [11.3..13.6, 22.8..27.2];

/// Greatest current at rest (a clamp's offset) over the mean while cranking.
const REST_SHARE: f64 = 0.3;

/// Mean voltage from which a system is one of 24 V.
pub(in crate::cranking) const HEAVY_V: f64 = 14.5;

/// Spread of the level above no load where it is seen before the crank, and where it is assumed.
const SEEN_SPREAD: f64 = 0.06;
const ASSUMED_SPREAD: f64 = 0.15;

/// What the record tells about its zero and its direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Direction {
    /// Factor that turns load up; none where the record does not tell.
    pub sign: Option<f64>,
    /// Mean level above no load in the window, load up, and its relative spread.
    pub level: Option<(f64, f64)>,
}

/// Find both.
#[must_use]
pub fn direction(
    kind: SignalKind,
    channel: &Analogue,
    samples: Samples<'_>,
    window: &Window,
) -> Direction {
    let inside: Vec<f64> = within(samples, window.start, window.end);
    let before = within(samples, f64::NEG_INFINITY, window.start);
    let mean = inside.iter().sum::<f64>() / inside.len().max(1) as f64;
    let (least, most) = extremes(&inside);
    let swing = most - least;
    let rest = rest_level(&before, swing).filter(|rest| plausible_rest(kind, *rest, mean));
    let told = channel.polarity.map(|polarity| match polarity {
        Polarity::LoadUp => 1.0,
        Polarity::LoadDown => -1.0,
    });
    if channel.coupling == Coupling::Ac {
        return Direction {
            sign: told.or_else(|| inrush(&before, median(inside.into_iter()), swing)),
            level: None,
        };
    }
    match kind {
        SignalKind::BatteryVoltage => {
            let sign = told.unwrap_or(if mean > 0.0 { -1.0 } else { 1.0 });
            let assumed = if mean.abs() > HEAVY_V {
                REST_V.1
            } else {
                REST_V.0
            };
            let (rest, spread) = rest.map_or((-sign * assumed, ASSUMED_SPREAD), |rest| {
                (rest, SEEN_SPREAD)
            });
            let level = sign * (mean - rest);
            Direction {
                sign: Some(sign),
                level: (level > 0.25 * swing).then_some((level, spread)),
            }
        }
        _ => {
            let zero = rest.unwrap_or(0.0);
            let sign = told.unwrap_or(if mean > zero { 1.0 } else { -1.0 });
            let level = sign * (mean - zero);
            let spread = if rest.is_some() {
                SEEN_SPREAD
            } else {
                1.5 * SEEN_SPREAD
            };
            Direction {
                sign: Some(sign),
                level: (level > 0.25 * swing).then_some((level, spread)),
            }
        }
    }
}

/// Level before the key was turned, if the record begins with a quiet stretch away from the window's.
fn rest_level(before: &[f64], swing: f64) -> Option<f64> {
    let head = &before[..before.len().min((before.len() / 12).max(8))];
    if head.len() < 4 {
        return None;
    }
    let (least, most) = extremes(head);
    (most - least < 0.5 * swing).then(|| median(head.iter().copied()))
}

/// A record that begins while the starter already turns has no rest level: a current at rest is far
/// smaller than while cranking, a voltage at rest greater.
fn plausible_rest(kind: SignalKind, rest: f64, mean: f64) -> bool {
    match kind {
        SignalKind::BatteryVoltage => {
            rest.abs() > mean.abs() && RESTED_V.iter().any(|range| range.contains(&rest.abs()))
        }
        _ => rest.abs() < REST_SHARE * mean.abs(),
    }
}

/// Direction of the inrush: the greatest excursion before the window, if it stands out.
fn inrush(before: &[f64], middle: f64, swing: f64) -> Option<f64> {
    if before.is_empty() {
        return None;
    }
    let (least, most) = extremes(before);
    let (down, up) = (middle - least, most - middle);
    let reach = 0.5 * swing * INRUSH;
    if up > reach && up > INRUSH * down {
        Some(1.0)
    } else if down > reach && down > INRUSH * up {
        Some(-1.0)
    } else {
        None
    }
}

fn within(samples: Samples<'_>, from: f64, to: f64) -> Vec<f64> {
    let (a, b) = (
        samples.time.partition_point(|t| *t < from),
        samples.time.partition_point(|t| *t < to),
    );
    samples.values[a..b.max(a)].to_vec()
}
