//! What follows a cranking capture: leak-down and its like, as plain computations.

pub mod bands;
pub mod escape;
pub mod leak_down;
pub mod orifices;
