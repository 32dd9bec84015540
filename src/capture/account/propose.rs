//! Which column is which, from the data: a reference looks unlike a current. These are proposals for a
//! person to confirm; nothing is analysed by them.
//! Numbers that name no source are our own choice.

use serde::{Deserialize, Serialize};

use crate::capture::edges::{HYSTERESIS, extremes, passages};

/// Share of the range within which a value is at a level.
const LEVEL: f64 = 0.12;

/// Share of samples at one of two levels that makes a channel one of levels.
const TWO_LEVELS: f64 = 0.9;

/// Share of samples away from the usual level that a channel of bursts has at most.
const BURSTS: f64 = 0.06;

/// Reference events come once in one or two turns: at 40 to 500 rpm, 0.3 to 9 a second. A sensor's teeth
/// come far more often.
const EVENTS_HZ: std::ops::RangeInclusive<f64> = 0.2..=10.0;
const TEETH_HZ: f64 = 18.0;

/// Battery voltages while cranking and at rest, of 12 V and 24 V (common practice, no source).
const BATTERY_V: std::ops::RangeInclusive<f64> = 5.0..=32.0;

/// Swing of an AC-coupled battery voltage, at most.
const RIPPLE_V: f64 = 12.0;

/// A starter draws more than this.
const LEAST_CURRENT_A: f64 = 40.0;

/// A channel that a column may be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Proposal {
    /// The column's number, from 1.
    pub column: u64,
    /// Its heading.
    pub heading: String,
    /// The channel; none where it looks like none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub channel: Option<String>,
    /// More keys of the channel, as a set-up writes them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub keys: Vec<String>,
    /// Why.
    pub because: String,
}

/// Look at a column. `unit` is `V` or `A`, where the file says it.
#[must_use]
pub fn propose(
    column: u64,
    heading: &str,
    unit: Option<&str>,
    time: &[f64],
    values: &[f64],
) -> Proposal {
    let seen = Seen::of(time, values);
    let (channel, keys, because) = seen.verdict(unit);
    Proposal {
        column,
        heading: heading.to_owned(),
        channel: channel.map(str::to_owned),
        keys,
        because,
    }
}

/// What is seen of a column.
struct Seen {
    least: f64,
    greatest: f64,
    middle: f64,
    /// Share of samples at the least or greatest level.
    at_levels: f64,
    /// Share of samples away from the usual level.
    away: f64,
    /// Passages through the middle, one way, a second.
    crossings_hz: f64,
    /// Bursts a second.
    bursts_hz: f64,
}

impl Seen {
    fn of(time: &[f64], values: &[f64]) -> Self {
        let finite: Vec<f64> = values
            .iter()
            .copied()
            .filter(|value| value.is_finite())
            .collect();
        let (least, greatest) = extremes(&finite);
        let range = greatest - least;
        let mut sorted = finite.clone();
        let half = sorted.len() / 2;
        let middle = match sorted.len() {
            0 => 0.0,
            _ => *sorted.select_nth_unstable_by(half, f64::total_cmp).1,
        };
        let count = finite.len().max(1) as f64;
        let share =
            |is: &dyn Fn(f64) -> bool| finite.iter().filter(|v| is(**v)).count() as f64 / count;
        let seconds = match (time.first(), time.last()) {
            (Some(first), Some(last)) if last > first => last - first,
            _ => 1.0,
        };
        let up = passages(&finite, least + 0.5 * range, HYSTERESIS * range, 1.0).len();
        let far: Vec<f64> = finite.iter().map(|value| (value - middle).abs()).collect();
        let reach = far.iter().copied().fold(0.0, f64::max);
        Self {
            least,
            greatest,
            middle,
            at_levels: share(&|v| v - least < LEVEL * range || greatest - v < LEVEL * range),
            away: share(&|v| (v - middle).abs() > 0.3 * reach),
            crossings_hz: up as f64 / seconds,
            bursts_hz: bursts(time, &far, 0.3 * reach) as f64 / seconds,
        }
    }

