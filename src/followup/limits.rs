//! What a shop decides for its follow-ups, and for starters, as a job's opening keeps it.

use serde::{Deserialize, Serialize};

use super::bands::Bands;
use super::static_rule::ShopRule;
use crate::engine::starter_duty::StarterDuty;
use crate::quantity::choice::UnitChoice;

/// The shop's limits.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ShopLimits {
    /// Rule for static compression of petrol engines where the maker gives no figures.
    #[serde(default)]
    pub static_compression: ShopRule,
    /// From which loss on each band of a leak-down test counts.
    #[serde(default)]
    pub leak_down: Bands,
    /// How long a starter may turn, and must rest.
    #[serde(default)]
    pub starter: StarterDuty,
    /// The units that its gauges are read in.
    #[serde(default)]
    pub units: UnitChoice,
}
