//! What a scenario says. How it is written is `read`'s business.

use std::collections::BTreeMap;

use crate::ask::script::Given;
use crate::cranking::answer::SignalKind;
use crate::engine::Engine;
use crate::procedure::model::{OutcomeKind, Position};
use crate::simulate::draw::ReferenceWish;
use crate::simulate::spoil::Spoil;

/// A scenario.
#[derive(Debug, Clone, PartialEq)]
pub struct Scenario {
    /// Where it begins.
    pub position: Position,
    /// Its name: the file's stem.
    pub name: String,
    /// The procedure that it goes through.
    pub procedure: String,
    /// What it is about.
    pub about: Option<String>,
    /// The engine, where it has one.
    pub engine: Option<Engine>,
    /// Simulated captures by the path of the capture step.
    pub captures: BTreeMap<String, Placed<Vec<Simulated>>>,
    /// Facts taken as computed, by the path of the compute step.
    pub computed: BTreeMap<String, Placed<Vec<Facts>>>,
    /// Answers that are not the usual ones, in order.
    pub answers: Vec<Entry>,
    /// How it must end.
    pub expect: Expect,
    /// Kinds of outcome that each denied statement may come to; none where nothing is denied.
    pub deny_each: Placed<Vec<OutcomeKind>>,
}

impl Scenario {
    /// The steps for which captures or results are stated, each with the place of what is stated.
    pub(super) fn stated(&self) -> impl Iterator<Item = (&String, &Position)> {
        let captures = self.captures.iter().map(|(path, c)| (path, &c.position));
        let computed = self.computed.iter().map(|(path, c)| (path, &c.position));
        captures.chain(computed)
    }
}

/// Facts by name.
pub type Facts = BTreeMap<String, String>;

/// Something with its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed<V> {
    /// Where it is written.
    pub position: Position,
    /// It; for the first visit, the second and so on, the last for all after it.
    pub value: V,
}

impl<V> Placed<Vec<V>> {
    /// What is written for a visit, the first being 0.
    #[must_use]
    pub fn visit(&self, number: usize) -> Option<&V> {
        self.value.get(number).or_else(|| self.value.last())
    }
}

/// A capture to be simulated.
#[derive(Debug, Clone, PartialEq)]
pub struct Simulated {
    /// Number that everything random is drawn from.
    pub seed: u64,
    /// Which capture of the same vehicle.
    pub again: u32,
    /// What is recorded; drawn where not given.
    pub signal: Option<SignalKind>,
    /// Its reference.
    pub reference: ReferenceWish,
    /// What makes it unfit for a verdict.
    pub spoil: Option<Spoil>,
    /// Weak cylinders and what each keeps, percent; all others are sound.
    pub weak: BTreeMap<usize, f64>,
    /// Where the recording is cut off, seconds.
    pub seconds: Option<f64>,
}

/// An answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Where it is written.
    pub position: Position,
    /// Path of the step.
    pub step: String,
    /// What is replied there.
    pub given: Given,
}

/// How a scenario must end.
#[derive(Debug, Clone, PartialEq)]
pub struct Expect {
    /// The outcome step, with its place.
    pub outcome: Placed<String>,
    /// Steps that must be met in this order, others between them.
    pub way: Vec<Placed<String>>,
}
