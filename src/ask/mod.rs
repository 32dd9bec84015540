//! Who answers a run's questions: a person at a terminal, or an answers file.

mod columns;
pub mod keys;
pub mod layout;
mod paths;
mod patience;
#[cfg(unix)]
mod quiet;
mod resting;
pub mod script;
pub mod terminal;
pub mod watching;

#[cfg(test)]
mod screens;
#[cfg(test)]
mod sheets;
#[cfg(test)]
mod tests;
