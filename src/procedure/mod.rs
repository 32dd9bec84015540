//! The trainer's file: loaded, resolved and proved. A [`model::Procedure`] whose targets are step
//! numbers can be run; one whose targets are still names cannot, because it does not type-check.
//!
//! The way in is [`read_library`]: name of a procedure and where its text comes from in, a
//! [`model::Library`] or every [`Problem`] of every file out. The phases behind it: `written` (strict
//! YAML with places) → `load` (targets are names) → `resolve` (targets are numbers) → `check`.
//! What is wrong is a `problem`, what is sound and odd one of the [`remarks`].
//! [`unary`] decides branches and [`paths`] fills values into texts, for `run`.

mod check;
pub mod compare;
pub mod computation;
mod edges;
mod library;
pub(crate) mod load;
pub mod model;
pub mod names;
pub(crate) mod nearest;
pub mod paths;
mod places;
pub(crate) mod problem;
pub mod remarks;
mod resolve;
pub mod rules;
pub mod scaffold;
pub mod schema;
pub mod unary;
pub(crate) mod waiving;
pub mod work;
mod written;

pub(crate) use check::branches_after_call;
pub use edges::{Way, leads, way_told, ways};
pub(crate) use edges::{is_said, reached};
pub use library::{read_library, read_library_by, read_unproved};
pub use problem::Problem;
pub(crate) use problem::missing::together;
pub use problem::missing::{Mend, Missing};
pub use written::tree::LARGEST as LARGEST_FILE;
pub(crate) use written::{keys, tree};
