//! Who answers a run's questions: a person at a terminal, or an answers file.

pub mod keys;
pub mod layout;
pub mod script;
pub mod terminal;

#[cfg(test)]
mod sheets;
#[cfg(test)]
mod tests;
