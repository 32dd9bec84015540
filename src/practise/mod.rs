//! An exercise with a hidden fault: an engine and its fault drawn from a seed, captures of it made when
//! the procedure asks for them, gauges read when it asks for those; the truth told and the run judged
//! only once the job is sealed. What is kept meanwhile is the seed, which tells nobody anything.

mod exercise;
mod gauges;
mod grade;
mod judging;
mod plain;

#[cfg(test)]
mod tests;

pub use exercise::{Difficulty, Escape, Exercise, Pages};
pub use grade::{NOT_GRADED, grade, is_graded};
pub use judging::Grade;
