//! Where in the record the engine cranks steadily: the longest run of cycles that look alike and last
//! alike. Inrush, release of the key, and an engine that catches do not look like cranking.
//! Thresholds that name no source are our own choice, set on simulated captures, sound and unfit.

use super::cycles::{Samples, cycle_harmonics};
use crate::cranking::judging::quality::RUNNING_RPM;

/// How much a cycle may differ from the typical one, share of its swing. A weak cylinder is in the
/// typical cycle too; an inrush, a coasting or a firing cycle differs by half the swing and more.
const GREATEST_DIFFERENCE: f64 = 0.4;

/// How much a cycle may last longer or shorter than the typical one.
const GREATEST_STRETCH: f64 = 0.13;

/// Shares of a cycle by which cuts are moved to find the place where most whole cycles fit.
const PHASES: [f64; 4] = [0.0, 0.25, 0.5, 0.75];

/// Cycles that are looked at, from the record's middle: several starters' duty, and time stays bounded.
const MOST_CYCLES: usize = 60;

/// Cycles that are enough without those that ran off the range.
const ENOUGH_CYCLES: f64 = 3.0;

/// Gaps between events differ less than by this factor where none was missed.
const REGULAR: f64 = 1.3;

/// Gaps that tell how far apart events should be.
const FEWEST_GAPS: usize = 3;

/// Most events in a row that are put in where they were missed.
const MOST_MISSED: f64 = 8.0;

/// An interval this much shorter than the typical one ends in a spurious event.
const SPURIOUS: f64 = 0.6;

/// The steady cranking.
#[derive(Debug, Clone, PartialEq)]
pub struct Window {
    /// Boundaries of whole cycles, seconds.
    pub cuts: Vec<f64>,
    /// Share of a cycle's time by which each cut follows a reference event.
    pub phase: f64,
    /// Start of the steady cranking, seconds; not a whole number of cycles before its end.
    pub start: f64,
    /// Its end, seconds.
    pub end: f64,
    /// Cycles between start and end.
    pub cycles: f64,
}

/// Find it from the times of events that come once per cycle. `firings` is the number of cylinders,
/// `rhythm` is a
/// cycle's length where that is known better than from the events; `at_end` tells values at the end of the range: an inrush off the screen harms nothing as long as enough
/// cycles without are left.
#[must_use]
pub fn find(
    samples: Samples<'_>,
    events: &[f64],
    firings: usize,
    rhythm: Option<f64>,
    at_end: impl Fn(f64) -> bool,
) -> Option<Window> {
    let marks = complete(events, rhythm)?;
    let spare = marks.len().saturating_sub(MOST_CYCLES) / 2;
    let marks = &marks[spare..marks.len() - spare];
    let ends: Vec<f64> = samples
        .time
        .iter()
        .zip(samples.values)
        .filter(|(_, value)| at_end(**value))
        .map(|(time, _)| *time)
        .collect();
    // an engine that caught turns faster than any starter; that counts only where there is nothing else
    let cranked = 120.0 / RUNNING_RPM;
    [
        (&ends[..], cranked),
        (&[], cranked),
        (&ends, 0.0),
        (&[], 0.0),
    ]
    .into_iter()
    .map(|(ends, shortest)| longest(samples, marks, firings, ends, shortest))
    .find(|window| {
        window
            .as_ref()
            .is_some_and(|window| window.cycles >= ENOUGH_CYCLES)
    })
    .unwrap_or_else(|| longest(samples, marks, firings, &[], 0.0))
}

fn longest(
    samples: Samples<'_>,
    marks: &[f64],
    firings: usize,
    ends: &[f64],
    shortest: f64,
) -> Option<Window> {
    let (first, last) = (samples.time[0], samples.time[samples.time.len() - 1]);
    let mut best: Option<Window> = None;
    let (mut start, mut end) = (f64::INFINITY, f64::NEG_INFINITY);
    for phase in PHASES {
        let cuts: Vec<f64> = marks
            .windows(2)
            .map(|pair| pair[0] + phase * (pair[1] - pair[0]))
            .filter(|cut| (first..=last).contains(cut))
            .collect();
        let Some(run) = steady_run(samples, &cuts, 2 * firings.max(4), (ends, shortest)) else {
            continue;
        };
        start = start.min(run[0]);
        end = end.max(run[run.len() - 1]);
        if best
            .as_ref()
            .is_none_or(|window| run.len() > window.cuts.len())
        {
            best = Some(Window {
                cuts: run,
                phase,
                start: 0.0,
                end: 0.0,
                cycles: 0.0,
            });
        }
    }
    let mut window = best?;
    let length =
        (window.cuts[window.cuts.len() - 1] - window.cuts[0]) / (window.cuts.len() - 1) as f64;
    (window.start, window.end) = (start, end);
    window.cycles = (end - start) / length;
    Some(window)
}

