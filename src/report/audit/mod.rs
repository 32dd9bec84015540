//! An audit in words for a terminal, and its lines for other programs. What is wrong was decided by
//! `record`; here it is only told.

pub mod export;
mod found;
mod register;
mod standing;

pub use self::register::{Told, text, wrongs};
