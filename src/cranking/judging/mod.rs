//! Whether a channel can carry a verdict, what its peaks come to, and in which words.

pub(crate) mod quality;
pub(crate) mod uncertainty;
pub(crate) mod unsteady;
pub(crate) mod verdict;
pub mod wording;
