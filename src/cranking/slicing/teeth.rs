//! Crank angle and speed from a toothed wheel: edges, gaps, a smooth curve through the teeth. No electrical constant is
//! needed; wheel errors stay in the speed, where they repeat every turn and average out of what differs
//! between cylinders.
//! Thresholds that name no source are our own choice, set on simulated captures, sound and unfit.

use super::cycles::Samples;
use super::spline::between;
use super::wheel::{Wheel, bends, learnt, longest_fit};
use super::window::median;
use crate::capture::edges::{HYSTERESIS, extremes, passages};
use crate::capture::setup::{Edge, Teeth};

/// Rows that come at a steady rate are this near their typical distance, share of it.
const EVEN: f64 = 0.2;

/// Spacing at which the speed is told between teeth, degrees.
const FINEST_DEG: f64 = 2.0;

/// Share of the turns that may fail to fit the wheel: starting and stopping are among them.
const MISFITS: f64 = 0.6;

/// Edges below which the sensor shows none, and turns (three cycles) below which a wheel that cannot be followed has
/// hardly turned.
const FEWEST_EDGES: usize = 8;
const FEW_TURNS: usize = 6;

/// Why a sensor gave no speed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoSpeed {
    /// The wheel's description cannot be read.
    Wheel,
    /// There are no edges to speak of.
    Edges,
    /// There are edges, but of a turn or two only.
    Few,
    /// The edges do not fit the wheel.
    Pattern,
}

/// Speed from teeth.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Speed {
    /// Seconds, some degrees of the wheel apart.
    pub time: Vec<f64>,
    /// Speed turned over, so that load points up: −degrees per second.
    pub slowness: Vec<f64>,
    /// Times of the last tooth before gap 1 (of every n-th tooth where there is no gap), one per turn.
    pub turns: Vec<f64>,
    /// Whether `turns` mark a place on the wheel that can be told from all others.
    pub unique: bool,
    /// Share of the turns outside the longest stretch that fits the wheel.
    pub misfits: f64,
    /// Of each gap, the teeth before and behind it, degrees of the wheel.
    pub gaps_deg: Vec<(f64, f64)>,
}

/// Speed and turns from the sensor's column.
///
/// # Errors
/// Where the wheel cannot be read or the edges do not fit it.
pub fn speed(samples: Samples<'_>, teeth: &Teeth) -> Result<Speed, NoSpeed> {
    let wheel = Wheel::parse(&teeth.wheel).ok_or(NoSpeed::Wheel)?;
    let edges: Vec<Edge> = match teeth.edge {
        Some(edge) => vec![edge],
        None => vec![Edge::Falling, Edge::Rising],
    };
    let mut best: Option<Speed> = None;
    let mut most = 0;
    for edge in edges {
        let times = edge_times(samples, edge);
        most = most.max(times.len());
        if times.len() < 2 * wheel.positions {
            continue;
        }
        let found = decode(&times, &wheel, teeth.gaps_at.as_deref());
        if best
            .as_ref()
            .is_none_or(|best| found.misfits < best.misfits)
        {
            best = Some(found);
        }
    }
    match best {
        Some(speed) if speed.misfits <= MISFITS => Ok(speed),
        _ if most < FEWEST_EDGES => Err(NoSpeed::Edges),
        _ if most < FEW_TURNS * wheel.teeth() => Err(NoSpeed::Few),
        _ => Err(NoSpeed::Pattern),
    }
}

/// Whether a column of two levels has a row for each change, and not rows at a steady rate: most rows change it, or
/// they come at no steady rate.
fn by_change(samples: Samples<'_>) -> bool {
    let changes = samples.values.windows(2).filter(|pair| pair[0] != pair[1]);
    2 * changes.count() > samples.values.len() || !even(samples.time)
}

/// Whether rows come at a steady rate.
fn even(time: &[f64]) -> bool {
    let steps = || time.windows(2).map(|pair| pair[1] - pair[0]);
    let typical = median(steps());
    let near = steps()
        .filter(|step| (step / typical - 1.0).abs() < EVEN)
        .count();
    10 * near > 9 * (time.len() - 1)
}

/// Times of the edges. A column of levels with a row per change holds the change's own time; a sampled
/// one is interpolated through the middle of its range.
fn edge_times(samples: Samples<'_>, edge: Edge) -> Vec<f64> {
    let (least, most) = extremes(samples.values);
    let direction = if edge == Edge::Falling { -1.0 } else { 1.0 };
    let by_change = samples.values.iter().all(|v| *v == least || *v == most) && by_change(samples);
    passages(
        samples.values,
        0.5 * (least + most),
        HYSTERESIS * (most - least),
        direction,
    )
    .iter()
    .map(|passage| {
        if by_change {
            samples.time[passage.index]
        } else {
            passage.time(samples.time)
        }
    })
    .collect()
}

