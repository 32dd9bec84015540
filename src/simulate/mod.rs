//! Practice captures with known truth, from a physical model richer than the one that is fitted:
//! battery with polarisation, dc starter with brushes and saturation, one-way clutch, friction and
//! reciprocating masses, leaks in time, heat lost to the walls, sensors, wiring, coupling, converter, toothed
//! wheels.

pub mod accuracy;
pub mod common_fault;
pub mod draw;
pub mod drive;
pub mod fault;
pub mod filter;
pub mod gas;
pub mod layouts;
pub mod plan;
pub mod practice;
pub mod recording;
pub mod reference;
pub mod spoil;
pub mod wheel;

/// What a weak cylinder can keep of its peak pressure when sound, percent: what the
/// simulator can make. Our own choice.
pub const WEAK_KEEPS: std::ops::RangeInclusive<f64> = 10.0..=100.0;
