//! The closed list of computations that a procedure may ask for: what each takes and which facts it
//! gives, with their domains, so that branches on them are proved like branches on answers. The
//! computing itself belongs to `cranking` and `followup`; `run` binds the two.

use crate::quantity::Unit;

/// What values a fact can take.
#[derive(Debug, Clone, PartialEq)]
pub enum Domain {
    /// One of these names.
    Choice(Vec<String>),
    /// A number on the grid of a resolution, between limits (all decimal texts).
    Number {
        /// Its unit.
        unit: Unit,
        /// Step of the grid.
        resolution: &'static str,
        /// Least value.
        least: &'static str,
        /// Greatest value.
        greatest: &'static str,
    },
    /// Free text; it can be shown, not tested.
    Text,
}

/// A fact that a computation gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// Its name; `step-id.name` refers to it.
    pub name: &'static str,
    /// Its values.
    pub domain: Domain,
}

/// A value that a computation takes.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// Its name, the key under `with:`.
    pub name: &'static str,
    /// What must be given.
    pub kind: InputKind,
}

/// The kinds of value that a computation takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InputKind {
    /// A capture step.
    Capture,
    /// A step with the same computation's facts.
    Result(Computation),
    /// A measured number, converted to this unit.
    Number(Unit),
}

/// A computation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Computation {
    /// Relative compression per cylinder from a cranking capture.
    RelativeCompression,
    /// Whether two relative-compression results say the same.
    Agreement,
    /// Loss, flow ratio and band of a leak-down test.
    LeakDown,
}

impl Computation {
    /// All computations.
    pub const ALL: [Computation; 3] = [
        Computation::RelativeCompression,
        Computation::Agreement,
        Computation::LeakDown,
    ];

    /// As written in a procedure file.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Computation::RelativeCompression => "relative compression",
            Computation::Agreement => "agreement",
            Computation::LeakDown => "leak-down",
        }
    }

    /// The computation of that name.
    #[must_use]
    pub fn parse(name: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|computation| computation.name() == name)
    }

    /// What it takes.
    #[must_use]
    pub fn inputs(self) -> Vec<Input> {
        let input = |name, kind| Input { name, kind };
        match self {
            Computation::RelativeCompression => vec![input("capture", InputKind::Capture)],
            Computation::Agreement => vec![
                input("first", InputKind::Result(Computation::RelativeCompression)),
                input(
                    "second",
                    InputKind::Result(Computation::RelativeCompression),
                ),
            ],
            Computation::LeakDown => vec![
                input("supply", InputKind::Number(Unit::Psi)),
                input("reading", InputKind::Number(Unit::Psi)),
                input("bore", InputKind::Number(Unit::Millimetre)),
            ],
        }
    }

    /// The facts that it gives.
    #[must_use]
    pub fn facts(self) -> Vec<Fact> {
        let fact = |name, domain| Fact { name, domain };
        let choice =
            |names: &[&str]| Domain::Choice(names.iter().map(|name| (*name).to_owned()).collect());
        match self {
            Computation::RelativeCompression => vec![
                fact("verdict", choice(&["even", "low", "inconclusive"])),
                // how many cylinders are low, and whether they stand side by side in firing order
                // or 360° apart; "none" unless the verdict is low
                fact(
                    "pattern",
                    choice(&["none", "one", "neighbours", "companions", "several"]),
                ),
                fact("lowest cylinder", Domain::Text), // "3", or "3 or 2" where only a pair is known
                fact("lowest percent", Domain::Text),
                fact("low cylinders", Domain::Text),
                fact("why", Domain::Text),
            ],
            Computation::Agreement => vec![
                fact("agreement", choice(&["agree", "differ"])),
                fact("why", Domain::Text),
            ],
            Computation::LeakDown => vec![
                fact(
                    "loss",
                    Domain::Number {
                        unit: Unit::Percent,
                        resolution: "0.01",
                        least: "0",
                        greatest: "100",
                    },
                ),
                fact("band", choice(&["good", "acceptable", "poor", "fault"])),
                // leak area over restrictor area, from the two orifices in series
                fact("flow ratio", Domain::Text),
                fact("meaning", Domain::Text),
            ],
        }
    }
}
