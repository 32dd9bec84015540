//! Who answers a run's questions: a person at a terminal, or an answers file.

mod at_work;
mod columns;
mod hints;
pub mod keys;
pub mod layout;
mod paging;
mod paths;
mod resting;
pub mod script;
pub mod terminal;
#[cfg(unix)]
mod unechoed;
pub mod watching;

#[cfg(test)]
mod screens;
#[cfg(test)]
mod sheets;
#[cfg(test)]
pub(crate) mod tests;
