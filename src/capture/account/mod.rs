//! What a capture was understood to be, told to whoever uses it: before it is used, and in the record.

pub mod describe;
pub mod propose;
pub mod understood;
