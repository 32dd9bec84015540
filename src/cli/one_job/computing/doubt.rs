//! A capture without a verdict whose columns a person named: the wrong column looks like a loose lead, a wrong firing
//! order or a dead signal, and no check can tell.

use crate::capture::setup::Setup;
use crate::cranking::answer::{Analysis, CheckName, SignalKind, VerdictKind};

/// Checks that a wrong column fails as well as what they are named for.
const FAILED_BY_IT: [CheckName; 9] = [
    CheckName::NoSignal,
    CheckName::NoRipple,
    CheckName::Noise,
    CheckName::LooseConnection,
    CheckName::PoorFit,
    CheckName::PlacementUndecided,
    CheckName::TooFewCycles,
    CheckName::ConverterSteps,
    CheckName::PolarityUnknown,
];

/// Say in the verdict's sentence which column was named, and how that is said anew.
pub(super) fn of_column(analysis: &mut Analysis, setup: &Setup) {
    let failed = analysis.quality.iter().find(|check| !check.passed);
    let by_it = failed.is_some_and(|check| FAILED_BY_IT.contains(&check.check));
    if analysis.verdict.kind != VerdictKind::Inconclusive || !by_it {
        return;
    }
    let Some((column, signal)) = analysis.source.and_then(|kind| named(setup, kind)) else {
        return;
    };
    analysis.verdict.why += &format!(
        " Or column {column:?}, named as {signal}, holds something else: then go back to the question of the file, hand \
         the same file over again, and say anew what its columns hold."
    );
}

/// The column of a signal, and what it was named as.
fn named(setup: &Setup, kind: SignalKind) -> Option<(&str, &'static str)> {
    let channels = &setup.channels;
    match kind {
        SignalKind::StarterCurrent => {
            let current = channels.starter_current.as_ref()?;
            Some((&current.column, kind.name()))
        }
        SignalKind::BatteryVoltage => {
            let voltage = channels.battery_voltage.as_ref()?;
            Some((&voltage.column, kind.name()))
        }
        SignalKind::CrankSpeed => {
            let teeth = channels.crank_speed.as_ref()?;
            Some((&teeth.column, "the crank sensor's teeth"))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::capture::setup;
    use crate::cranking::answer::{Bound, Check};
    use crate::run::facts::tests::analysis;

    #[test]
    fn the_column_is_named_where_a_wrong_one_may_be_the_cause() {
        let setup = "engine: {cylinders: 1, firing_order: [1]}\nchannels: {starter_current: {column: cam}}\n";
        let setup = setup::read(setup, "a.setup.yaml").unwrap();
        let why = |check: CheckName, percents: &[f64]| {
            let mut refused = analysis(percents, 85.0);
            refused.source = Some(SignalKind::StarterCurrent);
            refused.quality = vec![Check {
                check,
                passed: false,
                measured: None,
                limit: 0.0,
                bound: Bound::Max,
                unit: String::new(),
                advice: String::new(),
            }];
            of_column(&mut refused, &setup);
            refused.verdict.why
        };
        let unclear = [100.0, 85.0];
        let told = why(CheckName::PoorFit, &unclear);
        assert!(
            told.contains("Or column \"cam\", named as starter current"),
            "{told}"
        );
        assert!(!why(CheckName::Clipped, &unclear).contains("cam"));
        assert!(!why(CheckName::PoorFit, &[100.0, 99.0]).contains("cam"));
    }
}
