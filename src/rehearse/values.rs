//! Values that take a given way out of a step.

use rust_decimal::Decimal;

use super::scenario::Facts;
use super::usual;
use crate::procedure::Way;
use crate::procedure::computation::{Computation, Domain};
use crate::procedure::model::{
    Branch, Interval, Next, NumberForm, StepIndex, UnaryTest, UnaryTests,
};
use crate::procedure::unary::{self, Tested};

/// Whether a value takes a way.
pub(super) fn leads_by(next: &Next<StepIndex>, value: Tested<'_>, way: Way) -> bool {
    match (next, way) {
        (Next::Always(_), _) => true,
        (Next::When(branches), Way::Branch(number)) => {
            let taken = unary::branch(branches, value);
            taken.is_some_and(|taken| std::ptr::eq(taken, &branches[number]))
        }
        _ => false,
    }
}

/// A value that takes a way, as far from every limit and end as can be, so that it still takes it when a limit is moved a
/// little; one that is expected if there is one.
pub(super) fn number(form: &NumberForm, next: &Next<StepIndex>, way: Way) -> Option<Decimal> {
    let limits: Vec<Decimal> = match next {
        Next::When(branches) => branches.iter().flat_map(limits).collect(),
        Next::Always(_) => return Some(usual::middle(form)),
    };
    let expected = form.expected.unwrap_or(form.possible);
    let inside = |range: Interval| {
        let mut ends: Vec<Decimal> = vec![range.least, range.greatest];
        let own = limits.iter().copied();
        ends.extend(own.filter(|limit| *limit > range.least && *limit < range.greatest));
        ends.sort();
        ends.dedup();
        let beside = |limit: &Decimal| [*limit, *limit - form.resolution, *limit + form.resolution];
        let mut candidates: Vec<Decimal> = ends.iter().flat_map(beside).collect();
        candidates.extend(ends.windows(2).map(|pair| {
            let half = (pair[1] - pair[0]) / Decimal::TWO;
            pair[0] + (half / form.resolution).floor() * form.resolution
        }));
        let room = |value: &Decimal| {
            let away = ends.iter().map(|limit| (*limit - *value).abs());
            away.min()
        };
        candidates
            .into_iter()
            .filter(|value| *value >= range.least && *value <= range.greatest)
            .filter(|value| leads_by(next, Tested::Number(*value), way))
            .max_by_key(|value| (room(value), std::cmp::Reverse(*value)))
    };
    inside(expected).or_else(|| inside(form.possible))
}

fn limits(branch: &Branch<StepIndex>) -> Vec<Decimal> {
    let (UnaryTests::Any(tests) | UnaryTests::Not(tests)) = &branch.tests else {
        return Vec::new();
    };
    let ends = tests.iter().flat_map(|test| match test {
        UnaryTest::Range { low, high } => [*low, *high],
        UnaryTest::Name(_) => [None, None],
    });
    ends.flatten().map(|(end, _)| end).collect()
}

/// Facts that take a way: the tested one, where it must be another than the first.
pub(super) fn facts(
    computation: Computation,
    tested: Option<&str>,
    next: &Next<StepIndex>,
    way: Way,
) -> Option<Facts> {
    let Some(tested) = tested.filter(|_| matches!(next, Next::When(_))) else {
        return Some(Facts::new());
    };
    let fact = computation
        .facts()
        .into_iter()
        .find(|fact| fact.name == tested)?;
    let value = match &fact.domain {
        Domain::Choice(names) => {
            let mut names = names.iter();
            names
                .find(|name| leads_by(next, Tested::Name(name), way))?
                .clone()
        }
        Domain::Number { unit, .. } => {
            let value = number(&fact.domain.form()?, next, way)?;
            format!("{value} {}", unit.symbol())
        }
        Domain::Text => return None,
    };
    Some(Facts::from([(tested.to_owned(), value)]))
}
