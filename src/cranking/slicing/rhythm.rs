//! The engine cycle found in the signal itself, where no reference event marks it: the firing rate is the
//! strongest rhythm in its band, the cycle as many firings as there are cylinders, followed from the
//! middle of the record by likeness to the cycle before.
//! Thresholds that name no source are our own choice, set on simulated captures, sound and unfit.

use super::cycles::Samples;
use super::window::median;
use crate::engine::Engine;

/// Slowest and fastest cranking looked for, revolutions per minute.
const SLOWEST_RPM: f64 = 45.0;
const FASTEST_RPM: f64 = 420.0;

/// Both.
pub const RPM: std::ops::RangeInclusive<f64> = SLOWEST_RPM..=FASTEST_RPM;

/// Longest stretch that is searched for the firing rate, seconds.
const LONGEST_S: f64 = 30.0;

/// Least step of the even grid that is searched, seconds.
const STEP_S: f64 = 0.002;

/// How far from the last cycle's length the next one's is searched, share of it.
const FOLLOW: f64 = 0.08;

/// How far a mark may be moved to align its cycle with the mean of all, share of a cycle.
const ALIGN: f64 = 0.02;

/// Likeness to itself a shorter cycle later, of that a longer one later, from which the shorter is the cycle.
const SOONER: f64 = 0.8;

/// Values beyond this many times the typical size (inrush) are cut off before searching.
const CUT_OFF: f64 = 4.0;

/// Times one engine cycle apart, in rising order; empty where there is no rhythm.
#[must_use]
pub fn cycle_marks(samples: Samples<'_>, engine: &Engine) -> Vec<f64> {
    let start = samples.time[0];
    let length = samples.time[samples.time.len() - 1] - start;
    let step = STEP_S.max(length / samples.time.len() as f64);
    let values = flattened(samples, step);
    let Some(cycle) = cycle_length(&values, step, engine) else {
        return Vec::new();
    };
    let span = (cycle / step) as usize;
    if values.len() < 2 * span {
        return Vec::new();
    }
    let middle = (values.len() - span) / 2;
    let mut places = vec![middle];
    while let Some(next) = follow(&values, places[places.len() - 1], span, 1) {
        places.push(next);
    }
    while let Some(before) = follow(&values, places[0], span, -1) {
        places.insert(0, before);
    }
    aligned(&values, places, span)
        .into_iter()
        .map(|place| start + place * step)
        .collect()
}

/// The same places, each moved to where the signal is most like the mean of all cycles: following from one to
/// the next adds error to error.
fn aligned(values: &[f64], places: Vec<usize>, span: usize) -> Vec<f64> {
    let whole: Vec<&[f64]> = places
        .iter()
        .filter_map(|place| values.get(*place..place + span))
        .collect();
    let mean: Vec<f64> = (0..span)
        .map(|k| whole.iter().map(|cycle| cycle[k]).sum::<f64>() / whole.len() as f64)
        .collect();
    let reach = (ALIGN * span as f64).ceil() as usize;
    places
        .into_iter()
        .map(|place| {
            let first = place.saturating_sub(reach);
            let scores: Vec<f64> = (first..=place + reach)
                .map_while(|at| Some(likeness(&mean, values.get(at..at + span)?)))
                .collect();
            let best = (0..scores.len()).max_by(|a, b| scores[*a].total_cmp(&scores[*b]));
            best.map_or(place as f64, |best| {
                first as f64 + best as f64 + summit(&scores, best)
            })
        })
        .collect()
}

/// How far beside the greatest of evenly spaced values the top of a parabola through it and its neighbours lies.
fn summit(values: &[f64], at: usize) -> f64 {
    let (Some(before), Some(after)) = (
        at.checked_sub(1).and_then(|index| values.get(index)),
        values.get(at + 1),
    ) else {
        return 0.0;
    };
    let bend = before - 2.0 * values[at] + after;
    if bend < 0.0 {
        (0.5 * (before - after) / bend).clamp(-0.5, 0.5)
    } else {
        0.0
    }
}

/// Correlation of a stretch with a pattern, but for the pattern's size.
fn likeness(pattern: &[f64], stretch: &[f64]) -> f64 {
    let (mut both, mut square) = (0.0, 0.0);
    for (a, b) in pattern.iter().zip(stretch) {
        both += a * b;
        square += b * b;
    }
    both / f64::max(square, f64::MIN_POSITIVE).sqrt()
}

