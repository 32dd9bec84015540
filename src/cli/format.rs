//! For whom an answer is printed.

use clap::ValueEnum;

/// The forms of an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Format {
    Text,
    Json,
}
