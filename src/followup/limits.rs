//! What a shop decides for its follow-ups, as a job's opening keeps it.

use serde::{Deserialize, Serialize};

use super::bands::Bands;
use super::static_rule::ShopRule;

/// The shop's limits.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ShopLimits {
    /// Rule for static compression of petrol engines where the maker gives no figures.
    #[serde(default)]
    pub static_compression: ShopRule,
    /// From which loss on each band of a leak-down test counts.
    #[serde(default)]
    pub leak_down: Bands,
}
