//! What comes next in a job.

use crate::procedure::computation::Computation;
use crate::procedure::model::{Library, OutcomeKind, Question};
use crate::run::compute::{self, Request};
use crate::run::event::Event;
use crate::run::putting_back;
use crate::run::screen::{self, Screen};
use crate::run::state::State;
use crate::run::walk::{Astray, Walk};

/// Step of the outcome after a stop.
pub const STOPPED: &str = "stopped";

/// What comes next.
#[derive(Debug, Clone, PartialEq)]
#[expect(
    clippy::large_enum_variant,
    reason = "there is one at a time, and it is looked into at once"
)]
pub enum Next {
    /// A question to a person; something disabled is asked to be put back in the same way.
    Ask(Box<Screen>),
    /// Something to compute.
    Compute {
        /// Path of the step.
        step: String,
        /// Which computation.
        computation: Computation,
        /// Its inputs, or the sentence that says which is missing.
        request: Result<Box<Request>, String>,
    },
    /// An outcome is reached: this event ends the work.
    Conclude(Event),
    /// Concluded: the journal can be sealed.
    Seal,
    /// Sealed: nothing more.
    Done,
}

/// What comes next in a job.
///
/// # Errors
/// Where the events do not fit the procedures.
pub fn next(library: &Library, state: &State) -> Result<Next, Astray> {
    let walk = Walk::through(library, state)?;
    from_walk(library, state, &walk)
}

/// What comes next where the job's walk is at hand.
///
/// # Errors
/// Where the procedures do not lead on.
pub fn from_walk(library: &Library, state: &State, walk: &Walk<'_>) -> Result<Next, Astray> {
    if state.is_sealed() {
        return Ok(Next::Done);
    }
    if state.concluded().is_some() {
        return Ok(Next::Seal);
    }
    if let Some(reason) = walk.stopped() {
        let mut because = format!("The work was stopped: {reason}");
        if walk.stopped_at()?.is_some() {
            because += "\nGoing back takes the stop back, until something is put back.";
        }
        return Ok(put_back(walk, state, &because).unwrap_or_else(|| conclude_stopped(reason)));
    }
    let due = walk.due()?;
    if let Some(screen) = putting_back::left_behind(walk, state, &due) {
        return Ok(Next::Ask(Box::new(screen)));
    }
    if let Some(screen) = screen::of_step(walk, state, &due, library)? {
        return Ok(Next::Ask(Box::new(screen)));
    }
    match &due.step.question {
        Question::Compute {
            computation, with, ..
        } => Ok(Next::Compute {
            step: due.path.clone(),
            computation: *computation,
            request: compute::request(walk, state, &due, *computation, with).map(Box::new),
        }),
        Question::Outcome {
            kind,
            finding,
            advice,
        } => {
            let finding = walk.filled("", finding);
            let because = format!("The work comes to its end: {finding}");
            Ok(put_back(walk, state, &because).unwrap_or_else(|| {
                Next::Conclude(Event::Concluded {
                    step: due.path.clone(),
                    kind: *kind,
                    finding,
                    advice: advice.as_ref().map(|text| walk.filled("", text)),
                })
            }))
        }
        _ => Err(Astray::Endless(due.path)),
    }
}

fn put_back(walk: &Walk<'_>, state: &State, because: &str) -> Option<Next> {
    putting_back::next(walk, state, because).map(|screen| Next::Ask(Box::new(screen)))
}

fn conclude_stopped(reason: &str) -> Next {
    Next::Conclude(Event::Concluded {
        step: STOPPED.to_owned(),
        kind: OutcomeKind::NotDone,
        finding: format!("The work was stopped before an outcome: {reason}"),
        advice: None,
    })
}
