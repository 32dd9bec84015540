//! What was found held against what is true, in one word.

use std::collections::BTreeSet;

use crate::cranking::answer::{Analysis, Finding, Identified};
use crate::engine::{CYCLE_DEG, Engine};
use crate::procedure::model::OutcomeKind;
use crate::simulate::practice::Practice;

/// How a run stands against the truth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grade {
    /// The cylinders that are low were found, or none where none is.
    Right,
    /// Found as a position in the firing order: the recording has no reference.
    RightPosition,
    /// Found but for the companion: the recording's reference comes every turn.
    RightPair,
    /// Found, yet not in every cylinder, or no cylinder could be named.
    Partly,
    /// No verdict: nothing wrong was said, nothing was found.
    Open,
    /// A fault was overlooked.
    Overlooked,
    /// The one that is low is none of those that were tested.
    Untested,
    /// A sound cylinder, or a sound engine, was accused.
    Accused,
    /// The procedure looked at nothing that the exercise knows the truth of.
    Ungraded,
}

impl Grade {
    /// In words: of the cylinders alone, for of nothing else is it a grade.
    #[must_use]
    pub fn told(self) -> &'static str {
        match self {
            Grade::Right => {
                "right: the cylinders that were found low are those that are, no more and no fewer"
            }
            Grade::RightPosition => {
                "right as far as this capture can tell: as many positions were found low, as far from one another, as are; \
                 it has no reference, and without one a position has no cylinder's number"
            }
            Grade::RightPair => {
                "right as far as this capture can tell: each cylinder that is low was found, or its companion; its reference \
                 comes every turn, and such a one does not tell the two apart"
            }
            Grade::Partly => {
                "partly right: a cylinder was found low, and one is; not every low one was found by its number"
            }
            Grade::Open => "open: no verdict was reached",
            Grade::Overlooked => "wrong: a cylinder that is low was overlooked",
            Grade::Untested => {
                "right of the cylinders that were tested; one that is low was not among them, and nothing in this job could \
                 tell which to test"
            }
            Grade::Accused => "wrong: a fault was found in a cylinder that is not low",
            Grade::Ungraded => {
                "none: this way through the procedure looked at no cylinder's compression, and of \
                 nothing else does an exercise know the truth"
            }
        }
    }
}

/// The cylinders that the last analysis with a verdict calls low, the analyses being given with the last one first;
/// nothing where it could name none.
pub(super) fn named<'a>(
    mut analyses: impl Iterator<Item = &'a Analysis>,
) -> Option<BTreeSet<usize>> {
    let analysis = analyses.find(|analysis| analysis.cylinders.is_some())?;
    let rows = analysis.cylinders.iter().flatten();
    if analysis.identified == Some(Identified::OneOfPair) {
        return None;
    }
    let low = rows.filter(|row| row.finding == Finding::Low);
    Some(low.map(|row| row.cylinder).collect())
}

/// The grade of an outcome, by the analyses that count, the last one first.
pub(super) fn judge<'a>(
    kind: OutcomeKind,
    weak: &BTreeSet<usize>,
    analyses: impl Iterator<Item = &'a Analysis> + Clone,
    made: &Practice,
) -> Grade {
    match (kind, weak.is_empty()) {
        (OutcomeKind::NoVerdict | OutcomeKind::NotDone, _) => Grade::Open,
        (OutcomeKind::NothingFound, true) => Grade::Right,
        (OutcomeKind::NothingFound, false) => Grade::Overlooked,
        (OutcomeKind::FaultFound, true) => Grade::Accused,
        (OutcomeKind::FaultFound, false) => match named(analyses.clone()) {
            Some(named) if named == *weak => Grade::Right,
            Some(named) if !named.is_subset(weak) => Grade::Accused,
            Some(_) => Grade::Partly,
            None => as_far_as_told(weak, analyses, made).unwrap_or(Grade::Partly),
        },
    }
}

