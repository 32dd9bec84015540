//! Events of the reference channel: edges through the middle of its range, or peaks.

use super::cycles::Samples;
use super::window::median;
use crate::capture::edges::{HYSTERESIS, extremes, passages};
use crate::capture::setup::Edge;

/// A burst's ringing and a second spark of a multiple-spark system belong to the same event, seconds:
/// at 350 rpm half a turn takes 86 ms.
pub(super) const SAME_EVENT_S: f64 = 0.025;

/// A channel whose excursions to one side of its rest are this many times those to the other is read by the
/// smaller ones where the edge is theirs (an injector is earthed at the event, and its coil's spike goes the
/// other way), if they reach this share of the range, which noise does not.
const LOPSIDED: f64 = 2.5;
const SMALLER_SHARE: f64 = 0.12;

/// Share of the greatest excursion from which another is an event too.
const PEAK_SHARE: f64 = 0.3;

/// Times of the events, seconds, interpolated between samples for edges.
#[must_use]
pub fn events(samples: Samples<'_>, edge: Edge) -> Vec<f64> {
    let (least, most) = extremes(samples.values);
    let range = most - least;
    if range.is_nan() || range <= 0.0 {
        return Vec::new();
    }
    match edge {
        Edge::Rising => levels(samples, least, most, 1.0),
        Edge::Falling => levels(samples, least, most, -1.0),
        Edge::Peak => peaks(samples, range),
    }
}

/// Edges in a direction, through the middle between the levels that the channel goes between.
fn levels(samples: Samples<'_>, least: f64, most: f64, direction: f64) -> Vec<f64> {
    let rest = median(samples.values.iter().copied());
    let (ahead, behind) = if direction > 0.0 {
        (most - rest, rest - least)
    } else {
        (rest - least, most - rest)
    };
    let range = most - least;
    if behind > LOPSIDED * ahead && ahead > SMALLER_SHARE * range {
        return edges(
            samples,
            rest + 0.5 * direction * ahead,
            HYSTERESIS * ahead,
            direction,
        );
    }
    edges(samples, 0.5 * (least + most), HYSTERESIS * range, direction)
}

fn edges(samples: Samples<'_>, middle: f64, hysteresis: f64, direction: f64) -> Vec<f64> {
    let mut found: Vec<f64> = Vec::new();
    for passage in passages(samples.values, middle, hysteresis, direction) {
        let at = passage.time(samples.time);
        if found.last().is_none_or(|last| at - last > SAME_EVENT_S) {
            found.push(at);
        }
    }
    found
}

/// Excursions from the median beyond a share of the greatest one (sampling catches a spike more or less
/// near its top); each burst counts where it is greatest.
fn peaks(samples: Samples<'_>, range: f64) -> Vec<f64> {
    let median = median(samples.values.iter().copied());
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
    fn an_injector_is_read_where_it_is_earthed() {
        let injector = |t: f64| {
            let since = (t + 0.1) % 0.5;
            if since < 0.003 {
                0.0
            } else {
                12.0 + 50.0 * (-(since - 0.003) / 4e-4).exp()
            }
        };
        let falling = events_of(injector, Edge::Falling);
        assert_eq!(falling.len(), 8);
        assert!((falling[0] - 0.4).abs() < 3e-4, "{}", falling[0]);
    }

    #[test]
    fn a_dead_channel_has_no_events() {
        assert!(events_of(|_| 2.5, Edge::Rising).is_empty());
    }
}
