//! The signed bundle of a job: a folder that stock tools verify.

pub mod assemble;
pub mod model;
