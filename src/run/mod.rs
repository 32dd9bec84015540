//! A procedure being gone through: a pure step from state and answer to state and events; the journal
//! on disk is the room's only input and output.

pub mod agreement;
pub mod asker;
pub(crate) mod carry;
pub(crate) mod closing;
pub mod compute;
pub mod computing;
mod differs;
pub mod drive;
pub mod ended;
pub mod event;
pub mod facts;
mod gauges;
mod going_back;
pub mod input;
pub mod journal;
pub mod keeper;
mod left_off;
pub mod next;
pub mod planned;
pub mod planning;
pub(crate) mod putting_back;
pub mod refusal;
pub mod screen;
pub mod starter;
pub mod state;
pub mod typed;
mod used_up;
pub mod value;
pub mod vehicle;
mod voltage;
mod waiving;
pub mod walk;

pub use input::{Input, step};
pub use next::{Next, next};
pub use refusal::Refusal;
pub use state::State;

#[cfg(test)]
pub(crate) mod tests;
