//! A shop's whole register, made by the hundred and audited.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod beside;
#[path = "../record/journal.rs"]
mod journal;
mod large;
mod lost;
mod period;
mod practice;
mod register;
mod roster;
mod shop;
