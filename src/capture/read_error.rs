//! Why an input could not be read: what, where, and how to mend it.

use thiserror::Error;

/// An input that could not be read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{}: {message}\n  {remedy}", place(.file, *.line, *.column))]
pub struct ReadError {
    /// The file as the user named it.
    pub file: String,
    /// Line, counted from 1; 0 where the whole file is meant.
    pub line: u64,
    /// Column of text (set-up) or field (capture), counted from 1; 0 where the whole line is meant.
    pub column: u64,
    /// What was found and what was expected.
    pub message: String,
    /// What to do.
    pub remedy: String,
}

impl ReadError {
    /// An error about a place in a file.
    pub fn new(
        file: &str,
        line: u64,
        column: u64,
        message: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self {
            file: file.to_owned(),
            line,
            column,
            message: message.into(),
            remedy: remedy.into(),
        }
    }
}

fn place(file: &str, line: u64, column: u64) -> String {
    match (line, column) {
        (0, _) => file.to_owned(),
        (line, 0) => format!("{file}:{line}"),
        (line, column) => format!("{file}:{line}:{column}"),
    }
}
