//! Whether a channel can carry a verdict: each check with what was measured, its limit, and what to do, in
//! the words of the shop.

use crate::capture::edges::extremes;
use crate::cranking::answer::{Bound, Check, CheckName};
use crate::cranking::slicing::cycles::Samples;
use crate::cranking::slicing::window::median;
use crate::engine::USUAL_RPM;

/// Limits. Common practice of the trade where nothing else is said; the others were set on simulated
/// captures, sound and unfit.
pub mod limit {
    /// Samples in the window at the end of the range, percent.
    pub const CLIPPED_PERCENT: f64 = 0.2;
    /// Whole cycles: two that differ leave open which one is odd.
    pub const CYCLES: f64 = 3.0;
    /// Converter steps from the ripple's foot to its top.
    pub const STEPS: f64 = 6.0;
    /// Error of the mean cycle from scatter, percent of its swing.
    pub const NOISE_PERCENT: f64 = 15.0;
    /// The same where there is no ripple at all.
    pub const RIPPLE_PERCENT: f64 = 45.0;
    /// Jumps per second.
    pub const JUMPS: f64 = 0.4;
    /// Samples per firing.
    pub const SAMPLES: f64 = 6.0;
    /// Squared residuals of the fit per datum, those of what was known before among them: a wrong way to explain
    /// a cycle strains both.
    pub const MISFIT: f64 = 4.0;
}

/// Crank speed of an engine that runs, revolutions per minute.
pub const RUNNING_RPM: f64 = 420.0;

/// Greatest step between samples that is no jump: times the typical one, and share of the swing from foot
/// to top.
const JUMP_TIMES: f64 = 12.0;
const JUMP_SHARE: f64 = 0.35;

/// Longest time for which a contact that lets go by itself stays open, seconds, about.
const DROP_OUT_S: f64 = 0.05;

/// Least length of a record that a rate is taken of, seconds.
const LEAST_SECONDS: f64 = 1e-3;

fn check(
    check: CheckName,
    measured: f64,
    (bound, limit): (Bound, f64),
    unit: &str,
    advice: &str,
) -> Check {
    let passed = match bound {
        Bound::Max => measured <= limit,
        Bound::Min => measured >= limit,
    };
    let measured = measured.is_finite().then_some(measured);
    Check {
        check,
        passed,
        measured,
        limit,
        bound,
        unit: unit.to_owned(),
        advice: advice.to_owned(),
    }
}

/// Whether a value lies at the end of the range; without a range, at the greatest or least value seen.
pub fn range_end(
    values: &[f64],
    full_scale: Option<f64>,
    bits: Option<u32>,
) -> impl Fn(f64) -> bool + use<> {
    let (least, most) = extremes(values);
    move |value| match full_scale {
        Some(range) => {
            let step = bits.map_or(0.0, |bits| 2.0 * range / 2f64.powi(bits as i32));
            value.abs() >= range - 1.5 * step.max(1e-3 * range)
        }
        None => value == most || value == least,
    }
}

/// Checks in the order in which they are told: what fails for a reason of its own before what fails because of
/// that. A capture with hardly any samples looks like a fast engine, one of a few converter steps jumps like a loose lead
/// and stands at its greatest value like a clipped one, one with a loose lead has few good cycles.
const CAUSES: [CheckName; 13] = [
    CheckName::NoSignal,
    CheckName::NothingToCompare,
    CheckName::Undersampled,
    CheckName::EngineRunning,
    CheckName::ConverterSteps,
    CheckName::LooseConnection,
    CheckName::Clipped,
    CheckName::NoRipple,
    CheckName::Noise,
    CheckName::TooFewCycles,
    CheckName::PolarityUnknown,
    CheckName::PlacementUndecided,
    CheckName::PoorFit,
];

/// Checks in the order of [`CAUSES`].
#[must_use]
pub fn in_order(checks: &[Check]) -> Vec<Check> {
    let mut all = checks.to_vec();
    all.sort_by_key(|check| CAUSES.iter().position(|name| *name == check.check));
    all
}

/// Samples at the end of the range inside the window. Where the range is not known, flat stretches at the
/// greatest or least value give it away.
#[must_use]
pub fn clipped(
    inside: Samples<'_>,
    full_scale: Option<f64>,
    bits: Option<u32>,
    unit: &str,
) -> Check {
    let at_end = range_end(inside.values, full_scale, bits);
    let mut count = 0;
    let mut run = 0;
    for value in inside.values {
        if at_end(*value) {
            run += 1;
        } else {
            // one or two equal greatest values are a coarse converter, not an end of range
            count += if full_scale.is_some() || run >= 4 {
                run
            } else {
                0
            };
            run = 0;
        }
    }
    count += if full_scale.is_some() || run >= 4 {
        run
    } else {
        0
    };
    let percent = 100.0 * f64::from(count) / inside.values.len().max(1) as f64;
    let advice = if unit == "A" {
        "The current ran off the range: set the scope's next larger range, or take a clamp with a higher one, or battery voltage instead."
    } else {
        "The voltage ran off the range: take the next larger range, or AC coupling, and capture again."
    };
    check(
        CheckName::Clipped,
        percent,
        (Bound::Max, limit::CLIPPED_PERCENT),
        "% of samples",
        advice,
    )
}

/// Enough whole cycles.
#[must_use]
pub fn too_few_cycles(cycles: f64) -> Check {
    check(
        CheckName::TooFewCycles,
        // a measured 2.9996 is three cycles cut by rounding
        (cycles * 1000.0).round() / 1000.0,
        (Bound::Min, limit::CYCLES),
        "cycles",
        "Crank longer, within the starter's duty limit: about eight engine cycles of steady cranking.",
    )
}

