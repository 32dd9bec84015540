//! What follows a cranking capture: leak-down, compression by gauge, the cranking circuit, valve timing,
//! the look after a repair. Plain computations of plain values; `run` hands them what was answered.

pub mod after_repair;
pub mod altitude;
pub mod bands;
pub mod battery;
pub mod by_hand;
pub mod cable;
pub mod cam;
pub mod circuit;
pub mod escape;
pub mod figures;
pub mod given;
pub mod leak_down;
pub mod limits;
pub mod orifices;
pub mod running;
pub mod static_compression;
pub mod static_rule;
pub mod vacuum;
pub mod wet;
