//! Whether a drawn vehicle is plain enough for an easy exercise: one fault, in a cylinder, on a vehicle that is sound as
//! its page says, and a line that passes for quiet. Whatever else might be found would contradict the page.

use std::ops::RangeInclusive;

use crate::advise::System;
use crate::advise::swing::{SPREAD, expected};
use crate::cranking::answer::SignalKind;
use crate::run::planning::given;
use crate::simulate::practice::Practice;

/// Cranking speeds, rpm: well inside of what makers specify, 80 to 250.
const SPEEDS: RangeInclusive<f64> = 90.0..=240.0;

/// Voltage at rest over which a system is no 12 V one.
const HEAVY_V: f64 = 15.0;

/// Fewest rows a second: with fewer, a short event of the reference falls between two of them.
const LEAST_HZ: f64 = 1000.0;

/// What sound cylinders keep at least, percent: well over the usual limit of 85.
const SOUND: f64 = 91.0;

/// Most that the line at rest lies off, and four standard deviations of its noise, as shares of the least swing that is
/// expected. Our own choice, under those by which the line is judged.
const QUIET: f64 = 0.2;

/// Whether it is. `weak` is how many cylinders were drawn or told to be weak.
pub(super) fn is_plain(made: &Practice, weak: usize) -> bool {
    let percents = made.truth.relative_compression_percent.values();
    let unsound = percents.filter(|percent| **percent < SOUND).count();
    unsound <= weak && is_sound(made) && is_recorded_as_planned(made) && is_quiet(made)
}

/// Whether battery and starter turn the engine as they should.
fn is_sound(made: &Practice) -> bool {
    SPEEDS.contains(&made.truth.mean_rpm) && made.plan.battery.rest_v < HEAVY_V
}

/// Whether it is recorded as the shipped sheets have the scope set: voltage AC-coupled, with rows enough.
fn is_recorded_as_planned(made: &Practice) -> bool {
    let recording = &made.plan.recording;
    let direct = recording.source == SignalKind::BatteryVoltage && recording.coupling_hz.is_none();
    !direct && recording.rate_hz >= LEAST_HZ
}

/// Whether the line lies where it belongs, and has little noise beside the swing that cranking lets expect.
fn is_quiet(made: &Practice) -> bool {
    let recording = &made.plan.recording;
    let known = given(
        made.engine().clone(),
        System::TwelveVolts,
        Default::default(),
    );
    let expected = expected(&known);
    let (swing, off) = match recording.source {
        SignalKind::StarterCurrent => (expected.swing_a, recording.offset.abs()),
        SignalKind::BatteryVoltage => (expected.swing_v, 0.0),
        SignalKind::CrankSpeed => return true,
    };
    let least = swing / SPREAD;
    4.0 * recording.noise < QUIET * least && off < QUIET * least
}
