//! A job's journal told as a record. Everything in the record comes from the events; nothing is
//! decided here that was not decided when they happened.

mod cautions;
mod path;

use std::collections::{BTreeMap, BTreeSet};

use thiserror::Error;

use crate::procedure::model::{Library, Question};
use crate::record::bundle::model::{
    CaptureResult, ComputedResult, Note, Outcome, PutBackEntry, Record, SCHEMA,
};
use crate::run::ended;
use crate::run::event::{Answer, Event, Stamped};
use crate::run::state::State;
use crate::run::value::Value;
use crate::run::walk::{Astray, Past, Walk};

/// Why a journal cannot be told as a record.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum AssembleError {
    /// It does not begin with an opening.
    #[error("the journal does not say how the job was opened")]
    NotOpened,
    /// It has no outcome.
    #[error("the job is not concluded yet; resume it first")]
    NotConcluded,
    /// It is not closed.
    #[error("the journal is not sealed yet; resume the job first")]
    NotSealed,
    /// It does not fit the procedures.
    #[error(transparent)]
    Astray(#[from] Astray),
}

/// Where a journal ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JournalEnd {
    /// Its lines.
    pub lines: u64,
    /// Hash of its last line, hex.
    pub head: String,
}

/// The record of a sealed journal. `previous` is left open for whoever seals it into the shop's chain.
///
/// # Errors
/// Where the journal is not sealed, or does not fit the procedures.
pub fn assemble(
    library: &Library,
    state: &State,
    journal: &JournalEnd,
) -> Result<Record, AssembleError> {
    let opening = state.opening().ok_or(AssembleError::NotOpened)?;
    let concluded = state.concluded().ok_or(AssembleError::NotConcluded)?;
    let outcome = Outcome::of(&concluded.event).ok_or(AssembleError::NotConcluded)?;
    if !state.is_sealed() {
        return Err(AssembleError::NotSealed);
    }
    let walk = Walk::through(library, state)?;
    let telling = Telling {
        walk: &walk,
        events: state.events(),
    };
    let (captures, computed) = (telling.captures(), telling.computed());
    Ok(Record {
        schema: SCHEMA.to_owned(),
        tool: opening.tool.clone(),
        job: opening.job.clone(),
        practice: state.practice(),
        shop: opening.shop.clone(),
        technician: opening.technician.clone(),
        opened: telling.at(1),
        sealed: telling.at(state.events().len()),
        simulated_clock: state.simulated_clock(),
        procedure: opening.procedure.clone(),
        procedures: opening.procedures.clone(),
        lines: telling.lines(),
        untold: telling.untold(),
        outcome,
        path: telling.path(),
        notes: telling.notes(),
        put_back: telling.put_back(),
        low_percent: opening.low_percent,
        decision_rule: cautions::decision_rule(&captures),
        cautions: cautions::cautions(&captures, &computed),
        captures,
        computed,
        journal_lines: journal.lines,
        journal_head: journal.head.clone(),
        previous: None,
    })
}

struct Telling<'a> {
    walk: &'a Walk<'a>,
    events: &'a [Stamped],
}

