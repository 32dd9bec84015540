//! Whether leak and poor filling are told apart rightly, of cylinders that were called low and are.

use std::collections::BTreeMap;

use crate::cranking::answer::{Analysis, Finding, Identified};
use crate::cranking::wording::{LACKS, LEAKS};
use crate::engine::Loss;
use crate::simulate::practice::Practice;

/// Truth below which a cylinder has a loss worth a name, percent.
const LOST: f64 = 92.0;

/// Trapped charge below which the loss is one of charge: sound cylinders differ by 1.5 %, leaks leave it alone.
const LESS_CHARGE: f64 = 0.97;

/// What a loss is, and what was said of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Told {
    /// What it is.
    pub truth: Loss,
    /// What the remark says; nothing where it leaves both open.
    pub said: Option<Loss>,
}

/// Of every cylinder called low; `names` leads from what the answer calls them to the true cylinder.
#[must_use]
pub fn told(made: &Practice, analysis: &Analysis, names: &BTreeMap<usize, usize>) -> Vec<Told> {
    let label = match analysis.identified {
        Some(Identified::PositionOnly) => "Position",
        _ => "Cylinder",
    };
    let cylinders = analysis.cylinders.iter().flatten();
    let positions = analysis.positions.iter().flatten();
    let low = cylinders
        .map(|row| (row.cylinder, row.finding))
        .chain(positions.map(|row| (row.position, row.finding)))
        .filter(|(_, finding)| *finding == Finding::Low);
    low.filter_map(|(name, _)| {
        let cylinder = names.get(&name)?;
        let lost = made.truth.relative_compression_percent.get(cylinder)? < &LOST;
        let says = |what: &str| {
            let beginning = format!("{label} {name} {what}");
            analysis
                .remarks
                .iter()
                .any(|remark| remark.starts_with(&beginning))
        };
        let said = match (says(LEAKS), says(LACKS)) {
            (true, false) => Some(Loss::Leak),
            (false, true) => Some(Loss::Filling),
            _ => None,
        };
        let truth = if *made.truth.charge.get(cylinder)? < LESS_CHARGE {
            Loss::Filling
        } else {
            Loss::Leak
        };
        lost.then_some(Told { truth, said })
    })
    .collect()
}

/// Of losses of one kind: said rightly, said wrongly, left open.
#[must_use]
pub fn tally<'a>(all: impl IntoIterator<Item = &'a Told>, truth: Loss) -> [usize; 3] {
    let mut tally = [0; 3];
    for told in all.into_iter().filter(|told| told.truth == truth) {
        let place = match told.said {
            Some(said) if said == truth => 0,
            Some(_) => 1,
            None => 2,
        };
        tally[place] += 1;
    }
    tally
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn right_wrong_and_silent_are_counted_apart() {
        let told = |truth, said| Told { truth, said };
        let all = [
            told(Loss::Leak, Some(Loss::Leak)),
            told(Loss::Leak, Some(Loss::Filling)),
            told(Loss::Leak, None),
            told(Loss::Leak, Some(Loss::Leak)),
            told(Loss::Filling, Some(Loss::Leak)),
        ];
        assert_eq!(tally(&all, Loss::Leak), [2, 1, 1]);
        assert_eq!(tally(&all, Loss::Filling), [0, 1, 0]);
    }
}
