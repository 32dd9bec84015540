//! A capture held against the plan by which the scope was set: what differs is remarked, no verdict hangs on it.

use crate::advise::signals::{self, Signal};
use crate::advise::swing;
use crate::cranking::answer::{Analysis, CheckName, SignalKind};
use crate::procedure::computation::Computation;
use crate::procedure::model::Question;
use crate::run::compute::{Request, request};
use crate::run::state::State;
use crate::run::walk::{Due, Walk};

/// How many times slower or faster than the plan reckoned with an engine may crank unremarked. Our own choice: cold
/// oil and a tired battery slow a starter by less.
const FAR: f64 = 2.0;

/// How many times fewer converter steps than the plan promised pass unremarked; its promise is the least that its
/// expectations allow. Our own choice.
const COARSER: f64 = 2.0;

/// What a plan for the scope reckoned with.
#[derive(Debug, Clone, PartialEq)]
pub struct Planned {
    /// Cranking speed, rpm.
    pub rpm: f64,
    /// The signal, and where it is taken.
    pub signal: Signal,
    /// Least converter steps in its swing, where they were counted.
    pub steps: Option<f64>,
    /// Bits of the scope's converter.
    pub bits: u32,
}

impl Planned {
    /// From the last plan of the job that counts; none where none was made.
    pub(in crate::run) fn of_job(walk: &Walk<'_>, state: &State) -> Option<Self> {
        let counts = walk.past().iter().rev().filter(|past| !past.superseded);
        counts.into_iter().find_map(|past| {
            let step = walk.step_at(&past.step).ok()?;
            let Question::Compute {
                computation: computation @ (Computation::SignalPlan | Computation::ClampPlan),
                with,
                ..
            } = &step.question
            else {
                return None;
            };
            let due = Due {
                path: past.step.clone(),
                step,
                again_for: None,
                needed_by: None,
            };
            let Ok(Request::SignalPlan { given, signal }) =
                request(walk, state, &due, *computation, with)
            else {
                return None;
            };
            let judged = signals::judge(signal, &given, &swing::expected(&given));
            Some(Planned {
                rpm: given.rpm,
                signal,
                steps: judged.steps,
                bits: given.scope.bits,
            })
        })
    }

    /// Where an analysis lies far from it, a sentence each.
    #[must_use]
    pub fn remarks(&self, analysis: &Analysis) -> Vec<String> {
        let speed = analysis.cranking.map(|cranking| cranking.mean_rpm);
        let far = speed.filter(|rpm| *rpm > FAR * self.rpm || *rpm * FAR < self.rpm);
        let far = far.map(|rpm| {
            format!(
                "It was cranked at {rpm:.0} rpm, and the plan for the scope reckoned with {:.0}. If the engine did not \
                 turn so, the capture's time axis is wrong.",
                self.rpm
            )
        });
        let counted =
            |check: &&crate::cranking::answer::Check| check.check == CheckName::ConverterSteps;
        let check = analysis.quality.iter().find(counted);
        let seen = check.and_then(|check| check.measured);
        let same = analysis.source == Some(kind(self.signal));
        let coarse = self
            .steps
            .zip(seen)
            .filter(|(planned, seen)| same && seen * COARSER < *planned);
        let coarse = coarse.map(|(planned, seen)| {
            format!(
                "Its swing is {seen:.0} converter steps high, and the plan, with {} bits in the range it gave, reckoned \
                 with {planned:.0} or more. Set range and bits as planned, or plan anew.",
                self.bits
            )
        });
        let other = analysis.source.filter(|_| !same);
        let other = other.map(|source| {
            format!(
                "It was read from {}, and the scope was planned for {}. If that is not what was recorded, go back to \
                 the question of the file and say anew what its columns hold.",
                source.name(),
                kind(self.signal).name()
            )
        });
        other.into_iter().chain(far).chain(coarse).collect()
    }
}

fn kind(signal: Signal) -> SignalKind {
    match signal {
        Signal::Clamp => SignalKind::StarterCurrent,
        Signal::PostsAc | Signal::PostsDc | Signal::Connector => SignalKind::BatteryVoltage,
        Signal::CrankSensor => SignalKind::CrankSpeed,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cranking::answer::{Bound, Check, Cranking};
    use crate::run::facts::tests::analysis;

    #[test]
    fn what_lies_far_from_the_plan_is_remarked_and_nothing_else() {
        let planned = Planned {
            rpm: 200.0,
            signal: Signal::PostsAc,
            steps: Some(300.0),
            bits: 12,
        };
        let mut capture = analysis(&[100.0, 99.0, 98.0, 100.0], 85.0);
        capture.source = Some(SignalKind::BatteryVoltage);
        let mut remarks = |rpm: f64, steps: f64| {
            capture.cranking = Some(Cranking {
                start_s: 0.0,
                end_s: 5.0,
                cycles: 9.0,
                mean_rpm: rpm,
            });
            capture.quality = vec![Check {
                check: CheckName::ConverterSteps,
                passed: true,
                measured: Some(steps),
                limit: 20.0,
                bound: Bound::Min,
                unit: String::new(),
                advice: String::new(),
            }];
            planned.remarks(&capture)
        };
        assert!(remarks(110.0, 160.0).is_empty() && remarks(390.0, 9000.0).is_empty());
        let slow = remarks(96.0, 160.0);
        assert_eq!(slow.len(), 1);
        assert!(slow[0].contains("at 96 rpm, and the plan for the scope reckoned with 200"));
        assert!(remarks(410.0, 160.0)[0].contains("410 rpm"));
        let coarse = remarks(200.0, 40.0);
        assert_eq!(coarse.len(), 1);
        assert!(coarse[0].contains("40 converter steps") && coarse[0].contains("with 300 or more"));
        let clamp = Planned {
            signal: Signal::Clamp,
            ..planned.clone()
        };
        let other = clamp.remarks(&capture);
        assert_eq!(other.len(), 1, "another signal was planned");
        assert!(
            other[0]
                .contains("from battery voltage, and the scope was planned for starter current")
        );
    }
}
