//! The closed list of kinds of work that can hurt, and the least that each needs. Compiled in, so that
//! an author cannot forget a hazard; a shop's policy may add needs, never remove one.
//!
//! Common practice of the trade, no single source; the vehicle maker's procedure, local codes and
//! licensed practice come first.

use serde::{Deserialize, Serialize};

/// A named state of the vehicle or the workplace, such as `vehicle held`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Condition(pub String);

impl std::fmt::Display for Condition {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

/// A kind of work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Work {
    /// Nothing that can hurt.
    None,
    /// Connecting scope or clamp leads.
    ConnectLeads,
    /// A crank of at most two seconds that shows that the engine does not fire.
    ProvingCrank,
    /// Cranking for a capture.
    Crank,
    /// Opening plug, glow-plug or injector holes.
    OpenCylinder,
    /// Cranking with a hole open.
    CrankOpenCylinder,
    /// Putting compressed air into a cylinder.
    PressuriseCylinder,
    /// Running the engine.
    RunEngine,
    /// Opening a fuel line.
    OpenFuel,
}

/// Things that cut an engine's fuel while they are disabled, as `disables` names them. A closed list, so
/// that nothing else that a step takes off can pass for a fuel cut.
pub const FUEL_CUTS: [&str; 7] = [
    "fuel pump relay",
    "fuel pump fuse",
    "fuel pump connector",
    "injector connectors",
    "gas valve",
    "diesel fuel cut",
    "fuel cut by the maker",
];

/// The condition that a cut fuel supply establishes.
pub(crate) const FUEL_OFF: &str = "fuel off";

/// The condition that only a proving crank establishes.
pub(crate) const PROVED: &str = "fuel off proved";

/// Longest proving crank, seconds.
pub(crate) const PROVING_S: f64 = 2.0;

/// What sits on the crank while a step has it disabled, as `disables` names it: a starter that turns the crank then
/// flings the first round, and breaks the other or what it is held by.
pub(crate) const ON_THE_CRANK: [&str; 2] = ["turning tool", "crank lock"];

/// Whether a thing cuts the fuel while it is disabled.
#[must_use]
pub fn cuts_fuel(item: &Condition) -> bool {
    FUEL_CUTS.contains(&item.0.as_str())
}

const CRANKING: [&str; 6] = [
    "drive checked",
    "vehicle held",
    "bystanders clear",
    "belts clear",
    "battery area safe",
    FUEL_OFF,
];

/// What is looked after last where several conditions are missing, in this order: the proof is a crank itself, and
/// people walk up while everything else is seen to.
const LAST: [&str; 3] = [PROVED, "belts clear", "bystanders clear"];

/// What no longer holds once hands have been at the vehicle: whoever was far away may have come near, and a lead, a rag
/// or a tool may lie in the belts.
pub(crate) const ENDED_BY_HANDS: [&str; 2] = ["bystanders clear", "belts clear"];

/// Where a condition stands among those that are missing: the higher, the later it is seen to.
#[must_use]
pub(crate) fn last_looked_after(condition: &str) -> usize {
    let place = LAST.iter().position(|name| *name == condition);
    place.map_or(0, |place| place + 1)
}

impl Work {
    /// All kinds.
    pub const ALL: [Work; 9] = [
        Work::None,
        Work::ConnectLeads,
        Work::ProvingCrank,
        Work::Crank,
        Work::OpenCylinder,
        Work::CrankOpenCylinder,
        Work::PressuriseCylinder,
        Work::RunEngine,
        Work::OpenFuel,
    ];

    /// The conditions that this work ends, whether or not a step says so.
    #[must_use]
    pub fn ends(self) -> &'static [&'static str] {
        match self {
            Work::ConnectLeads | Work::OpenCylinder | Work::PressuriseCylinder | Work::OpenFuel => {
                &ENDED_BY_HANDS
            }
            Work::None
            | Work::ProvingCrank
            | Work::Crank
            | Work::CrankOpenCylinder
            | Work::RunEngine => &[],
        }
    }

    /// Whether hands are at the vehicle for it.
    #[must_use]
    pub(crate) fn has_hands_on(self) -> bool {
        !self.ends().is_empty()
    }

    /// Whether it turns the engine; the key is in the switch for it.
    #[must_use]
    pub(crate) fn turns_engine(self) -> bool {
        matches!(
            self,
            Work::ProvingCrank | Work::Crank | Work::CrankOpenCylinder | Work::RunEngine
        )
    }

    /// Which of [`ON_THE_CRANK`] must be off for it: air turns the crank as a starter does, and only a lock stands that.
    #[must_use]
    pub(crate) fn flings(self) -> &'static [&'static str] {
        match self {
            Work::ProvingCrank | Work::Crank | Work::CrankOpenCylinder | Work::RunEngine => {
                &ON_THE_CRANK
            }
            Work::PressuriseCylinder => &ON_THE_CRANK[..1],
            Work::None | Work::ConnectLeads | Work::OpenCylinder | Work::OpenFuel => &[],
        }
    }

    /// As written in a procedure file.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Work::None => "none",
            Work::ConnectLeads => "connect leads",
            Work::ProvingCrank => "proving crank",
            Work::Crank => "crank",
            Work::OpenCylinder => "open cylinder",
            Work::CrankOpenCylinder => "crank open cylinder",
            Work::PressuriseCylinder => "pressurise cylinder",
            Work::RunEngine => "run engine",
            Work::OpenFuel => "open fuel",
        }
    }

    /// The kind of that name.
    #[must_use]
    pub fn parse(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|work| work.name() == name)
    }

    /// The least conditions that must hold before this work.
    #[must_use]
    pub fn needs(self) -> Vec<Condition> {
        let mut names: Vec<&str> = Vec::new();
        match self {
            Work::None => {}
            Work::ConnectLeads => names.extend(["key away", "leads safe"]),
            Work::ProvingCrank => names.extend(CRANKING),
            Work::Crank => {
                names.extend(CRANKING);
                names.push(PROVED);
            }
            Work::OpenCylinder => {
                names.extend(["key away", FUEL_OFF, "ignition safe", "parts cool"]);
            }
            Work::CrankOpenCylinder => {
                names.extend(CRANKING);
                names.extend([PROVED, "ignition safe", "holes clear"]);
            }
            Work::PressuriseCylinder => names.extend([
                "key away",
                FUEL_OFF,
                "ignition safe",
                "vehicle held",
                "top dead centre found",
                "crank safe",
            ]),
            Work::RunEngine => names.extend([
                "drive checked",
                "vehicle held",
                "bystanders clear",
                "belts clear",
                "exhaust extracted",
                "tested cylinder safe",
            ]),
            Work::OpenFuel => names.extend(["key away", "fuel pressure released", "parts cool"]),
        }
        names
            .into_iter()
            .map(|name| Condition(name.to_owned()))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Before a crank the fuel is proved off after hands have left the engine, and people are looked for last.
    #[test]
    fn the_look_around_comes_last() {
        let mut needs = Work::Crank.needs();
        needs.push(Condition("leads tight".to_owned()));
        needs.sort_by_key(|condition| last_looked_after(&condition.0));
        let names: Vec<&str> = needs.iter().rev().map(|need| need.0.as_str()).collect();
        assert_eq!(
            names[..3],
            ["bystanders clear", "belts clear", "fuel off proved"]
        );
        assert!(names[3..].contains(&"leads tight"));
    }
}
