//! What a person is told of a reply that was taken, before the next question.

use super::{DriveError, Hands, Job};
use crate::procedure::model::RecordLine;
use crate::quantity::Measured;
use crate::run::computing::Claim;
use crate::run::event::{Answer, Event, Stamped};
use crate::run::input::Input;
use crate::run::journal::Storage;
use crate::run::typed::is_read_otherwise;
use crate::run::value::Value;
use crate::run::walk::Walk;

impl<S: Storage> Job<'_, S> {
    /// What is said, with what keeps this job from counting in place of others: told once a note names them or the
    /// vehicle's identity is given, as long as either can be mended.
    pub(super) fn with_claims(
        &self,
        said: Option<String>,
        since: usize,
        hands: &mut Hands<'_>,
    ) -> Result<Option<String>, DriveError> {
        let events = self.state.events();
        let may_claim =
            |new: &Stamped| matches!(new.event, Event::Noted { .. } | Event::Answered { .. });
        let noted = |one: &Stamped| matches!(one.event, Event::Noted { .. });
        if !events[since..].iter().any(may_claim) || !events.iter().any(noted) {
            return Ok(said);
        }
        let walk = Walk::through(self.library, &self.state)?;
        let is_identity = |path: &str| {
            let step = walk.step_at(path);
            step.is_ok_and(|step| step.fills == Some(RecordLine::VehicleIdentity))
        };
        let identified = events[since..]
            .iter()
            .any(|new| matches!(&new.event, Event::Answered { step, .. } if is_identity(step)));
        let from = if identified { 0 } else { since };
        let notes = events[from..].iter().filter_map(|one| match &one.event {
            Event::Noted { text, .. } => Some(text.as_str()),
            _ => None,
        });
        let claim = Claim {
            notes: notes.collect(),
            identity: walk
                .lines()
                .get(&RecordLine::VehicleIdentity)
                .map(Value::shown),
            is_practice: !self.state.practice().is_empty(),
        };
        if claim.notes.is_empty() {
            return Ok(said);
        }
        let remarks = hands.computing.against_claim(&claim);
        let all: Vec<String> = said.into_iter().chain(remarks).collect();
        Ok((!all.is_empty()).then(|| all.join("\n")))
    }
}

/// What a person is told of what was written down beside the answers.
pub(super) fn beside(input: &Input) -> Option<String> {
    match input {
        Input::Note(_) => Some("Noted.".to_owned()),
        Input::Cranked(_) => Some("Counted as a crank, for the starter's rest.".to_owned()),
        Input::Attach(file) => Some(format!("Laid to the job: {}.", file.original)),
        Input::Waive(word) => Some(format!("Waived by {}.", word.lead)),
        _ => None,
    }
}

/// What a number or text came to that was typed otherwise than the step keeps it.
pub(super) fn converted(event: &Event, said: &str) -> Option<String> {
    let Event::Answered { answer, .. } = event else {
        return None;
    };
    if let Answer::Text { text } = answer {
        return (text != said.trim()).then(|| format!("→ {text}"));
    }
    let Answer::Number {
        typed, value, unit, ..
    } = answer
    else {
        return None;
    };
    let shown = Measured {
        value: *value,
        unit: *unit,
    };
    is_read_otherwise(typed, *unit).then(|| format!("{typed} is {shown}."))
}

/// How a capture that was handed over was read: sentences.
pub(super) fn understood(input: &Input) -> Vec<String> {
    match input {
        Input::Capture(file) => file.understood.clone(),
        _ => Vec::new(),
    }
}
