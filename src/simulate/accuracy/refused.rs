//! Unfit captures: refused or not, and for which reason.

use crate::cranking::analyse;
use crate::cranking::answer::{CheckName, VerdictKind};
use crate::simulate::draw::Wish;
use crate::simulate::practice::practice;
use crate::simulate::spoil::Spoil;

/// What became of one unfit capture.
#[derive(Debug, Clone)]
pub struct Refusal {
    /// Its seed.
    pub seed: u64,
    /// Whether there was no verdict.
    pub refused: bool,
    /// Whether the check that had to fail did.
    pub rightly: bool,
    /// Checks that failed, with what was measured.
    pub failed: Vec<(CheckName, Option<f64>)>,
}

/// Draw an engine, spoil its capture and analyse it; none where the seed turns no engine or draws a signal
/// that cannot be spoiled in this way.
#[must_use]
pub fn refusal(seed: u64, spoil: Spoil) -> Option<Refusal> {
    let wish = Wish {
        spoil: Some(spoil),
        ..Wish::anything()
    };
    let made = practice(seed, &wish)?;
    let several = made.engine().cylinders() > 1;
    if !spoil.suits(made.plan.recording.source) || !several {
        return None;
    }
    let answer = analyse(&made.capture(), &made.setup()).analysis;
    let failed: Vec<_> = answer
        .quality
        .iter()
        .filter(|check| !check.passed)
        .map(|check| (check.check, check.measured))
        .collect();
    let expected = spoil.check(made.plan.recording.reference.is_some());
    Some(Refusal {
        seed,
        refused: answer.verdict.kind == VerdictKind::Inconclusive,
        rightly: failed.iter().any(|(check, _)| *check == expected),
        failed,
    })
}
