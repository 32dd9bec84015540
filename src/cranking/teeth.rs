//! Crank angle and speed from a toothed wheel: edges, gaps, tooth periods. No electrical constant is
//! needed; wheel errors stay in the speed, where they repeat every turn and average out of what differs
//! between cylinders.

use super::cycles::Samples;
use super::window::median;
use crate::capture::setup::{Edge, Teeth};

/// Hysteresis about the middle of the sensor's range, share of it.
const HYSTERESIS: f64 = 0.15;

/// Share of the runs between gaps that may fail to fit the wheel: starting and stopping are among them.
const MISFITS: f64 = 0.4;

/// A wheel: positions per turn, and teeth missing at each gap.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wheel {
    /// Positions per turn.
    pub positions: usize,
    /// Teeth missing at each gap; none for a wheel without gaps.
    pub missing: Vec<usize>,
}

/// Why a sensor gave no speed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoSpeed {
    /// The wheel's description cannot be read.
    Wheel,
    /// There are hardly any edges.
    Edges,
    /// The edges do not fit the wheel.
    Pattern,
}

/// Speed from teeth.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Speed {
    /// Middle of each tooth period, seconds.
    pub time: Vec<f64>,
    /// Speed over it turned over, so that load points up: −degrees per second.
    pub slowness: Vec<f64>,
    /// Times of the last tooth before gap 1 (of every n-th tooth where there is no gap), one per turn.
    pub turns: Vec<f64>,
    /// Whether `turns` mark a place on the wheel that can be told from all others.
    pub unique: bool,
    /// Share of the runs between gaps that do not fit the wheel.
    pub misfits: f64,
}

impl Wheel {
    /// Read "60-2", "36-2-2-2", "24".
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let mut parts = text
            .trim()
            .split('-')
            .map(|part| part.trim().parse::<usize>().ok());
        let positions = parts.next()??;
        let missing: Vec<usize> = parts.collect::<Option<_>>()?;
        let lost: usize = missing.iter().sum();
        let sound = (4..=400).contains(&positions) && !missing.contains(&0) && 2 * lost < positions;
        sound.then_some(Self { positions, missing })
    }

    /// Teeth between gaps, from gap to gap in turning direction, where the places of the gaps are known.
    fn runs(&self, gaps_at: &[usize]) -> Option<Vec<usize>> {
        if gaps_at.len() != self.missing.len() {
            return None;
        }
        (0..gaps_at.len())
            .map(|gap| {
                let next = (gap + 1) % gaps_at.len();
                let to = gaps_at[next] + if next == 0 { self.positions } else { 0 };
                (to).checked_sub(gaps_at[gap] + self.missing[gap])
            })
            .collect()
    }
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
    let mut enough = false;
    for edge in edges {
        let times = edge_times(samples, edge);
        if times.len() < 2 * wheel.positions {
            continue;
        }
        enough = true;
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
        Some(_) => Err(NoSpeed::Pattern),
        None if enough => Err(NoSpeed::Pattern),
        None => Err(NoSpeed::Edges),
    }
}

/// Times of the edges. A column of levels with a row per change holds the change's own time; a sampled
/// one is interpolated through the middle of its range.
fn edge_times(samples: Samples<'_>, edge: Edge) -> Vec<f64> {
    let (least, most) = samples
        .values
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
            (a.min(*v), b.max(*v))
        });
    let direction = if edge == Edge::Falling { -1.0 } else { 1.0 };
    let middle = 0.5 * (least + most);
    let level = |v: f64| direction * (v - middle);
    let changes = samples
        .values
        .windows(2)
        .filter(|pair| pair[0] != pair[1])
        .count();
    let two_levels = samples.values.iter().all(|v| *v == least || *v == most);
    let by_change = two_levels && 10 * changes > 9 * (samples.values.len() - 1);
    let hysteresis = HYSTERESIS * (most - least);
    let mut armed = level(samples.values[0]) < 0.0;
    let mut found = Vec::new();
    for index in 1..samples.values.len() {
        let (before, here) = (
            level(samples.values[index - 1]),
            level(samples.values[index]),
        );
        if armed && here >= 0.0 {
            let share = if by_change {
                1.0
            } else {
                (-before / (here - before)).clamp(0.0, 1.0)
            };
            let (t0, t1) = (samples.time[index - 1], samples.time[index]);
            found.push(t0 + (t1 - t0) * share);
            armed = false;
        } else if here < -hysteresis {
            armed = true;
        }
    }
    found
}

