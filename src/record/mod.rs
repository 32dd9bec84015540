//! The signed bundle of a job: a folder that stock tools verify. Also the shop that holds the jobs.
//! What a job found is computed by the run; how it looks is the report's.

pub mod assemble;
pub mod durable;
pub mod error;
pub mod folder;
pub mod key;
pub mod model;
pub mod policy;
pub mod roster;
pub mod shop;
pub mod sshsig;
