//! How a procedure can end: a closed list, so that records and rehearsals of all procedures read alike.

use serde::{Deserialize, Serialize};

/// How a procedure can end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum OutcomeKind {
    /// Nothing found.
    NothingFound,
    /// A fault was found.
    FaultFound,
    /// No verdict was possible.
    NoVerdict,
    /// The vehicle was turned away or the work stopped for safety.
    NotDone,
}

impl OutcomeKind {
    /// All kinds.
    pub const ALL: [OutcomeKind; 4] = [
        OutcomeKind::NothingFound,
        OutcomeKind::FaultFound,
        OutcomeKind::NoVerdict,
        OutcomeKind::NotDone,
    ];

    /// As written in a procedure file.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            OutcomeKind::NothingFound => "nothing-found",
            OutcomeKind::FaultFound => "fault-found",
            OutcomeKind::NoVerdict => "no-verdict",
            OutcomeKind::NotDone => "not-done",
        }
    }

    /// As a person reads it, on the screen and in the report.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            OutcomeKind::NothingFound => "No fault found in what was tested",
            OutcomeKind::FaultFound => "A fault was found",
            OutcomeKind::NoVerdict => "No verdict was possible",
            OutcomeKind::NotDone => "The test was not carried out",
        }
    }

    /// The kind of that name.
    #[must_use]
    pub fn parse(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name)
    }
}
