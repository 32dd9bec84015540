//! What lies in a job's folder: the record, what was handed over, what was added later, and the lists of
//! digests that the signatures cover.

pub mod amendment;
pub mod assemble;
pub mod attachments;
pub mod decision;
pub(in crate::record) mod inventory;
pub mod manifest;
pub mod model;
pub mod schema;
pub mod seal;
pub mod signed;
pub(in crate::record) mod versions;
pub mod waiver;
pub mod whereabouts;