/// Speed and turns from the times of the teeth.
fn decode(times: &[f64], wheel: &Wheel, gaps_at: Option<&[usize]>) -> Speed {
    let degrees = 360.0 / wheel.positions as f64;
    let teeth = wheel.teeth();
    let mut speed = Speed::default();
    if wheel.missing.is_empty() {
        let angles: Vec<f64> = (0..times.len()).map(|k| degrees * k as f64).collect();
        speed.turns = times.iter().step_by(teeth).copied().collect();
        speed.along(times, &angles);
        return speed;
    }
    let bends = bends(times);
    let pattern = match gaps_at {
        Some(places) => wheel.pattern(places),
        None if wheel.missing.len() == 1 => wheel.pattern(&[0]),
        None => learnt(&bends, wheel),
    };
    let Some(pattern) = pattern else {
        speed.misfits = 1.0;
        return speed;
    };
    let (shift, turns) = longest_fit(&bends, &pattern);
    speed.misfits = 1.0 - turns.len() as f64 / (bends.len() / teeth).max(1) as f64;
    let differs = |turn: usize| (0..teeth).any(|k| pattern[k] != pattern[(k + turn) % teeth]);
    speed.unique = (1..teeth).all(differs) && (wheel.missing.len() == 1 || gaps_at.is_some());
    if turns.is_empty() {
        return speed;
    }
    let (from, to) = (turns.start * teeth, turns.end * teeth);
    let mut angles = vec![0.0];
    for index in from..to {
        let step = pattern[(index + shift) % teeth] as f64;
        angles.push(angles[index - from] + degrees * step);
    }
    // the step from the tooth before gap 1 opens the pattern
    speed.turns = (from..=to)
        .filter(|index| (index + shift).is_multiple_of(teeth))
        .map(|index| times[index])
        .collect();
    speed.gaps_deg = (0..teeth.min(to - from))
        .filter(|index| pattern[(index + shift) % teeth] > 1)
        .map(|index| (angles[index], angles[index + 1]))
        .collect();
    speed.along(&times[from..=to], &angles);
    speed
}

impl Speed {
    /// Take the speed from angles over time: along the smoothest curve through every tooth, because the mean
    /// over a tooth's period would flatten what is quick. Angle over time, because inertia smooths its second
    /// derivative; time over angle has a sharp crest at each dead centre that no gap in the wheel lets through.
    fn along(&mut self, times: &[f64], angles: &[f64]) {
        let curve = between(times, angles, FINEST_DEG);
        self.time = curve.places;
        self.slowness = curve.slopes.into_iter().map(|slope| -slope).collect();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A wheel turned at a speed that swings by a fifth, as rows of level changes; the falling edge carries
    /// the teeth.
    fn rows(positions: usize, missing_at: &[usize], turns: usize) -> (Vec<f64>, Vec<f64>) {
        let (mut time, mut level) = (vec![0.0], vec![1.0]);
        let mut t = 0.5;
        for place in 0..positions * turns {
            let angle = std::f64::consts::TAU * place as f64 / positions as f64;
            let step = 60.0 / 240.0 / positions as f64 / (1.0 + 0.2 * (2.0 * angle).sin());
            if !missing_at.contains(&(place % positions)) {
                time.extend([t, t + 0.4 * step]);
                level.extend([0.0, 1.0]);
            }
            t += step;
        }
        (time, level)
    }

    fn teeth(wheel: &str, gaps_at: Option<Vec<usize>>) -> Teeth {
        Teeth {
            column: "crank_sensor".into(),
            wheel: wheel.into(),
            gaps_at,
            gap_before_tdc_deg: None,
            edge: None,
            bits: None,
            full_scale: None,
        }
    }

    fn check(positions: usize, missing_at: &[usize], teeth: &Teeth, unique: bool) {
        let (time, values) = rows(positions, missing_at, 12);
        let found = speed(
            Samples {
                time: &time,
                values: &values,
            },
            teeth,
        )
        .unwrap();
        let turns: Vec<f64> = found
            .turns
            .windows(2)
            .map(|pair| pair[1] - pair[0])
            .collect();
        assert!(turns.len() >= 9, "{}", turns.len());
        for turn in &turns {
            assert!((turn - turns[0]).abs() < 1e-9, "{turns:?}");
        }
        let mean = found.slowness.iter().sum::<f64>() / found.slowness.len() as f64;
        assert!(
            (mean / -1440.0 - 1.0).abs() < 0.03,
            "{mean} instead of 240 rpm"
        );
        assert_eq!(found.unique, unique);
    }

    #[test]
    fn common_wheels_are_followed() {
        check(60, &[58, 59], &teeth("60-2", None), true);
        check(8, &[7], &teeth("8-1", None), true);
        check(24, &[], &teeth("24", None), false);
        let gaps = [0, 1, 12, 13, 30, 31];
        check(36, &gaps, &teeth("36-2-2-2", Some(vec![0, 12, 30])), true);
        check(36, &gaps, &teeth("36-2-2-2", None), false);
    }

    #[test]
    fn a_wheel_that_does_not_fit_is_refused() {
        let (time, values) = rows(60, &[58, 59], 12);
        let samples = Samples {
            time: &time,
            values: &values,
        };
        assert_eq!(speed(samples, &teeth("36-1", None)), Err(NoSpeed::Pattern));
        assert_eq!(speed(samples, &teeth("sixty", None)), Err(NoSpeed::Wheel));
        let few = Samples {
            time: &time[..40],
            values: &values[..40],
        };
        assert_eq!(speed(few, &teeth("60-2", None)), Err(NoSpeed::Few));
        let none = Samples {
            time: &time[..9],
            values: &values[..9],
        };
        assert_eq!(speed(none, &teeth("60-2", None)), Err(NoSpeed::Edges));
    }
}
