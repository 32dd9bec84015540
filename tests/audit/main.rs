//! A shop's whole register, made by the hundred and audited.

mod large;
mod register;
mod shop;
