//! The signed bundle of a job: a folder that stock tools verify. Also the shop that holds the jobs.
//! What a job found is computed by the run; how it looks is the report's.

pub mod agent;
pub mod amendment;
pub mod assemble;
pub mod attachments;
pub mod audit;
mod chain;
pub mod decision;
pub mod digest;
pub mod durable;
pub mod error;
pub mod folder;
pub mod founding;
mod inventory;
pub mod key;
pub mod manifest;
pub mod model;
pub mod policy;
pub mod queue;
pub mod roster;
pub mod schema;
pub mod seal;
pub mod shop;
pub mod signed;
pub mod signer;
pub mod signing;
pub mod sshsig;
pub mod verify;
mod versions;
pub mod waiver;
pub mod whereabouts;
