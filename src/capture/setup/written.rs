//! A set-up as its file has it, before it is checked: every key in its place, unknown ones refused.

use serde::{Deserialize, Serialize};

use super::keys::{Keys, Scaling, TableKeys, TimeUnit};
use crate::capture::setup::{Analogue, Channels, Coupling, Polarity, Reference, Setup, Teeth};
use crate::engine::Fuel;

/// The whole file.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Written {
    pub engine: WrittenEngine,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limits: Option<Limits>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub time: Option<Time>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub table: Option<TableKeys>,
    pub channels: WrittenChannels,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WrittenEngine {
    pub cylinders: usize,
    pub firing_order: Vec<usize>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub firing_intervals_deg: Option<Vec<f64>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fuel: Option<Fuel>,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Limits {
    pub low_percent: f64,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Time {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub column: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<TimeUnit>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rate_hz: Option<f64>,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WrittenChannels {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub starter_current: Option<WrittenAnalogue>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub battery_voltage: Option<WrittenAnalogue>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub crank_speed: Option<Teeth>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reference: Option<Reference>,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WrittenAnalogue {
    pub column: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub scale: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub millivolt_per_ampere: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clamp: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bits: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub full_scale: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub polarity: Option<Polarity>,
    #[serde(default, skip_serializing_if = "is_direct")]
    pub coupling: Coupling,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub coupling_corner_hz: Option<f64>,
}

fn is_direct(coupling: &Coupling) -> bool {
    *coupling == Coupling::Dc
}

impl WrittenAnalogue {
    fn split(self) -> (Analogue, Scaling) {
        let scaling = Scaling {
            unit: self.unit,
            scale: self.scale,
            millivolt_per_ampere: self.millivolt_per_ampere,
            clamp: self.clamp,
            listed: None,
        };
        let channel = Analogue {
            column: self.column,
            bits: self.bits,
            full_scale: self.full_scale,
            polarity: self.polarity,
            coupling: self.coupling,
            coupling_corner_hz: self.coupling_corner_hz,
        };
        (channel, scaling)
    }

    fn joined(channel: &Analogue, scaling: Option<&Scaling>) -> Self {
        let scaling = scaling.cloned().unwrap_or_default();
        Self {
            column: channel.column.clone(),
            unit: scaling.unit,
            scale: scaling.scale,
            millivolt_per_ampere: scaling.millivolt_per_ampere,
            clamp: scaling.clamp,
            bits: channel.bits,
            full_scale: channel.full_scale,
            polarity: channel.polarity,
            coupling: channel.coupling,
            coupling_corner_hz: channel.coupling_corner_hz,
        }
    }
}

impl Written {
    /// Channels, the time column's name, and what is said about reading.
    pub fn parts(self) -> (Channels, Option<String>, Keys) {
        let mut keys = Keys {
            table: self.table.unwrap_or_default(),
            ..Keys::default()
        };
        let mut split = |name: &'static str, channel: Option<WrittenAnalogue>| {
            let (channel, scaling) = channel?.split();
            if !scaling.is_none() {
                keys.scaling.insert(name, scaling);
            }
            Some(channel)
        };
        let channels = Channels {
            starter_current: split("starter_current", self.channels.starter_current),
            battery_voltage: split("battery_voltage", self.channels.battery_voltage),
            crank_speed: self.channels.crank_speed,
            reference: self.channels.reference,
        };
        let mut column = None;
        if let Some(time) = self.time {
            column = time.column;
            keys.time_unit = time.unit;
            keys.rate_hz = time.rate_hz;
        }
        (channels, column, keys)
    }

    /// A set-up as it is written.
    pub fn of(setup: &Setup) -> Self {
        let keys = &setup.keys;
        let time = Time {
            column: setup.time_column.clone(),
            unit: keys.time_unit,
            rate_hz: keys.rate_hz,
        };
        let says = time.column.is_some() || time.unit.is_some() || time.rate_hz.is_some();
        let joined = |name, channel: &Option<Analogue>| {
            let channel = channel.as_ref()?;
            Some(WrittenAnalogue::joined(channel, keys.scaling.get(name)))
        };
        Self {
            engine: WrittenEngine {
                cylinders: setup.engine.cylinders(),
                firing_order: setup.engine.firing_order().to_vec(),
                firing_intervals_deg: Some(setup.engine.firing_intervals_deg().to_vec()),
                fuel: setup.engine.fuel(),
            },
            limits: Some(Limits {
                low_percent: setup.low_percent,
            }),
            time: says.then_some(time),
            table: (keys.table != TableKeys::default()).then(|| keys.table.clone()),
            channels: WrittenChannels {
                starter_current: joined("starter_current", &setup.channels.starter_current),
                battery_voltage: joined("battery_voltage", &setup.channels.battery_voltage),
                crank_speed: setup.channels.crank_speed.clone(),
                reference: setup.channels.reference.clone(),
            },
        }
    }
}
