//! What follows a cranking capture: leak-down, compression by gauge, the cranking circuit, valve timing,
//! the look after a repair. Plain computations of plain values; `run` hands them what was answered.

pub mod after_repair;
pub(crate) mod altitude;
pub mod bands;
pub(crate) mod battery;
pub mod by_hand;
pub(crate) mod cable;
pub mod cam;
pub(crate) mod circuit;
pub mod escape;
pub mod figures;
pub mod given;
pub(crate) mod leak_down;
pub mod limits;
pub mod orifices;
pub(crate) mod running;
pub(crate) mod static_compression;
pub mod static_rule;
pub(crate) mod vacuum;
pub(crate) mod wet;
