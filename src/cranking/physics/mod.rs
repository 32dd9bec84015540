//! The torque balance of cranking: gas, friction, crank and starter; read backwards from the signal and stepped forwards.

pub(crate) mod balance;
mod load;
pub mod model;
mod motor;
pub(crate) mod pulse;
