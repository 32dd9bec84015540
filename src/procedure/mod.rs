//! The trainer's file: loaded, resolved and proved. A [`model::Procedure`] whose targets are step
//! numbers can be run; one whose targets are still names cannot, because it does not type-check.

pub mod computation;
pub mod model;
pub mod work;
