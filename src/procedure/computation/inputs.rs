//! What each computation takes.

use super::{Computation, Input, InputKind};
use crate::quantity::Unit;

/// What an engine burns, as the intake asks it.
const FUELS: &[&str] = &["petrol", "gas", "diesel"];

/// Voltages of starting systems, as the intake asks them.
const SYSTEMS: &[&str] = &["twelve-volts", "twenty-four-volts"];

/// Kinds of battery, as the intake asks them.
const BATTERIES: &[&str] = &["flooded", "enhanced-flooded", "mat", "gel", "lithium"];

/// Sizes of battery cables, by cross-section in mm² or by gauge.
const CABLES: &[&str] = &[
    "mm2-16", "mm2-25", "mm2-35", "mm2-50", "mm2-70", "mm2-95", "awg-4-0", "awg-2-0", "awg-1-0",
    "awg-2", "awg-4", "awg-6", "awg-10",
];

/// What a signal can be taken with, as a procedure asks it.
pub const SENSORS: &[&str] = &["clamp", "posts", "connector", "crank-sensor", "small-clamp"];

/// What current passes through between cables.
const JOINTS: &[&str] = &["connection", "switch"];

impl Computation {
    /// What it takes.
    #[expect(clippy::too_many_lines, reason = "a table, a row for each computation")]
    #[must_use]
    pub fn inputs(self) -> Vec<Input> {
        use InputKind::{Capture, Name, Number, Result, Series, Text};
        let listed: &[(&'static str, InputKind)] = match self {
            Computation::RelativeCompression => &[("capture", Capture)],
            Computation::Agreement => &[
                ("first", Result(Computation::RelativeCompression)),
                ("second", Result(Computation::RelativeCompression)),
            ],
            Computation::LeakDown => &[
                ("cylinder", Text), // as it was told apart: "3", or "3 or 2"
                ("supply", Number(Unit::Psi)),
                ("reading", Number(Unit::Psi)),
                ("bore", Number(Unit::Millimetre)),
            ],
            Computation::EngineKind => &[("fuel", Name(FUELS))],
            Computation::NextCylinder => &[
                ("cylinders", Number(Unit::Count)),
                ("readings", Series(Unit::Psi)),
            ],
            Computation::StaticCompression => &[
                ("readings", Series(Unit::Psi)),
                ("fuel", Name(FUELS)),
                ("least", Number(Unit::Psi)), // 0 where the maker gives none
                ("difference", Number(Unit::Psi)), // 0 where the maker gives none
                ("altitude", Number(Unit::Metre)),
            ],
            Computation::WetGain => &[("dry", Number(Unit::Psi)), ("wet", Number(Unit::Psi))],
            Computation::RunningCompression => &[
                ("cranking", Number(Unit::Psi)),
                ("idle", Number(Unit::Psi)),
                ("snap", Number(Unit::Psi)),
            ],
            Computation::ManifoldVacuum => &[
                ("vacuum", Number(Unit::InchMercury)),
                ("ratio", Number(Unit::Count)),
                ("altitude", Number(Unit::Metre)),
            ],
            Computation::RestedBattery => &[
                ("voltage", Number(Unit::Volt)),
                ("system", Name(SYSTEMS)),
                ("kind", Name(BATTERIES)),
            ],
            Computation::CrankingVoltage => &[
                ("voltage", Number(Unit::Volt)),
                ("temperature", Number(Unit::Celsius)),
                ("system", Name(SYSTEMS)),
            ],
            Computation::CrankingCircuit => &[
                ("positive", Number(Unit::Volt)),
                ("ground", Number(Unit::Volt)),
                ("current", Number(Unit::Ampere)),
            ],
            Computation::CableDrop => &[
                ("drop", Number(Unit::Volt)),
                ("current", Number(Unit::Ampere)),
                ("length", Number(Unit::Metre)),
                ("size", Name(CABLES)),
                ("temperature", Number(Unit::Celsius)),
            ],
            Computation::JointDrop => &[("drop", Number(Unit::Volt)), ("part", Name(JOINTS))],
            Computation::CamCorrelation => &[
                ("capture", Capture),
                ("expected", Number(Unit::Degree)),
                ("tolerance", Number(Unit::Degree)),
            ],
            Computation::SignalPlan => &[
                ("speed", Number(Unit::Rpm)),
                ("bits", Number(Unit::Count)),
                ("sensor", Name(SENSORS)),
            ],
            Computation::ClampPlan => &[
                ("speed", Number(Unit::Rpm)),
                ("bits", Number(Unit::Count)),
                ("rating", Number(Unit::Ampere)),
                ("output", Number(Unit::Millivolt)), // for one ampere
            ],
            Computation::ConnectionCheck => &[("capture", Capture)],
            Computation::FirstRecord => &[("job", Text)],
            Computation::AfterRepair => &[
                ("first job", Text),
                ("now", Result(Computation::RelativeCompression)),
            ],
        };
        let all = listed.iter();
        all.map(|&(name, kind)| Input { name, kind }).collect()
    }
}
