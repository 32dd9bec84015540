//! The record from outside: bundles made by the library, judged by it and by stock tools (coreutils,
//! OpenSSH 9.1 or newer).
#![allow(clippy::unwrap_used)]

mod acts;
mod bundle;
mod commands;
mod contents;
mod keys;
mod signatures;
mod status;
mod stock;
mod way;
