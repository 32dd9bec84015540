//! The record from outside: bundles made by the library, judged by it and by stock tools (coreutils,
//! OpenSSH 9.1 or newer).
#![allow(clippy::unwrap_used)]
#![allow(
    clippy::too_many_lines,
    reason = "a table of cases reads best as a whole"
)]

mod acts;
mod agent;
mod amendments;
mod asked;
mod attachments;
mod bundle;
mod chain;
mod commands;
mod contents;
mod differential;
mod form;
mod forms;
mod hostile;
mod journal;
mod keys;
mod later;
mod layers;
mod lost;
mod real;
mod round_trip;
mod signatures;
mod status;
mod stock;
mod tamper;
mod waivers;
mod way;