/// Right where no more could be told, because the exercise's own recording has no reference, or one that comes every
/// turn.
fn as_far_as_told<'a>(
    weak: &BTreeSet<usize>,
    mut analyses: impl Iterator<Item = &'a Analysis>,
    made: &Practice,
) -> Option<Grade> {
    let reference = made.plan.recording.reference.as_ref();
    if reference.is_some_and(|reference| reference.every_deg >= CYCLE_DEG) {
        return None;
    }
    let told = |one: &&Analysis| one.cylinders.is_some() || one.positions.is_some();
    let last = analyses.find(told)?;
    match last.identified? {
        Identified::Cylinder => None,
        Identified::OneOfPair => is_of_pairs(weak, last).then_some(Grade::RightPair),
        Identified::PositionOnly => {
            is_so_placed(weak, last, made.engine()).then_some(Grade::RightPosition)
        }
    }
}

/// Whether as many are low as were found, each of them one that was found or its companion.
fn is_of_pairs(weak: &BTreeSet<usize>, analysis: &Analysis) -> bool {
    let rows = analysis.cylinders.iter().flatten();
    let low: Vec<[usize; 2]> = rows
        .filter(|row| row.finding == Finding::Low)
        .map(|row| [row.cylinder, row.companion.unwrap_or(row.cylinder)])
        .collect();
    let is_found = |cylinder: &usize| low.iter().any(|pair| pair.contains(cylinder));
    let is_low = |pair: &[usize; 2]| pair.iter().any(|cylinder| weak.contains(cylinder));
    low.len() == weak.len() && weak.iter().all(is_found) && low.iter().all(is_low)
}

