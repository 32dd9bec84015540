//! A recording and its set-up: whatever table a scope or logger exports, read by its structure; columns
//! named by the set-up and scaled. What the columns mean physically is `cranking`'s business.
//!
//! Reading goes in layers: what the bytes are ([`bytes`], [`blocks`]), how the table is laid out
//! ([`layout`]), its rows ([`reading`], [`rows`], [`quoted`]), which are gathered and thinned ([`gather`]),
//! the time axis ([`axis`]), and channels in volts and amperes ([`recording`]). Sound files come in at
//! [`wave`].

pub mod axis;
pub mod blocks;
pub mod bytes;
pub mod cell;
pub mod channels;
pub mod clamps;
pub mod clock;
pub mod describe;
pub mod gather;
pub mod heading;
pub mod keys;
pub mod layout;
pub mod lines;
mod place;
pub mod propose;
pub mod quoted;
pub mod read_error;
pub mod reading;
pub mod recording;
pub mod rows;
pub mod setup;
pub mod shown;
pub mod table;
pub mod understood;
pub mod unit;
pub mod wave;
mod written;

pub use read_error::ReadError;
pub use recording::{Recording, take};
pub use table::{Capture, read};