impl Telling<'_> {
    fn at(&self, line: usize) -> String {
        let event = line.checked_sub(1).and_then(|at| self.events.get(at));
        event.map(|event| event.at.clone()).unwrap_or_default()
    }

    fn event(&self, past: &Past) -> Option<&Event> {
        Some(&self.events.get(past.line.checked_sub(1)?)?.event)
    }

    /// The answer as it was given: of one that was carried over, not the line that carried it.
    fn said(&self, past: &Past) -> Option<&Event> {
        Some(&self.events.get(past.said.checked_sub(1)?)?.event)
    }

    fn lines(&self) -> BTreeMap<String, String> {
        let lines = self.walk.lines().iter();
        lines
            .map(|(line, value)| (line.name().to_owned(), value.shown()))
            .collect()
    }

    /// Lines that a step on the way asked for and that nothing filled, in the record's order.
    fn untold(&self) -> Vec<String> {
        let waived = |past: &&Past| !past.superseded && matches!(past.value, Value::Waived(_));
        let past = self.walk.past().iter().filter(waived);
        let mut steps: Vec<_> = past
            .filter_map(|past| self.walk.step_at(&past.step).ok())
            .collect();
        if self.walk.stopped().is_some() {
            steps.extend(self.walk.due().ok().map(|due| due.step));
        }
        let told = self.walk.lines();
        let asked: BTreeSet<_> = steps.iter().filter_map(|step| step.fills).collect();
        let untold = asked.iter().filter(|line| !told.contains_key(line));
        untold.map(|line| line.name().to_owned()).collect()
    }

    fn captures(&self) -> Vec<CaptureResult> {
        let mut captures: Vec<CaptureResult> = Vec::new();
        for past in self.walk.past() {
            match self.event(past) {
                Some(Event::Answered {
                    answer: Answer::Capture(file),
                    ..
                }) => captures.push(CaptureResult {
                    step: past.step.clone(),
                    at: self.at(past.line),
                    file: file.clone(),
                    analysis: None,
                    drawing: None,
                    superseded: past.superseded,
                }),
                // handed over once, however often the person went back behind it
                Some(Event::Carried { .. }) => {
                    let same = |capture: &&mut CaptureResult| {
                        past.value == Value::Capture(capture.file.clone())
                    };
                    if let Some(capture) = captures.iter_mut().rev().find(same) {
                        capture.superseded = past.superseded;
                    }
                }
                Some(Event::Computed {
                    analysis: Some(analysis),
                    drawing,
                    ..
                }) => {
                    let step = self.captured_at(&past.step);
                    let made = captures
                        .iter_mut()
                        .rev()
                        .find(|capture| step.as_deref().is_none_or(|step| step == capture.step));
                    if let Some(capture) = made {
                        capture.analysis = Some((**analysis).clone());
                        capture.drawing = drawing.as_deref().cloned();
                    }
                }
                _ => {}
            }
        }
        captures
    }

    /// Path of the step whose capture a computing step takes.
    fn captured_at(&self, step: &str) -> Option<String> {
        let Question::Compute { with, .. } = &self.walk.step_at(step).ok()?.question else {
            return None;
        };
        let of = &with.get("capture")?.of;
        let path = match step.rsplit_once('/') {
            Some((scope, _)) => format!("{scope}/{of}"),
            None => of.clone(),
        };
        self.walk.step_at(&path).is_ok().then_some(path)
    }

    fn computed(&self) -> Vec<ComputedResult> {
        let computed = self.walk.past().iter().filter_map(|past| {
            let Some(Event::Computed {
                computation,
                facts,
                analysis: None,
                ..
            }) = self.event(past)
            else {
                return None;
            };
            Some(ComputedResult {
                step: past.step.clone(),
                at: self.at(past.line),
                computation: computation.clone(),
                facts: facts.clone(),
                superseded: past.superseded,
            })
        });
        computed.collect()
    }

    fn notes(&self) -> Vec<Note> {
        let notes = self
            .events
            .iter()
            .filter_map(|stamped| match &stamped.event {
                Event::Noted { step, text } => Some(Note {
                    at: stamped.at.clone(),
                    step: step.clone(),
                    text: text.clone(),
                }),
                Event::Cranked {
                    step,
                    reason,
                    sha256,
                    ..
                } => Some(Note {
                    at: stamped.at.clone(),
                    step: step.clone(),
                    text: match sha256 {
                        None => format!("cranked without a capture: {reason}"),
                        Some(hash) => ended::not_taken(hash, reason),
                    },
                }),
                Event::Attached { step, attachment } => Some(Note {
                    at: stamped.at.clone(),
                    step: step.clone(),
                    text: format!(
                        "{}, handed over as {}",
                        attachment.file, attachment.original
                    ),
                }),
                _ => None,
            });
        notes.collect()
    }

    fn put_back(&self) -> Vec<PutBackEntry> {
        let ledger = self.walk.ledger().iter();
        ledger
            .map(|entry| PutBackEntry {
                item: entry.item.0.clone(),
                disabled_by: entry.by.clone(),
                restored_at: entry.restored.map(|line| self.at(line)),
            })
            .collect()
    }
}

#[cfg(test)]
mod tests;
