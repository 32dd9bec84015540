//! The analysis from outside: its machine interface, input that cannot be read, hostile input, profiles of
//! the standards, the shipped captures, and captures that cannot carry a verdict.

#![allow(clippy::unwrap_used)]
#![allow(
    clippy::too_many_lines,
    reason = "a table of cases reads best as a whole"
)]

mod filters;
mod fixture;
mod folder;
#[path = "../record/form.rs"]
mod form;
mod hostile;
mod interface;
mod made;
mod naming;
mod profiles;
mod refused;
mod shipped;
mod simulator;
mod statistics;
mod unfit;