/// Distance of events that come `per_cycle` times a cycle, if most of those that come no faster than a starter
/// turns an engine lie about as far apart. Missed events make gaps longer, spurious ones shorter.
#[must_use]
pub fn typical_gap(events: &[f64], per_cycle: f64) -> Option<f64> {
    let mut gaps: Vec<f64> = events
        .windows(2)
        .map(|pair| pair[1] - pair[0])
        .filter(|gap| *gap > 120.0 / RUNNING_RPM / per_cycle)
        .collect();
    if gaps.len() < FEWEST_GAPS {
        return None;
    }
    gaps.sort_by(f64::total_cmp);
    let typical = gaps[(gaps.len() - 1) / 3];
    let alike = gaps
        .iter()
        .filter(|gap| (1.0 / REGULAR..REGULAR).contains(&(*gap / typical)));
    (2 * alike.count() >= gaps.len()).then_some(typical)
}

/// Events about `typical` apart with spurious ones dropped and missed ones put in.
#[must_use]
pub fn filled(events: &[f64], typical: f64) -> Vec<f64> {
    let mut marks: Vec<f64> = events.iter().take(1).copied().collect();
    for event in events.iter().skip(1) {
        let before = marks[marks.len() - 1];
        let gap = event - before;
        if gap < SPURIOUS * typical {
            continue;
        }
        let turns = (gap / typical).round().clamp(1.0, MOST_MISSED) as usize;
        marks.extend((1..=turns).map(|turn| before + gap * turn as f64 / turns as f64));
    }
    marks
}

/// Events with spurious ones dropped, missed ones put in, and a few more on each side, so that cycles cut
/// off by the record's ends can be used in part.
fn complete(events: &[f64], rhythm: Option<f64>) -> Option<Vec<f64>> {
    let mut gaps: Vec<f64> = events.windows(2).map(|pair| pair[1] - pair[0]).collect();
    if gaps.is_empty() {
        return None;
    }
    gaps.sort_by(f64::total_cmp);
    // missed events make gaps longer, never shorter: the lower middle is the typical one
    let typical = rhythm
        .or_else(|| typical_gap(events, 1.0))
        .unwrap_or(gaps[(gaps.len() - 1) / 3]);
    let mut marks = filled(events, typical);
    if marks.len() < 2 {
        return None;
    }
    let lead = marks[1] - marks[0];
    let tail = marks[marks.len() - 1] - marks[marks.len() - 2];
    let mut all = vec![marks[0] - 2.0 * lead, marks[0] - lead];
    let last = marks[marks.len() - 1];
    all.append(&mut marks);
    all.extend([last + tail, last + 2.0 * tail]);
    Some(all)
}

/// The longest run of cuts whose cycles are alike.
fn steady_run(
    samples: Samples<'_>,
    cuts: &[f64],
    harmonics: usize,
    (ends, shortest): (&[f64], f64),
) -> Option<Vec<f64>> {
    let cycles: Vec<Vec<(f64, f64)>> = cuts
        .windows(2)
        .map(|pair| cycle_harmonics(samples, pair[0], pair[1], harmonics))
        .collect();
    let slow = |pair: &[f64]| pair[1] - pair[0] > shortest;
    let candidates: Vec<&Vec<(f64, f64)>> = cycles
        .iter()
        .zip(cuts.windows(2))
        .filter(|(_, pair)| slow(pair))
        .map(|(cycle, _)| cycle)
        .collect();
    if candidates.is_empty() {
        return None;
    }
    let typical: Vec<(f64, f64)> = (0..harmonics)
        .map(|h| {
            let re = median(candidates.iter().map(|cycle| cycle[h].0));
            let im = median(candidates.iter().map(|cycle| cycle[h].1));
            (re, im)
        })
        .collect();
    let lengths = cuts.windows(2).filter(|pair| slow(pair));
    let length = median(lengths.map(|pair| pair[1] - pair[0]));
    let swing = norm(typical.iter().copied());
    let alike: Vec<bool> = cycles
        .iter()
        .zip(cuts.windows(2))
        .map(|(cycle, pair)| {
            let difference = norm(
                cycle
                    .iter()
                    .zip(&typical)
                    .map(|(a, b)| (a.0 - b.0, a.1 - b.1)),
            );
            let stretch = ((pair[1] - pair[0]) / length - 1.0).abs();
            let first = ends.partition_point(|end| *end < pair[0]);
            let within = ends.get(first).is_none_or(|end| *end > pair[1]);
            within
                && slow(pair)
                && difference <= GREATEST_DIFFERENCE * swing
                && stretch <= GREATEST_STRETCH
        })
        .collect();
    let mut best = 0..0;
    let mut from = 0;
    for (index, good) in alike.iter().chain([&false]).enumerate() {
        if !good {
            if index - from > best.len() {
                best = from..index;
            }
            from = index + 1;
        }
    }
    (!best.is_empty()).then(|| cuts[best.start..=best.end].to_vec())
}

fn norm(parts: impl Iterator<Item = (f64, f64)>) -> f64 {
    parts.map(|(re, im)| re * re + im * im).sum::<f64>().sqrt()
}

/// Middle value; 0 of nothing.
pub(in crate::cranking) fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut sorted: Vec<f64> = values.collect();
    if sorted.is_empty() {
        return 0.0;
    }
    let middle = sorted.len() / 2;
    *sorted.select_nth_unstable_by(middle, f64::total_cmp).1
}
