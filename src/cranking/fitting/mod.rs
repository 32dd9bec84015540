//! The torque balance fitted to a mean cycle, in every case that marks and record leave open.

pub(crate) mod explain;
pub mod fit;
pub(crate) mod placement;
pub(crate) mod polarity;
mod starts;
