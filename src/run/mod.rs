//! A procedure being gone through: a pure step from state and answer to state and events; the journal
//! on disk is the room's only input and output.

pub mod event;
