//! The program as a person runs it: a job begun, left, gone on with, demonstrated; and everything that
//! can be handed to it that is wrong.
#![allow(clippy::unwrap_used)]
#![allow(
    clippy::too_many_lines,
    reason = "a table of cases reads best as a whole"
)]

mod advised;
mod again;
mod beside;
mod closed;
#[cfg(unix)]
mod corrected;
mod demo;
mod exercises;
mod fixture;
#[cfg(unix)]
mod founding;
mod full;
#[cfg(unix)]
mod keyed;
mod killed;
mod limits;
mod misplaced;
#[cfg(unix)]
mod people;
mod policy;
#[cfg(unix)]
mod pty;
mod refused;
mod run;
mod scenarios;
mod shells;
mod workbench;
