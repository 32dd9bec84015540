//! Numbers on the grid of a resolution, as whole multiples, and sets of them. Whole numbers are
//! compared exactly, so gaps and overlaps of branches are decided, not estimated.

use rust_decimal::Decimal;

use crate::procedure::model::{UnaryTest, UnaryTests};

/// All values that a number can take: multiples of a resolution between two of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Grid {
    pub(crate) resolution: Decimal,
    pub(crate) least: i128,
    pub(crate) greatest: i128,
}

/// Runs of whole numbers, ascending, apart from each other.
pub(crate) type Runs = Vec<(i128, i128)>;

impl Grid {
    /// `None` where an end is no multiple of the resolution.
    pub(crate) fn new(resolution: Decimal, least: Decimal, greatest: Decimal) -> Option<Self> {
        Some(Self {
            resolution,
            least: steps(least, resolution)?,
            greatest: steps(greatest, resolution)?,
        })
    }

    /// The number of steps of a value; `None` where it lies between two.
    pub(crate) fn steps(&self, value: Decimal) -> Option<i128> {
        steps(value, self.resolution)
    }

    /// A number of steps as a value.
    pub(crate) fn value(&self, steps: i128) -> String {
        let scale = self.resolution.scale();
        let value = self.resolution.mantissa().checked_mul(steps);
        value.map_or_else(
            || format!("{steps} × {}", self.resolution),
            |value| Decimal::from_i128_with_scale(value, scale).to_string(),
        )
    }

    /// Where one test holds; `None` where it tests a name or a number finer than the grid.
    pub(crate) fn run(&self, test: &UnaryTest) -> Option<Runs> {
        let UnaryTest::Range { low, high } = test else {
            return None;
        };
        let from = match low {
            Some((end, included)) => self.steps(*end)? + i128::from(!included),
            None => self.least,
        };
        let to = match high {
            Some((end, included)) => self.steps(*end)? - i128::from(!included),
            None => self.greatest,
        };
        let (from, to) = (from.max(self.least), to.min(self.greatest));
        Some(if from <= to {
            vec![(from, to)]
        } else {
            Vec::new()
        })
    }

    /// Where tests hold; `otherwise` holds nowhere of itself.
    pub(crate) fn runs(&self, tests: &UnaryTests) -> Option<Runs> {
        let union_of = |list: &[UnaryTest]| {
            let runs: Option<Vec<Runs>> = list.iter().map(|test| self.run(test)).collect();
            runs.map(|runs| union(runs.into_iter().flatten()))
        };
        match tests {
            UnaryTests::Otherwise => Some(Vec::new()),
            UnaryTests::Any(list) => union_of(list),
            UnaryTests::Not(list) => union_of(list).map(|runs| self.rest(&runs)),
        }
    }

    /// What of the grid lies in none of the runs.
    pub(crate) fn rest(&self, runs: &Runs) -> Runs {
        let mut rest = Runs::new();
        let mut next = self.least;
        for (from, to) in runs {
            if next < *from {
                rest.push((next, from - 1));
            }
            next = next.max(to + 1);
        }
        if next <= self.greatest {
            rest.push((next, self.greatest));
        }
        rest
    }
}

/// value / resolution, where that is a whole number.
fn steps(value: Decimal, resolution: Decimal) -> Option<i128> {
    let scale = value.scale().max(resolution.scale());
    let whole = |number: Decimal| {
        let power = 10_i128.checked_pow(scale - number.scale())?;
        number.mantissa().checked_mul(power)
    };
    let (value, resolution) = (whole(value)?, whole(resolution)?);
    (resolution != 0 && value % resolution == 0).then(|| value / resolution)
}

/// All that lies in any run.
pub(crate) fn union(runs: impl IntoIterator<Item = (i128, i128)>) -> Runs {
    let mut sorted: Runs = runs.into_iter().collect();
    sorted.sort_unstable();
    let mut joined = Runs::new();
    for (from, to) in sorted {
        match joined.last_mut() {
            Some((_, end)) if from <= *end + 1 => *end = (*end).max(to),
            _ => joined.push((from, to)),
        }
    }
    joined
}

/// The first run that lies in both.
pub(crate) fn first_common(one: &Runs, other: &Runs) -> Option<(i128, i128)> {
    one.iter().find_map(|(from, to)| {
        other.iter().find_map(|(other_from, other_to)| {
            let (from, to) = (*from.max(other_from), *to.min(other_to));
            (from <= to).then_some((from, to))
        })
    })
}
