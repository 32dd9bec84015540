//! Limits in the tests of branches: which were moved, each told once. A limit stands in every branch that it
//! divides, so that moving it changes the words of several.

use std::collections::BTreeSet;

use rust_decimal::Decimal;

use crate::procedure::edges;
use crate::procedure::model::{
    Next, OutcomeKind, Procedure, Step, StepIndex, UnaryTest, UnaryTests,
};
use crate::procedure::{leads, unary};

/// A branch as it is compared: its words and where it leads.
pub(super) struct Way {
    pub(super) written: String,
    pub(super) to: String,
    /// What it can come to.
    pub(super) kinds: BTreeSet<OutcomeKind>,
    /// The ends of its ranges; none where it tests names.
    ends: Option<Vec<End>>,
}

/// The lower or upper end of a range, whether it is included.
#[derive(Clone, Copy, PartialEq)]
struct End {
    is_low: bool,
    at: Decimal,
    included: bool,
}

impl Way {
    /// Whether it tests a number against limits.
    pub(super) fn has_limits(&self) -> bool {
        self.ends.is_some()
    }
}

/// The branches of a step, in their order; none where it leads one way.
pub(super) fn branches(procedure: &Procedure<StepIndex>, step: &Step<StepIndex>) -> Vec<Way> {
    let Some(Next::When(branches)) = leads(&step.question) else {
        return Vec::new();
    };
    let way = |branch: &crate::procedure::model::Branch<StepIndex>| Way {
        written: branch.written.clone(),
        to: procedure.steps[branch.target.0].id.clone(),
        kinds: edges::ends(procedure, branch.target.0),
        ends: ends(&branch.tests),
    };
    branches.iter().map(way).collect()
}

fn ends(tests: &UnaryTests) -> Option<Vec<End>> {
    let list = match tests {
        UnaryTests::Otherwise => return None,
        UnaryTests::Any(list) | UnaryTests::Not(list) => list,
    };
    let mut ends = Vec::new();
    for test in list {
        let UnaryTest::Range { low, high } = test else {
            return None;
        };
        for (is_low, end) in [(true, low), (false, high)] {
            ends.extend(end.map(|(at, included)| End {
                is_low,
                at,
                included,
            }));
        }
    }
    Some(ends)
}

/// The limits that were moved in branches which lead where they did, in words; those branches are taken out of
/// both lists.
pub(super) fn moved(was: &mut Vec<Way>, is: &mut Vec<Way>) -> Vec<String> {
    let kept = |way: &Way, others: &[Way]| others.iter().any(|other| other.written == way.written);
    let mut told = Vec::new();
    let mut known: Vec<(Decimal, Decimal)> = Vec::new();
    let mut at = 0;
    while at < was.len() {
        let old = &was[at];
        let is_new = |new: &Way| new.to == old.to && !kept(new, was);
        let pair = is.iter().enumerate().filter(|(_, new)| is_new(new));
        let mut pair = pair.filter_map(|(number, new)| Some((number, changed(old, new)?)));
        let found = if kept(old, is) { None } else { pair.next() };
        let Some((number, ends)) = found else {
            at += 1;
            continue;
        };
        let (old, new) = (was.remove(at), is.remove(number));
        if ends.iter().any(|pair| !known.contains(pair)) {
            known.extend(ends);
            told.push(format!(
                "limit moved: `{}` becomes `{}` (→ {})",
                old.written, new.written, old.to
            ));
        }
    }
    told
}

/// The ends that are not the same in two branches of one form.
fn changed(old: &Way, new: &Way) -> Option<Vec<(Decimal, Decimal)>> {
    let (was, is) = (old.ends.as_ref()?, new.ends.as_ref()?);
    let sides = |ends: &[End]| ends.iter().map(|end| end.is_low).collect::<Vec<_>>();
    let turned = |way: &Way| matches!(unary::parse(&way.written), Ok(UnaryTests::Not(_)));
    if sides(was) != sides(is) || turned(old) != turned(new) {
        return None;
    }
    let pairs = was.iter().zip(is).filter(|(was, is)| was != is);
    Some(pairs.map(|(was, is)| (was.at, is.at)).collect())
}