    fn verdict(&self, unit: Option<&str>) -> (Option<&'static str>, Vec<String>, String) {
        let range = self.greatest - self.least;
        if range.is_nan() || range <= 0.0 {
            return (None, Vec::new(), "it stands still".to_owned());
        }
        if self.at_levels >= TWO_LEVELS && self.crossings_hz >= TEETH_HZ {
            let because = format!(
                "two levels, {:.0} edges a second: teeth pass",
                self.crossings_hz
            );
            return (Some("crank_speed"), vec!["wheel: 60-2".to_owned()], because);
        }
        let is_event = self.at_levels >= TWO_LEVELS || self.away <= BURSTS;
        if is_event && EVENTS_HZ.contains(&self.bursts_hz) && unit != Some("A") {
            let edge = match (
                self.at_levels >= TWO_LEVELS,
                self.middle > f64::midpoint(self.least, self.greatest),
            ) {
                (false, _) => "peak",
                (true, true) => "falling",
                (true, false) => "rising",
            };
            let keys = ["cylinder: 1", "every_deg: 720", &format!("edge: {edge}")]
                .map(str::to_owned)
                .to_vec();
            let because = format!(
                "short events from a steady level, {:.1} a second",
                self.bursts_hz
            );
            return (Some("reference"), keys, because);
        }
        let size = self.least.abs().max(self.greatest.abs());
        if unit == Some("A") || (unit.is_none() && size > LEAST_CURRENT_A) {
            let because = format!("up to {size:.0} A, as a starter draws");
            return (Some("starter_current"), Vec::new(), because);
        }
        if BATTERY_V.contains(&self.middle.abs()) {
            let because = format!("around {:.1} V, as a battery has", self.middle);
            return (Some("battery_voltage"), Vec::new(), because);
        }
        if unit == Some("V") && range <= RIPPLE_V && self.middle.abs() < 0.25 * range {
            let because = "a few volts about zero: a battery's ripple, AC-coupled".to_owned();
            return (
                Some("battery_voltage"),
                vec!["coupling: ac".to_owned()],
                because,
            );
        }
        (
            None,
            Vec::new(),
            "it looks like none of the channels".to_owned(),
        )
    }
}

/// Stretches away from the usual level, those within a fortieth of a second taken as one.
fn bursts(time: &[f64], far: &[f64], reach: f64) -> usize {
    let mut last: Option<f64> = None;
    let mut count = 0;
    for (at, size) in time.iter().zip(far) {
        if *size > reach && reach > 0.0 {
            count += usize::from(last.is_none_or(|last| at - last > 0.025));
            last = Some(*at);
        }
    }
    count
}

#[cfg(test)]
mod tests {
    use super::*;

    fn proposed(unit: Option<&str>, value: impl Fn(f64) -> f64) -> Proposal {
        let time: Vec<f64> = (0..10_000).map(|row| f64::from(row) * 1e-3).collect();
        let values: Vec<f64> = time.iter().map(|t| value(*t)).collect();
        propose(2, "x", unit, &time, &values)
    }

    #[test]
    fn columns_are_told_by_how_they_look() {
        let ripple = |t: f64| (std::f64::consts::TAU * 7.0 * t).sin();
        let cranking = |t: f64| if (1.0..8.0).contains(&t) { 1.0 } else { 0.0 };
        let pulse = |t: f64| if t % 0.6 < 0.01 { 5.0 } else { 0.0 };
        for (unit, shape, channel, key) in [
            (
                None,
                &(|t| 150.0 * cranking(t) + 20.0 * ripple(t) * cranking(t)) as &dyn Fn(f64) -> f64,
                Some("starter_current"),
                "",
            ),
            (
                Some("V"),
                &|t| 12.5 - cranking(t) * (2.0 + 0.3 * ripple(t)),
                Some("battery_voltage"),
                "",
            ),
            (
                Some("V"),
                &|t| 0.4 * cranking(t) * ripple(t),
                Some("battery_voltage"),
                "coupling: ac",
            ),
            (Some("V"), &pulse, Some("reference"), "edge: rising"),
            (
                None,
                &|t| 5.0 - pulse(t),
                Some("reference"),
                "edge: falling",
            ),
            (
                None,
                &|t| {
                    if t % 0.6 < 0.004 {
                        30.0 * (t * 3000.0).sin()
                    } else {
                        0.0
                    }
                },
                Some("reference"),
                "edge: peak",
            ),
            (
                None,
                &|t| if (t * 100.0).fract() < 0.5 { 5.0 } else { 0.0 },
                Some("crank_speed"),
                "wheel: 60-2",
            ),
            (None, &|_| 3.0, None, ""),
            (None, &|t| 0.1 * t, None, ""),
        ] {
            let found = proposed(unit, shape);
            assert_eq!(found.channel.as_deref(), channel, "{found:?}");
            assert!(
                key.is_empty() || found.keys.contains(&key.to_owned()),
                "{found:?}"
            );
        }
    }
}
