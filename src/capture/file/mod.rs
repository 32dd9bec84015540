//! From a file to whole lines of text in one encoding, or to a sound file.

pub(crate) mod blocks;
pub(crate) mod bytes;
