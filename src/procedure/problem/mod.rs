//! What is wrong with a procedure file: where, what, why it matters, how to mend it.

pub(crate) mod meanings;
pub(crate) mod missing;
pub(super) mod told_once;

use std::collections::BTreeSet;

use missing::Missing;

use super::model::Position;

/// One problem. All problems of a file are reported at once.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Problem {
    /// Where.
    pub position: Position,
    /// What is wrong.
    pub message: String,
    /// Why that matters.
    pub why: String,
    /// How to mend it.
    pub remedy: String,
    /// The id of the step that it is about, where it is about one: a line that several steps share (`same-as`) makes
    /// a problem of each.
    pub step: Option<String>,
    /// The condition that is missing, where that is what is wrong: one mistake can be met at many steps.
    pub missing: Option<Missing>,
}

impl Problem {
    /// A problem of no step in particular.
    #[must_use]
    pub fn new(
        position: &Position,
        message: impl Into<String>,
        why: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self {
            position: position.clone(),
            message: message.into(),
            why: why.into(),
            remedy: remedy.into(),
            step: None,
            missing: None,
        }
    }

    /// The same, of a step.
    #[must_use]
    pub fn of_step(mut self, id: &str) -> Self {
        self.step = Some(id.to_owned());
        self
    }

    /// The same, where a condition is missing.
    #[must_use]
    pub fn with_missing(mut self, missing: Missing) -> Self {
        self.missing = Some(missing);
        self
    }
}

impl std::fmt::Display for Problem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.position, self.message)?;
        if !self.why.is_empty() {
            write!(f, "\n  why:  {}", self.why)?;
        }
        if !self.remedy.is_empty() {
            write!(f, "\n  mend: {}", self.remedy)?;
        }
        Ok(())
    }
}

impl std::error::Error for Problem {}

/// Problems as they are found. Those that leave the meaning of the file in doubt are counted apart:
/// while there are any, nothing is proved about paths, because it would be about another file than
/// the author means.
#[derive(Debug, Default)]
pub(crate) struct Findings {
    pub(crate) list: Vec<Problem>,
    pub(crate) in_doubt: bool,
    /// Conditions that are written in two ways, both of them: where they hold is not judged.
    pub(crate) misspelt: BTreeSet<String>,
}

impl Findings {
    /// A problem that leaves the meaning clear.
    pub(crate) fn flaw(&mut self, position: &Position, message: String, why: &str, remedy: String) {
        self.list.push(Problem::new(position, message, why, remedy));
    }

    /// A problem of a step that leaves the meaning clear.
    pub(crate) fn flaw_of(
        &mut self,
        step: &str,
        position: &Position,
        message: String,
        why: &str,
        remedy: String,
    ) {
        let problem = Problem::new(position, message, why, remedy);
        self.list.push(problem.of_step(step));
    }

    /// The problems from a number on are those of a step.
    pub(crate) fn are_of_step(&mut self, id: &str, from: usize) {
        for problem in self.list.iter_mut().skip(from) {
            problem.step = Some(id.to_owned());
        }
    }

    /// A problem that leaves the meaning in doubt.
    pub(crate) fn doubt(
        &mut self,
        position: &Position,
        message: String,
        why: &str,
        remedy: String,
    ) {
        self.in_doubt = true;
        self.flaw(position, message, why, remedy);
    }
}