/// Steps between teeth in positions: a gap's period is long beside its neighbours'.
fn decode(times: &[f64], wheel: &Wheel, gaps_at: Option<&[usize]>) -> Speed {
    let periods: Vec<f64> = times.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let steps: Vec<usize> = (0..periods.len())
        .map(|index| steps_of(&periods, index, wheel))
        .collect();
    let degrees = 360.0 / wheel.positions as f64;
    let mut speed = Speed::default();
    for (index, step) in steps.iter().enumerate() {
        speed.time.push(0.5 * (times[index] + times[index + 1]));
        speed
            .slowness
            .push(-degrees * *step as f64 / periods[index]);
    }
    if wheel.missing.is_empty() {
        speed.turns = times.iter().step_by(wheel.positions).copied().collect();
        return speed;
    }
    let gaps: Vec<usize> = (0..steps.len()).filter(|index| steps[*index] > 1).collect();
    let runs: Vec<usize> = gaps.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let pattern = gaps_at
        .and_then(|gaps_at| wheel.runs(gaps_at))
        .or_else(|| learnt(&runs, wheel));
    let Some(pattern) = pattern else {
        speed.misfits = 1.0;
        return speed;
    };
    let count = pattern.len();
    let (offset, fitting) = longest_fit(&runs, &pattern);
    speed.misfits = 1.0 - fitting.len() as f64 / runs.len().max(1) as f64;
    speed.unique = (1..count)
        .all(|turn| (0..count).any(|k| pattern[k] != pattern[(k + turn) % count]))
        && (count == 1 || gaps_at.is_some());
    if fitting.is_empty() {
        return speed;
    }
    let (from, to) = (gaps[fitting.start], gaps[fitting.end]);
    speed.turns = (fitting.start..=fitting.end)
        .filter(|k| (k + offset) % count == 0)
        .map(|k| times[gaps[k]])
        .collect();
    speed.time = speed.time[from..=to].to_vec();
    speed.slowness = speed.slowness[from..=to].to_vec();
    speed
}

/// The longest stretch of runs that follow the pattern, and which gap the first run begins with. A crank
/// that only begins to turn, or comes to rest, has long periods that are no gaps.
fn longest_fit(runs: &[usize], pattern: &[usize]) -> (usize, std::ops::Range<usize>) {
    let count = pattern.len();
    let mut best = (0, 0..0);
    for offset in 0..count {
        let mut from = 0;
        for k in 0..=runs.len() {
            if k < runs.len() && runs[k] == pattern[(k + offset) % count] {
                continue;
            }
            if k - from > best.1.len() {
                best = (offset, from..k);
            }
            from = k + 1;
        }
    }
    best
}

fn steps_of(periods: &[f64], index: usize, wheel: &Wheel) -> usize {
    let Some(missing) = wheel.missing.iter().min() else {
        return 1;
    };
    let before = index.checked_sub(1).map(|i| periods[i]);
    let after = periods.get(index + 1).copied();
    let beside = match (before, after) {
        (Some(a), Some(b)) => a.min(b).mul_add(0.5, 0.5 * a.max(b).min(2.0 * a.min(b))),
        (Some(a), None) | (None, Some(a)) => a,
        (None, None) => return 1,
    };
    let threshold = 1.0 + 0.5 * *missing as f64;
    if periods[index] < threshold * beside {
        return 1;
    }
    // the nearest of the wheel's gaps
    let ratio = periods[index] / beside;
    wheel
        .missing
        .iter()
        .map(|missing| missing + 1)
        .min_by(|a, b| {
            (ratio - *a as f64)
                .abs()
                .total_cmp(&(ratio - *b as f64).abs())
        })
        .unwrap_or(1)
}

/// The run of teeth between gaps that repeats with every turn, from the runs seen.
fn learnt(runs: &[usize], wheel: &Wheel) -> Option<Vec<usize>> {
    let count = wheel.missing.len();
    let teeth = wheel.positions - wheel.missing.iter().sum::<usize>();
    if runs.len() < 2 * count {
        return None;
    }
    // the middle of the record turns steadily; the pattern's phase is the first steady run's
    let runs = &runs[runs.len() / 4 / count * count..];
    let pattern: Vec<usize> = (0..count)
        .map(|k| median(runs.iter().skip(k).step_by(count).map(|run| *run as f64)) as usize)
        .collect();
    // periods between gaps: as many as teeth in the run, counting the gap's own
    (pattern.iter().sum::<usize>() == teeth).then_some(pattern)
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
        assert_eq!(speed(few, &teeth("60-2", None)), Err(NoSpeed::Edges));
    }
}
