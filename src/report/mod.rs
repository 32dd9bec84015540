//! A record shown: tables and plots for the terminal, HTML for paper and screen. Renderers decide
//! nothing; they show what `cranking`, `followup` and `run` decided, and the same inputs give the same
//! bytes.

pub mod audit;
pub mod html;
pub mod signatures;
pub mod terminal;

pub(crate) mod text;
mod trace;
pub(crate) mod wording;

#[cfg(test)]
mod example;
