//! A recording and its set-up: the table read, columns named by the set-up. What the columns mean
//! physically is `cranking`'s business.

mod place;
pub mod read_error;
pub mod setup;
pub mod table;

pub use read_error::ReadError;
pub use table::{Capture, read};