/// The same of a file that ends before that many cycles can have gone by: nothing else can be judged on it.
#[must_use]
pub fn too_short(seconds: f64, cycles: f64) -> Check {
    let needed = limit::CYCLES * 120.0 / USUAL_RPM;
    let advice = format!(
        "The file holds {seconds:.1} s; a verdict needs {:.0} engine cycles, {needed:.1} s of steady cranking at \
         {USUAL_RPM:.0} rpm, besides the run-up. Look at the recording time, and save the whole recording.",
        limit::CYCLES
    );
    Check {
        advice,
        ..too_few_cycles(cycles)
    }
}

/// Converter steps of the ripple. `scatter` is whether there is a ripple at all.
#[must_use]
pub fn converter_steps(swing: f64, step: Option<f64>) -> Option<Check> {
    let step = step.filter(|step| *step > 0.0)?;
    Some(check(
        CheckName::ConverterSteps,
        swing / step,
        (Bound::Min, limit::STEPS),
        "steps",
        "The converter is too coarse for this ripple: a smaller range (for voltage with AC coupling), or more bits.",
    ))
}

/// Step of the converter from the data, where bits and range are not told: the least difference that
/// occurs between values, if values repeat.
#[must_use]
pub fn apparent_step(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let (least, most) = (sorted[0], sorted[sorted.len() - 1]);
    let count = sorted.len();
    sorted.dedup();
    // values of a fine converter hardly repeat
    if sorted.len() * 4 > count {
        return None;
    }
    let least_step = 1e-9 * (most - least);
    sorted
        .windows(2)
        .map(|pair| pair[1] - pair[0])
        .filter(|gap| *gap > least_step)
        .min_by(f64::total_cmp)
}

/// A ripple at the cranking rate, and little scatter about it. `share` is the mean cycle's error over its
/// swing.
#[must_use]
pub fn ripple(share: f64) -> [Check; 2] {
    let percent = 100.0 * share;
    let no_ripple = check(
        CheckName::NoRipple,
        percent,
        (Bound::Max, limit::RIPPLE_PERCENT),
        "% of swing",
        "Nothing in this channel follows the compressions: look whether its lead or clamp is connected, and sits where it should.",
    );
    let noise = check(
        CheckName::Noise,
        percent,
        (Bound::Max, limit::NOISE_PERCENT),
        "% of swing",
        "Cycles differ too much: clean the contact, or close and zero the clamp, switch other loads off, capture again.",
    );
    [no_ripple, noise]
}

/// Jumps from one sample to the next: a lead that lets go. Compression moves the signal smoothly. `inside` the steady
/// cranking every jump counts; in the `whole` record those that go back at once, which neither an inrush nor the
/// key's release does.
#[must_use]
pub fn loose_connection(inside: Samples<'_>, whole: Samples<'_>, swing: f64) -> Check {
    let seconds = |samples: Samples<'_>| samples.seconds().max(LEAST_SECONDS);
    let here = jumps(inside, swing).len() as f64 / seconds(inside);
    let gone: usize = jumps(whole, swing)
        .windows(2)
        .filter(|pair| goes_back(pair[0], pair[1]))
        .count();
    let anywhere = 2.0 * gone as f64 / seconds(whole);
    check(
        CheckName::LooseConnection,
        here.max(anywhere),
        (Bound::Max, limit::JUMPS),
        "jumps per second",
        "The lead lets go while cranking: clean the contact, clamp tight, pull on the lead, capture again.",
    )
}

/// Times of the jumps and how far each goes.
fn jumps(samples: Samples<'_>, swing: f64) -> Vec<(f64, f64)> {
    let steps = || samples.values.windows(2).map(|pair| pair[1] - pair[0]);
    let typical = median(steps().map(f64::abs));
    let threshold = (JUMP_TIMES * typical).max(JUMP_SHARE * swing);
    samples
        .time
        .iter()
        .copied()
        .zip(steps())
        .filter(|(_, step)| step.abs() > threshold)
        .collect()
}

/// Whether a jump undoes the one before it: the contact is back.
fn goes_back((gone, down): (f64, f64), (back, up): (f64, f64)) -> bool {
    back - gone <= DROP_OUT_S
        && down * up < 0.0
        && (down + up).abs() < down.abs().max(up.abs()) / 2.0
}

/// The engine is cranked, not running.
#[must_use]
pub fn engine_running(rpm: f64) -> Check {
    check(
        CheckName::EngineRunning,
        rpm,
        (Bound::Max, RUNNING_RPM),
        "rpm",
        "The engine runs in this capture: cut the fuel the maker's way, prove it, and capture again.",
    )
}

/// Samples per firing.
#[must_use]
pub fn undersampled(samples: f64) -> Check {
    check(
        CheckName::Undersampled,
        samples,
        (Bound::Min, limit::SAMPLES),
        "samples per firing",
        "Sample faster: 1000 samples a second serve every engine.",
    )
}

/// The fit describes the signal.
#[must_use]
pub fn poor_fit(misfit: f64) -> Check {
    check(
        CheckName::PoorFit,
        misfit,
        (Bound::Max, limit::MISFIT),
        "times what noise alone would leave",
        "The signal is not that of steady cranking: check firing order, lead and coupling, capture again.",
    )
}

/// A check that is either so or not.
#[must_use]
pub fn yes_or_no(name: CheckName, passed: bool, unit: &str, advice: &str) -> Check {
    check(
        name,
        if passed { 1.0 } else { 0.0 },
        (Bound::Min, 1.0),
        unit,
        advice,
    )
}
