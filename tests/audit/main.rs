//! A shop's whole register, made by the hundred and audited.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod large;
mod register;
mod shop;
