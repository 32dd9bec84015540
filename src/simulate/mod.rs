//! Practice captures with known truth, from a physical model richer than the one that is fitted:
//! battery with polarisation, dc starter with brushes and saturation, one-way clutch, friction and
//! reciprocating masses, leaks in time, sensors, coupling, converter.

pub mod accuracy;
pub mod draw;
pub mod drive;
pub mod fault;
pub mod gas;
pub mod plan;
pub mod practice;
pub mod recording;
