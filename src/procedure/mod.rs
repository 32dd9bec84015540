//! The trainer's file: loaded, resolved and proved. A [`model::Procedure`] whose targets are step
//! numbers can be run; one whose targets are still names cannot, because it does not type-check.
//!
//! The way in is [`read_library`]: name of a procedure and where its text comes from in, a
//! [`model::Library`] or every [`Problem`] of every file out. The phases behind it: `tree` (strict
//! YAML with places) → `load` (targets are names) → `resolve` (targets are numbers) → `check`.
//! [`unary`] decides branches and [`paths`] fills values into texts, for `run`.

mod check;
pub mod compare;
pub mod computation;
mod cursor;
mod edges;
pub mod idle;
mod keys;
mod letters;
mod library;
pub(crate) mod load;
mod meanings;
pub(crate) mod missing;
pub mod model;
pub mod names;
pub(crate) mod nearest;
mod outcome;
pub mod paths;
mod places;
pub(crate) mod problem;
pub mod record_line;
mod resolve;
pub mod rules;
pub mod scaffold;
pub mod schema;
mod slips;
mod told_once;
pub(crate) mod tree;
pub mod unary;
pub(crate) mod waiving;
pub mod work;
pub mod worth_a_look;

pub(crate) use check::branches_after_call;
pub use edges::{Way, leads, way_told, ways};
pub use library::{read_library, read_library_by};
pub(crate) use missing::together;
pub use missing::{Mend, Missing};
pub use problem::Problem;
pub use tree::LARGEST as LARGEST_FILE;
