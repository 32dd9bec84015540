//! How a journal and the procedures can fail to go together.

use thiserror::Error;

/// Why a journal and the procedures do not go together.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Astray {
    /// The first event is no opening, or another one is.
    #[error("line {line} of the journal: a job begins with `opened`, and only there")]
    NotOpened {
        /// Line of the journal.
        line: usize,
    },
    /// A procedure is missing.
    #[error("the procedure {0:?} is not among those of this job")]
    NoProcedure(String),
    /// Another step was answered than the one that was due.
    #[error(
        "line {line} of the journal answers step {found:?} where {due:?} is due: these are not the procedures that the job was run with"
    )]
    OtherStep {
        /// Line of the journal.
        line: usize,
        /// The step that the event names.
        found: String,
        /// The step that was due.
        due: String,
    },
    /// A step that does not exist.
    #[error("there is no step {0:?} in the procedures of this job")]
    NoStep(String),
    /// No branch holds.
    #[error("step {step:?}: no branch leads on from {value:?}")]
    NoBranch {
        /// The step.
        step: String,
        /// The value.
        value: String,
    },
    /// A needed condition that no step establishes.
    #[error("step {step:?} needs {condition:?}, and no step before it establishes that")]
    Unproved {
        /// The step.
        step: String,
        /// The condition.
        condition: String,
    },
    /// Steps lead to each other without asking anything.
    #[error("step {0:?} is passed again and again without a question")]
    Endless(String),
}
