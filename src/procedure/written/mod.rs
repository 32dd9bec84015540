//! The file as it is written: YAML as a strict tree in which every node knows its place ([`tree`]), the letters that it
//! may hold, the slips of the pen that keep it from being read, steps that stand out of line, and the keys of the language.

mod cursor;
mod doubled;
pub(crate) mod keys;
pub(crate) mod layout;
mod letters;
pub(crate) mod slips;
pub(crate) mod tree;
