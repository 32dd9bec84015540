//! The signed bundle of a job: a folder that stock tools verify. Also the shop that holds the jobs.
//! What a job found is computed by the run; how it looks is the report's.

pub mod audit; // a shop's jobs looked at as a whole
pub mod bundle; // what lies in a job's folder, and its seal
pub mod digest;
pub mod durable;
pub mod error;
pub mod folder; // where things lie in a job's folder
pub(crate) mod moment;
pub mod shop; // the folder that holds the jobs: people, policy, procedures
pub mod signing; // keys, and the acts of signing
pub mod verify; // whether a job's folder is what was signed

#[cfg(test)]
pub(crate) mod example;