/// On an even grid, the slow part (a moving mean over the slowest cycle's half) taken out, great
/// excursions cut off.
fn flattened(samples: Samples<'_>, step: f64) -> Vec<f64> {
    let start = samples.time[0];
    let count = ((samples.time[samples.time.len() - 1] - start) / step) as usize;
    let mut index = 1;
    let even: Vec<f64> = (0..count)
        .map(|place| {
            let at = start + place as f64 * step;
            while index + 1 < samples.time.len() && samples.time[index] < at {
                index += 1;
            }
            let (t0, t1) = (samples.time[index - 1], samples.time[index]);
            let share = ((at - t0) / (t1 - t0)).clamp(0.0, 1.0);
            samples.values[index - 1] * (1.0 - share) + samples.values[index] * share
        })
        .collect();
    let half = (60.0 / SLOWEST_RPM / step / 2.0) as usize;
    let mut sums = vec![0.0];
    for value in &even {
        sums.push(sums[sums.len() - 1] + value);
    }
    let mut flat: Vec<f64> = (0..even.len())
        .map(|i| {
            let (a, b) = (i.saturating_sub(half), (i + half + 1).min(even.len()));
            even[i] - (sums[b] - sums[a]) / (b - a) as f64
        })
        .collect();
    let typical = median(flat.iter().map(|v| v.abs())).abs();
    if !typical.is_finite() {
        return Vec::new();
    }
    flat.iter_mut()
        .for_each(|v| *v = v.clamp(-CUT_OFF * typical, CUT_OFF * typical));
    flat
}

/// Length of a cycle, seconds: amplitude times frequency (the starter is a low-pass) is greatest at the
/// firing rate; or, where firings are uneven, at the rate at which their pattern repeats, and then the signal
/// repeats sooner.
fn cycle_length(values: &[f64], step: f64, engine: &Engine) -> Option<f64> {
    let firings = engine.cylinders();
    // half a minute from the middle tells the rhythm; searching hours would take hours
    let most = ((LONGEST_S / step) as usize).max(2);
    let spare = values.len().saturating_sub(most) / 2;
    let values = &values[spare..values.len() - spare];
    let duration = values.len() as f64 * step;
    let (low, high) = (
        SLOWEST_RPM / 120.0 * firings as f64,
        FASTEST_RPM / 120.0 * firings as f64,
    );
    let high = high.min(0.4 / step);
    let resolution = 0.25 / duration;
    let count = ((high - low) / resolution) as usize;
    let strength = |hz: f64| {
        let turn = std::f64::consts::TAU * hz * step;
        let (mut re, mut im) = (0.0, 0.0);
        let (sin, cos) = turn.sin_cos();
        let (mut c, mut s) = (1.0, 0.0);
        for value in values {
            re += value * c;
            im += value * s;
            (c, s) = (c * cos - s * sin, s * cos + c * sin);
        }
        re.hypot(im) * hz
    };
    let best = (0..count)
        .map(|k| low + k as f64 * resolution)
        .map(|hz| (hz, strength(hz)))
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    if best.1 <= 0.0 {
        return None;
    }
    let length = firings as f64 / best.0;
    let repeats = engine.pattern_repeats();
    if (2..firings).contains(&repeats) {
        let shorter = repeats as f64 / best.0;
        let again = |length: f64| {
            let lag = ((length / step) as usize).min(values.len() / 2);
            let size = values.len() - lag;
            likeness(&values[..size], &values[lag..])
        };
        let fast = 60.0 / shorter * 2.0 > FASTEST_RPM;
        if !fast && again(shorter) > SOONER * again(length) {
            return Some(shorter);
        }
    }
    Some(length)
}

/// The place one cycle further (or back) at which the signal is most like that around `place`.
fn follow(values: &[f64], place: usize, span: usize, direction: i64) -> Option<usize> {
    let reach = (FOLLOW * span as f64).ceil() as i64;
    let here = values.get(place..place + span)?;
    let mut best: Option<(f64, usize)> = None;
    for offset in -reach..=reach {
        let at = place as i64 + direction * span as i64 + offset;
        let Ok(at) = usize::try_from(at) else {
            continue;
        };
        let Some(there) = values.get(at..at + span) else {
            continue;
        };
        let likeness = likeness(here, there);
        if best.is_none_or(|(most, _)| likeness > most) {
            best = Some((likeness, at));
        }
    }
    best.map(|(_, at)| at)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 16750-2 and LV 124 crank at a ripple of 2 Hz: one event of a four at 60 rpm, so cycles are 2 s.
    #[test]
    fn a_two_hertz_ripple_is_a_four_at_sixty_rpm() {
        let time: Vec<f64> = (0..10_000).map(|i| f64::from(i) * 1e-3).collect();
        let values: Vec<f64> = time
            .iter()
            .map(|t| (std::f64::consts::TAU * 2.0 * t).sin())
            .collect();
        let marks = cycle_marks(
            Samples {
                time: &time,
                values: &values,
            },
            &Engine::new(4, &[1, 3, 4, 2], None, None).unwrap(),
        );
        assert!(marks.len() >= 4, "{marks:?}");
        for pair in marks.windows(2) {
            assert!((pair[1] - pair[0] - 2.0).abs() < 0.01, "{marks:?}");
        }
    }
}
