//! A step's texts as they are shown, values filled in.

use super::{Astray, Due, Walk, places};
use crate::procedure::model::{Hazard, Question};
use crate::run::value::{Value, filled};

/// A step's texts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    /// Phase of the work.
    pub phase: String,
    /// Hazards, strongest first.
    pub hazards: Vec<Hazard>,
    /// What to do.
    pub action: Option<String>,
    /// What is asked, or what is computed.
    pub asked: String,
}

impl Walk<'_> {
    /// A step's texts.
    pub(super) fn shown(&self, due: &Due<'_>) -> Result<Shown, Astray> {
        let (scope, _) = places::split(&due.path);
        Ok(Shown {
            phase: due.step.phase.clone(),
            hazards: due.step.hazards.clone(),
            action: due
                .step
                .action
                .as_ref()
                .map(|text| self.filled(scope, text)),
            asked: self.asked_at(&due.path)?,
        })
    }

    /// What the step of a path asks, or what it computes.
    pub(crate) fn asked_at(&self, path: &str) -> Result<String, Astray> {
        let (scope, _) = places::split(path);
        Ok(match &self.step_at(path)?.question {
            Question::Confirm { statement, .. } => self.filled(scope, statement),
            Question::Choose { ask, .. }
            | Question::Measure { ask, .. }
            | Question::Capture { ask, .. }
            | Question::Note { ask, .. } => self.filled(scope, ask),
            Question::Compute { computation, .. } => format!("computed: {}", computation.name()),
            Question::Call { procedure, .. } => self.procedure_named(procedure)?.title.clone(),
            Question::Outcome { finding, .. } => self.filled(scope, finding),
        })
    }

    /// The texts of the step that is due.
    ///
    /// # Errors
    /// Where it calls a procedure that is missing.
    pub fn due_shown(&self, due: &Due<'_>) -> Result<Shown, Astray> {
        self.shown(due)
    }

    /// A text with values filled in, as the procedure of that scope sees them.
    pub(crate) fn filled(&self, scope: &str, text: &str) -> String {
        filled(text, |path| self.read(scope, path).map(Value::shown))
    }
}