/// Whether the positions that were found low are those of the low cylinders, from wherever they are counted.
fn is_so_placed(weak: &BTreeSet<usize>, analysis: &Analysis, engine: &Engine) -> bool {
    let rows = analysis.positions.iter().flatten();
    let low = rows.filter(|row| row.finding == Finding::Low);
    let low: Vec<usize> = low.map(|row| row.position).collect();
    let count = engine.cylinders();
    let places: BTreeSet<usize> = weak.iter().filter_map(|c| engine.place_of(*c)).collect();
    let turned = |by: usize| -> BTreeSet<usize> {
        low.iter().map(|position| (position + by) % count).collect()
    };
    (0..count).any(|by| turned(by) == places)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cranking::answer::CylinderRow;
    use crate::practise::{Difficulty, Exercise};
    use crate::simulate::draw::{ReferenceWish, Wish};
    use crate::simulate::practice::practice;

    /// What the captures of an exercise with these low cylinders say where its recording has such a reference.
    fn analysed(weak: &[usize], reference: ReferenceWish) -> (Practice, Analysis) {
        let engine = Engine::new(4, &[1, 3, 4, 2], None, None).unwrap();
        let losses = weak
            .iter()
            .filter_map(|c| Some((engine.place_of(*c)?, 60.0)));
        let wish = Wish {
            losses: Some(losses.collect()),
            engine: Some(engine.clone()),
            reference: Some(reference),
            ..Wish::anything()
        };
        let made = practice(1, &wish).unwrap();
        let analysis = crate::cranking::analyse(&made.capture(), &made.setup()).analysis;
        (made, analysis)
    }

    fn graded(weak: &[usize], (made, analysis): &(Practice, Analysis)) -> Grade {
        let weak = weak.iter().copied().collect();
        judge(OutcomeKind::FaultFound, &weak, [analysis].into_iter(), made)
    }

    /// Whoever found the right place and pair found all that there was to find, and hears why it is no cylinder.
    #[test]
    fn what_no_capture_can_tell_is_asked_of_nobody() {
        let place = analysed(&[3], ReferenceWish::None);
        assert_eq!(place.1.identified, Some(Identified::PositionOnly));
        assert_eq!(graded(&[3], &place), Grade::RightPosition);
        // one position is not two cylinders
        assert_eq!(graded(&[3, 4], &place), Grade::Partly);
        let pair = analysed(&[3], ReferenceWish::Turn);
        assert_eq!(pair.1.identified, Some(Identified::OneOfPair));
        assert_eq!(graded(&[3], &pair), Grade::RightPair);
        assert_eq!(graded(&[2], &pair), Grade::RightPair);
        assert_eq!(graded(&[1], &pair), Grade::Partly);
        assert!(Grade::RightPosition.told().contains("it has no reference"));
        assert!(Grade::RightPair.told().contains("comes every turn"));
        // the recording would have told it: what was left out of it is no reason
        let cycle = analysed(&[3], ReferenceWish::Cycle);
        assert_eq!(graded(&[3], &(cycle.0.clone(), place.1)), Grade::Partly);
        assert_eq!(graded(&[3], &cycle), Grade::Right);
    }

    /// Neighbours are told from companions by how far they are apart, from wherever they are counted.
    #[test]
    fn positions_are_held_against_places_in_the_firing_order() {
        let found = analysed(&[3, 4], ReferenceWish::None);
        assert_eq!(graded(&[3, 4], &found), Grade::RightPosition);
        assert_eq!(graded(&[1, 2], &found), Grade::RightPosition);
        assert_eq!(graded(&[3, 2], &found), Grade::Partly);
    }

    /// A grade says no more than what it is of.
    #[test]
    fn a_grade_is_of_the_cylinders_alone() {
        assert_eq!(
            Grade::Right.told(),
            "right: the cylinders that were found low are those that are, no more and no fewer"
        );
        for grade in [Grade::Partly, Grade::Overlooked, Grade::Accused] {
            assert!(grade.told().contains("cylinder"), "{}", grade.told());
        }
    }

    #[test]
    fn what_was_found_is_held_against_what_is_there() {
        let set = |cylinders: &[usize]| cylinders.iter().copied().collect::<BTreeSet<usize>>();
        let exercise = Exercise {
            fuel: None,
            seed: 1,
            difficulty: Difficulty::Medium,
            signal: None,
            firing_order: Some(vec![1, 3, 4, 2]),
            weak: None,
            escape: None,
            spoil: None,
        };
        let made = exercise.unspoiled().unwrap();
        let analysis = crate::cranking::analyse(&made.capture(), &made.setup()).analysis;
        // what is called low, whatever was
        let calling = |low: &[usize]| {
            let mut analysis = analysis.clone();
            analysis.identified = Some(Identified::Cylinder);
            let row = |cylinder| CylinderRow {
                cylinder,
                companion: None,
                relative_compression_percent: 100.0,
                low: 99.0,
                high: 101.0,
                finding: match low.contains(&cylinder) {
                    true => Finding::Low,
                    false => Finding::Even,
                },
            };
            analysis.cylinders = Some((1..5).map(row).collect());
            analysis
        };
        let (fault, nothing) = (OutcomeKind::FaultFound, OutcomeKind::NothingFound);
        let cases = [
            (fault, &[3][..], Some(&[3][..]), Grade::Right),
            (fault, &[3, 4], Some(&[3]), Grade::Partly),
            (fault, &[3], None, Grade::Partly),
            (fault, &[3], Some(&[2, 3]), Grade::Accused),
            (fault, &[], Some(&[1]), Grade::Accused),
            (nothing, &[], Some(&[]), Grade::Right),
            (nothing, &[1], Some(&[]), Grade::Overlooked),
            (OutcomeKind::NoVerdict, &[1], None, Grade::Open),
            (OutcomeKind::NotDone, &[], None, Grade::Open),
        ];
        for (kind, weak, named, wanted) in cases {
            let named = named.map(calling);
            let found = judge(kind, &set(weak), named.iter(), &made);
            assert_eq!(found, wanted, "{kind:?} {weak:?}");
        }
    }
}
