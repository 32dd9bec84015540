//! The closed list of computations that a procedure may ask for: what each takes and which facts it
//! gives, with their domains, so that branches on them are proved like branches on answers. The
//! computing itself belongs to `cranking` and `followup`; `run` binds the two.

mod facts;
mod inputs;

pub use inputs::SENSORS;

use crate::procedure::model::{Interval, NumberForm};
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

impl Domain {
    /// The numbers that the fact can be, as a measurement's; none where it is no number.
    #[must_use]
    pub fn form(&self) -> Option<NumberForm> {
        let Domain::Number {
            unit,
            resolution,
            least,
            greatest,
        } = self
        else {
            return None;
        };
        Some(NumberForm {
            unit: *unit,
            meant: *unit,
            resolution: resolution.parse().ok()?,
            possible: Interval {
                least: least.parse().ok()?,
                greatest: greatest.parse().ok()?,
            },
            expected: None,
        })
    }
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
    /// All numbers that a step measured, one for each time it was visited, in that order; converted to
    /// this unit. So a procedure goes round once for each cylinder.
    Series(Unit),
    /// A choice whose names are all among these.
    Name(&'static [&'static str]),
    /// A line of text.
    Text,
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
    /// Whether the fuel makes it a petrol or a diesel engine, which are tested differently.
    EngineKind,
    /// Which cylinder is measured next, of a series of readings.
    NextCylinder,
    /// Static compression by the maker's figures, else by the shop's rule.
    StaticCompression,
    /// What oil in the cylinder changed.
    WetGain,
    /// Running compression at idle and at a snap of the throttle.
    RunningCompression,
    /// Manifold vacuum at idle, and the running compression that it lets expect.
    ManifoldVacuum,
    /// How full a rested battery is.
    RestedBattery,
    /// Whether the battery holds its voltage while cranking.
    CrankingVoltage,
    /// The drops of both sides of the cranking circuit.
    CrankingCircuit,
    /// The drop along one cable beside what its copper explains.
    CableDrop,
    /// The drop over one joint or switch.
    JointDrop,
    /// The angle from crank mark to cam edge.
    CamCorrelation,
    /// Whether a signal can serve, and how to set the scope for it.
    SignalPlan,
    /// The same for a current clamp.
    ClampPlan,
    /// Whether a channel is connected and quiet before anything turns.
    ConnectionCheck,
    /// An earlier job's record, looked up before anything is measured.
    FirstRecord,
    /// Relative compression after a repair beside an earlier job's.
    AfterRepair,
}

impl Computation {
    /// All computations.
    pub const ALL: [Computation; 20] = [
        Computation::RelativeCompression,
        Computation::Agreement,
        Computation::LeakDown,
        Computation::EngineKind,
        Computation::NextCylinder,
        Computation::StaticCompression,
        Computation::WetGain,
        Computation::RunningCompression,
        Computation::ManifoldVacuum,
        Computation::RestedBattery,
        Computation::CrankingVoltage,
        Computation::CrankingCircuit,
        Computation::CableDrop,
        Computation::JointDrop,
        Computation::CamCorrelation,
        Computation::SignalPlan,
        Computation::ClampPlan,
        Computation::ConnectionCheck,
        Computation::FirstRecord,
        Computation::AfterRepair,
    ];

    /// As written in a procedure file.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Computation::RelativeCompression => "relative compression",
            Computation::Agreement => "agreement",
            Computation::LeakDown => "leak-down",
            Computation::EngineKind => "engine kind",
            Computation::NextCylinder => "next cylinder",
            Computation::StaticCompression => "static compression",
            Computation::WetGain => "wet gain",
            Computation::RunningCompression => "running compression",
            Computation::ManifoldVacuum => "manifold vacuum",
            Computation::RestedBattery => "rested battery",
            Computation::CrankingVoltage => "cranking voltage",
            Computation::CrankingCircuit => "cranking circuit",
            Computation::CableDrop => "cable drop",
            Computation::JointDrop => "joint drop",
            Computation::CamCorrelation => "cam correlation",
            Computation::SignalPlan => "signal plan",
            Computation::ClampPlan => "clamp plan",
            Computation::ConnectionCheck => "connection check",
            Computation::FirstRecord => "first record",
            Computation::AfterRepair => "after repair",
        }
    }

    /// The computation of that name.
    #[must_use]
    pub fn parse(name: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|computation| computation.name() == name)
    }
}
