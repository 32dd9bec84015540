//! A recording and its set-up: whatever table a scope or logger exports, read by its structure; columns
//! named by the set-up and scaled. What the columns mean physically is `cranking`'s business.
//!
//! Reading goes in layers: what the bytes are (`file`), how the table is laid out (`layout`), its rows, which
//! are gathered and thinned (`reading`), the time axis (`axis`), and channels in volts and amperes
//! ([`recording`]). Sound files come in at `wave`. What a set-up may say is `setup`'s, what was understood
//! `account`'s.

mod account;
pub(crate) mod axis;
pub(crate) mod channels;
pub(crate) mod clock;
pub(crate) mod edges;
mod file;
pub(crate) mod layout;
pub mod read_error;
pub(crate) mod reading;
pub mod recording;
pub mod setup;
pub(crate) mod shown;
pub mod table;
pub(crate) mod unit;
pub(crate) mod wave;

// by these names other rooms know them
pub use account::{describe, propose, understood};
pub use read_error::ReadError;
pub use recording::{Recording, take};
pub use setup::{clamps, keys};
pub use table::{Capture, read};
