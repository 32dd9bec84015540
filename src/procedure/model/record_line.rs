//! The lines of the record that a procedure can fill: a closed list, so that records of all procedures
//! read alike.

use serde::{Deserialize, Serialize};

/// The lines of the record that a step's answer can fill.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RecordLine {
    /// What vehicle, in the shop's own words.
    Vehicle,
    /// Its identity: registration or chassis number.
    VehicleIdentity,
    /// Odometer.
    Odometer,
    /// What the customer says.
    Complaint,
    /// What the engine burns: choices `petrol` and `diesel` (others count as unsaid).
    Fuel,
    /// Number of cylinders.
    Cylinders,
    /// Firing order ([`super::TextForm::FiringOrder`]).
    FiringOrder,
    /// Firing intervals ([`super::TextForm::FiringIntervals`]).
    FiringIntervals,
    /// Where the firing order was read.
    FiringOrderSource,
    /// Where the cylinder numbering was read.
    NumberingSource,
    /// Kind of battery.
    BatteryKind,
    /// Nominal voltage of the system.
    SystemVoltage,
    /// Scope, with its calibration date.
    Scope,
    /// Clamp or leads, with calibration date.
    Sensor,
    /// Pressure tester, with calibration date.
    Gauge,
    /// Bore of the leak-down tester's restrictor.
    RestrictorBore,
}

impl RecordLine {
    /// All lines, in the order in which the record shows them.
    pub const ALL: [RecordLine; 16] = [
        RecordLine::Vehicle,
        RecordLine::VehicleIdentity,
        RecordLine::Odometer,
        RecordLine::Complaint,
        RecordLine::Fuel,
        RecordLine::Cylinders,
        RecordLine::FiringOrder,
        RecordLine::FiringIntervals,
        RecordLine::FiringOrderSource,
        RecordLine::NumberingSource,
        RecordLine::BatteryKind,
        RecordLine::SystemVoltage,
        RecordLine::Scope,
        RecordLine::Sensor,
        RecordLine::Gauge,
        RecordLine::RestrictorBore,
    ];

    /// As written in a procedure file after `fills:` and shown in the record.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            RecordLine::Vehicle => "vehicle",
            RecordLine::VehicleIdentity => "vehicle identity",
            RecordLine::Odometer => "odometer",
            RecordLine::Complaint => "complaint",
            RecordLine::Fuel => "fuel",
            RecordLine::Cylinders => "cylinders",
            RecordLine::FiringOrder => "firing order",
            RecordLine::FiringIntervals => "firing intervals",
            RecordLine::FiringOrderSource => "firing order source",
            RecordLine::NumberingSource => "numbering source",
            RecordLine::BatteryKind => "battery kind",
            RecordLine::SystemVoltage => "system voltage",
            RecordLine::Scope => "scope",
            RecordLine::Sensor => "sensor",
            RecordLine::Gauge => "gauge",
            RecordLine::RestrictorBore => "restrictor bore",
        }
    }
}
