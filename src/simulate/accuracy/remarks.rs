//! Whether remarks on the whole engine are given when they should be, and only then: a swing far below what
//! sealing gives, a cranking speed and a voltage out of their limits.

use crate::cranking::analyse;
use crate::cranking::answer::{Analysis, SignalKind};
use crate::cranking::wording::{LOW_VOLTAGE, MEAN_UNKNOWN, SMALL_SWING, SPEED_OUT};
use crate::simulate::common_fault::CommonFault;
use crate::simulate::draw::Wish;
use crate::simulate::drive::{STEP_S, drive};
use crate::simulate::practice::{Practice, practice};

/// Speeds that makers specify, revolutions per minute, and least voltage of a 12 V system: the remarks' own limits.
const SPEEDS: std::ops::RangeInclusive<f64> = 80.0..=250.0;
const LEAST_V: f64 = 9.6;

/// Voltage at rest from which a system is one of 24 V.
const HEAVY_V: f64 = 15.0;

/// Time after the key is turned from which cranking is steady, seconds.
const STEADY_S: f64 = 0.6;

/// One remark of one capture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Remark {
    /// Whether it should be given.
    pub due: bool,
    /// Whether it is.
    pub given: bool,
}

/// The remarks of one capture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Remarks {
    /// Whether a check failed, so that there is no verdict.
    pub refused: bool,
    /// Small swing; none where the channel does not tell the mean.
    pub swing: Option<Remark>,
    /// Cranking speed.
    pub speed: Option<Remark>,
    /// Voltage while cranking; none but of voltage coupled directly.
    pub voltage: Option<Remark>,
}

/// Remarks of an answer beside what is true. `sealing` says that the cylinders seal, but for one or a few.
#[must_use]
pub fn remarks(made: &Practice, analysis: &Analysis, sealing: bool) -> Remarks {
    let says = |what: &str| analysis.remarks.iter().any(|remark| remark.contains(what));
    let known = analysis.cranking.is_some() && !says(MEAN_UNKNOWN);
    let recording = &made.plan.recording;
    let direct = recording.source == SignalKind::BatteryVoltage && recording.coupling_hz.is_none();
    Remarks {
        refused: analysis.quality.iter().any(|check| !check.passed),
        swing: known.then(|| Remark {
            due: !sealing,
            given: says(SMALL_SWING),
        }),
        speed: analysis.cranking.is_some().then(|| Remark {
            due: !SPEEDS.contains(&made.truth.mean_rpm),
            given: says(SPEED_OUT),
        }),
        voltage: (direct && analysis.cranking.is_some()).then(|| Remark {
            due: volts_per_system(made) < LEAST_V,
            given: says(LOW_VOLTAGE),
        }),
    }
}

/// Mean voltage at the posts while cranking steadily, per 12 V.
fn volts_per_system(made: &Practice) -> f64 {
    let plan = &made.plan;
    let motion = drive(plan);
    let row = |seconds: f64| ((seconds / STEP_S).max(0.0) as usize).min(motion.posts.len());
    let to = row(plan.timing.key_off_s);
    let from = row(plan.timing.key_on_s + STEADY_S).min(to);
    let volts = motion.posts[from..to].iter().sum::<f64>() / (to - from).max(1) as f64;
    if plan.battery.rest_v > HEAVY_V {
        0.5 * volts
    } else {
        volts
    }
}

/// Draw an engine of which all cylinders, or what turns them, have one fault, and take its remarks; none if
/// no plan of the seed turns it, or it has one cylinder.
#[must_use]
pub fn of_common(seed: u64, common: CommonFault) -> Option<Remarks> {
    let wish = Wish {
        common: Some(common),
        losses: Some(Vec::new()),
        ..Wish::anything()
    };
    let made = practice(seed, &wish)?;
    let answer = analyse(&made.capture(), &made.setup()).analysis;
    Some(remarks(&made, &answer, common == CommonFault::WeakBattery))
}

/// Remarks that were due and given, due, not due and yet given, not due.
#[must_use]
pub fn tally(all: impl IntoIterator<Item = Remark>) -> [usize; 4] {
    let mut tally = [0; 4];
    for remark in all {
        let first = if remark.due { 0 } else { 2 };
        tally[first] += usize::from(remark.given);
        tally[first + 1] += 1;
    }
    tally
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn due_and_given_are_counted_apart() {
        let all = [(true, true), (true, false), (false, true), (false, false)];
        let all = all.map(|(due, given)| Remark { due, given });
        assert_eq!(tally(all), [1, 2, 1, 2]);
    }
}
