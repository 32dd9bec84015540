//! The facts that each computation gives.

use super::{Computation, Domain, Fact};
use crate::quantity::Unit;

impl Computation {
    /// The facts that it gives.
    #[expect(clippy::too_many_lines, reason = "a table, a row for each computation")]
    #[must_use]
    pub fn facts(self) -> Vec<Fact> {
        match self {
            Computation::RelativeCompression => vec![
                choice("verdict", &["even", "low", "inconclusive"]),
                // how many cylinders are low, and whether they stand side by side in firing order
                // or 360° apart; "none" unless the verdict is low
                choice(
                    "pattern",
                    &["none", "one", "neighbours", "companions", "several"],
                ),
                // both in one, and why there is no verdict where that leads elsewhere: the engine ran, or the signal
                // ran off its range
                choice(
                    "result",
                    &[
                        "even",
                        "one",
                        "neighbours",
                        "companions",
                        "several",
                        "unclear",
                        "range",
                        "running",
                    ],
                ),
                text("lowest cylinder"), // "3", or "3 or 2" where only a pair is known
                text("lowest percent"),
                text("low cylinders"),
                text("why"),
            ],
            Computation::Agreement => {
                vec![choice("agreement", &["agree", "differ"]), text("why")]
            }
            Computation::LeakDown => vec![
                text("cylinder"),
                number("loss", Unit::Percent, "0.1", "0", "100"),
                choice("band", &["good", "acceptable", "poor", "fault"]),
                // leak area over restrictor area, from the two orifices in series
                text("flow ratio"),
                text("meaning"),
            ],
            Computation::EngineKind => vec![choice("kind", &["petrol", "diesel"])],
            Computation::NextCylinder => vec![
                choice("left", &["more", "none"]),
                text("next"), // "3", or "none"
            ],
            Computation::StaticCompression => vec![
                choice("verdict", &["even", "low", "all-low"]),
                text("lowest cylinder"),
                number("lowest pressure", Unit::Psi, "0.1", "0", "2000"),
                text("low cylinders"),
                text("readings"),
                text("rule"),
                text("why"),
            ],
            Computation::WetGain => vec![
                choice("change", &["risen", "same"]),
                text("gain"),
                text("meaning"),
            ],
            Computation::RunningCompression => vec![
                choice("finding", &["usual", "inlet", "exhaust", "idle-off"]),
                text("idle share"),
                text("snap share"),
                text("meaning"),
            ],
            Computation::ManifoldVacuum => vec![
                choice("vacuum", &["usual", "low"]),
                number("estimate", Unit::Psi, "1", "0", "1000"),
                text("meaning"),
            ],
            Computation::RestedBattery => vec![
                choice("charge", &["enough", "charge-first", "makers-data"]),
                text("state"),
                text("meaning"),
            ],
            Computation::CrankingVoltage => vec![
                choice("judged", &["holds", "falls-short"]),
                number("least", Unit::Volt, "0.01", "0", "30"),
                text("meaning"),
            ],
            Computation::CrankingCircuit => vec![
                choice("finding", &["sound", "positive", "ground", "both"]),
                text("drops"),
                text("meaning"),
            ],
            Computation::CableDrop => vec![
                choice("finding", &["sound", "joint", "thin"]),
                text("copper alone"),
                text("meaning"),
            ],
            Computation::JointDrop => vec![
                choice("finding", &["sound", "over"]),
                number("limit", Unit::Volt, "0.01", "0", "1"),
            ],
            Computation::CamCorrelation => vec![
                choice("finding", &["agrees", "out", "unsettled", "unreadable"]),
                text("angle"),
                text("difference"),
                text("meaning"),
            ],
            Computation::SignalPlan | Computation::ClampPlan => vec![
                choice("fit", &["serves", "coarse", "unfit"]),
                text("range"),
                text("steps"),
                text("rate"),
                text("crank"),
                text("cycles"),
                text("record"),
                text("why"),
                text("instead"),
            ],
            Computation::ConnectionCheck => vec![
                choice(
                    "finding",
                    &[
                        "quiet", "short", "dropouts", "steps", "hum", "noise", "offset",
                    ],
                ),
                text("measured"),
                text("advice"),
            ],
            Computation::FirstRecord => vec![
                choice("found", &["found", "not-found"]),
                text("record"),
                text("vehicle"),
                text("why"),
            ],
            Computation::AfterRepair => vec![
                choice("finding", &["improved", "same", "worse", "cannot-tell"]),
                text("cylinders"),
                text("first record"),
                text("why"),
                text("advice"),
            ],
        }
    }
}

fn text(name: &'static str) -> Fact {
    Fact {
        name,
        domain: Domain::Text,
    }
}

fn choice(name: &'static str, names: &[&str]) -> Fact {
    Fact {
        name,
        domain: Domain::Choice(names.iter().map(|name| (*name).to_owned()).collect()),
    }
}

fn number(
    name: &'static str,
    unit: Unit,
    resolution: &'static str,
    least: &'static str,
    greatest: &'static str,
) -> Fact {
    Fact {
        name,
        domain: Domain::Number {
            unit,
            resolution,
            least,
            greatest,
        },
    }
}
