//! A record cut into engine cycles and folded into a mean one.

pub mod cycles;
pub(crate) mod marks;
pub mod reference;
pub mod rhythm;
pub mod spline;
pub mod teeth;
pub(crate) mod wheel;
pub(crate) mod window;
