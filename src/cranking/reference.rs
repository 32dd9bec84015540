//! Events of the reference channel: edges through the middle of its range, or peaks.

use super::cycles::Samples;
use crate::capture::setup::Edge;

/// A burst's ringing and a second spark of a multiple-spark system belong to the same event, seconds:
/// at 350 rpm half a turn takes 86 ms.
const SAME_EVENT_S: f64 = 0.025;

/// Hysteresis about the middle, share of the range.
const HYSTERESIS: f64 = 0.15;

/// Share of the greatest excursion from which another is an event too.
const PEAK_SHARE: f64 = 0.3;

/// Times of the events, seconds, interpolated between samples for edges.
#[must_use]
pub fn events(samples: Samples<'_>, edge: Edge) -> Vec<f64> {
    let (least, most) = samples
        .values
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
            (a.min(*v), b.max(*v))
        });
    let range = most - least;
    if range.is_nan() || range <= 0.0 {
        return Vec::new();
    }
    match edge {
        Edge::Rising => edges(samples, 0.5 * (least + most), HYSTERESIS * range, 1.0),
        Edge::Falling => edges(samples, 0.5 * (least + most), HYSTERESIS * range, -1.0),
        Edge::Peak => peaks(samples, range),
    }
}

fn edges(samples: Samples<'_>, middle: f64, hysteresis: f64, direction: f64) -> Vec<f64> {
    let mut found: Vec<f64> = Vec::new();
    let level = |v: f64| direction * (v - middle);
    let mut armed = level(samples.values[0]) < 0.0;
    for index in 1..samples.values.len() {
        let (before, here) = (
            level(samples.values[index - 1]),
            level(samples.values[index]),
        );
        if armed && here >= 0.0 {
            let share = if here > before {
                -before / (here - before)
            } else {
                1.0
            };
            let (t0, t1) = (samples.time[index - 1], samples.time[index]);
            let at = t0 + (t1 - t0) * share.clamp(0.0, 1.0);
            if found.last().is_none_or(|last| at - last > SAME_EVENT_S) {
                found.push(at);
            }
            armed = false;
        } else if here < -hysteresis {
            armed = true;
        }
    }
    found
}

/// Excursions from the median beyond a share of the greatest one (sampling catches a spike more or less
/// near its top); each burst counts where it is greatest.
fn peaks(samples: Samples<'_>, range: f64) -> Vec<f64> {
    let mut sorted = samples.values.to_vec();
    let middle = sorted.len() / 2;
    let (_, median, _) = sorted.select_nth_unstable_by(middle, f64::total_cmp);
    let median = *median;
    let greatest = samples
        .values
        .iter()
        .map(|v| (v - median).abs())
        .fold(0.0, f64::max);
    let threshold = PEAK_SHARE * greatest.max(0.5 * range);
    let mut found: Vec<(f64, f64, f64)> = Vec::new();
    for (at, value) in samples.time.iter().zip(samples.values) {
        let size = (value - median).abs();
        if size < threshold {
            continue;
        }
        match found.last_mut() {
            Some((start, best, place)) if at - *start <= SAME_EVENT_S => {
                if size > *best {
                    (*best, *place) = (size, *at);
                }
            }
            _ => found.push((*at, size, *at)),
        }
    }
    found.into_iter().map(|(_, _, place)| place).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn events_of(shape: impl Fn(f64) -> f64, edge: Edge) -> Vec<f64> {
        let time: Vec<f64> = (0..20_000).map(|i| f64::from(i) * 2e-4).collect();
        let values: Vec<f64> = time.iter().map(|t| shape(*t)).collect();
        events(
            Samples {
                time: &time,
                values: &values,
            },
            edge,
        )
    }

    #[test]
    fn edges_and_peaks_are_found_where_they_are() {
        let pulse = |t: f64| if (t + 0.1) % 0.5 < 0.003 { 5.0 } else { 0.0 };
        let rising = events_of(pulse, Edge::Rising);
        let falling = events_of(pulse, Edge::Falling);
        assert_eq!((rising.len(), falling.len()), (8, 8));
        assert!((rising[0] - 0.4).abs() < 3e-4, "{}", rising[0]);
        assert!((falling[0] - 0.403).abs() < 3e-4, "{}", falling[0]);
        // a spike that rings for some milliseconds is one event
        let ringing = |t: f64| {
            let since = (t + 0.1) % 0.5;
            20.0 * (-since / 1e-3).exp() * (since / 2e-4).cos()
        };
        let peaks = events_of(ringing, Edge::Peak);
        assert_eq!(peaks.len(), 8);
        assert!((peaks[0] - 0.4).abs() < 3e-4, "{}", peaks[0]);
    }

    #[test]
    fn a_dead_channel_has_no_events() {
        assert!(events_of(|_| 2.5, Edge::Rising).is_empty());
    }
}
