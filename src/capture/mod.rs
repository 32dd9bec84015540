//! A recording and its set-up: whatever table a scope or logger exports, read by its structure; columns
//! named by the set-up and scaled. What the columns mean physically is `cranking`'s business.
//!
//! Reading goes in layers: what the bytes are (`bytes`, `blocks`), how the table is laid out
//! (`layout`), its rows (`reading`, `rows`, `quoted`), which are gathered and thinned (`gather`),
//! the time axis (`axis`), and channels in volts and amperes ([`recording`]). Sound files come in at
//! `wave`.

pub(crate) mod axis;
pub(crate) mod blocks;
pub(crate) mod bytes;
pub(crate) mod cell;
pub(crate) mod channels;
pub mod clamps;
pub(crate) mod clock;
pub mod describe;
pub(crate) mod edges;
pub(crate) mod gather;
pub(crate) mod heading;
pub mod keys;
pub(crate) mod layout;
pub(crate) mod lines;
mod place;
pub mod propose;
pub(crate) mod quoted;
pub mod read_error;
pub(crate) mod reading;
pub mod recording;
pub(crate) mod rows;
pub mod setup;
pub(crate) mod shown;
pub mod table;
pub mod understood;
pub(crate) mod unit;
pub(crate) mod wave;
mod written;

pub use read_error::ReadError;
pub use recording::{Recording, take};
pub use table::{Capture, read};
