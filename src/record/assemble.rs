//! A job's journal told as a record. Everything in the record comes from the events; nothing is
//! decided here that was not decided when they happened.

use std::collections::BTreeMap;

use thiserror::Error;

use super::model::{
    CaptureResult, ComputedResult, Note, Outcome, PathEntry, PutBackEntry, Record, SCHEMA,
};
use crate::procedure::model::{Library, Question};
use crate::run::event::{Answer, Event, Stamped};
use crate::run::screen::PUT_BACK;
use crate::run::state::State;
use crate::run::value::Value;
use crate::run::walk::{Astray, Past, Walk};

/// The rule by which findings are decided, the interval as guard band (JCGM 106:2012, from memory).
const DECISION_RULE: &str = "A cylinder is low where its whole 95 % interval lies below the limit, and even \
     where the whole interval lies at or above it; where the limit lies inside the interval it is uncertain.";

/// What the method cannot see, and whose rules come first.
const CAUTIONS: [&str; 4] = [
    "Relative compression compares cylinders with each other: a loss that all cylinders share cannot be seen.",
    "A wrong firing order or cylinder numbering accuses the wrong cylinder, and nothing else would show it.",
    "The vehicle maker's procedure, local codes and licensed practice come before this record.",
    "Leak-down percentages from different testers do not compare; supply pressure and restrictor bore belong to them.",
];

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
    let outcome = outcome(state).ok_or(AssembleError::NotConcluded)?;
    if !state.is_sealed() {
        return Err(AssembleError::NotSealed);
    }
    let walk = Walk::through(library, state)?;
    let telling = Telling {
        walk: &walk,
        events: state.events(),
    };
    Ok(Record {
        schema: SCHEMA.to_owned(),
        tool: opening.tool.clone(),
        job: opening.job.clone(),
        practice: opening.practice.clone(),
        shop: opening.shop.clone(),
        technician: opening.technician.clone(),
        opened: telling.at(1),
        sealed: telling.at(state.events().len()),
        simulated_clock: opening.simulated_clock,
        procedure: opening.procedure.clone(),
        procedures: opening.procedures.clone(),
        lines: telling.lines(),
        outcome,
        captures: telling.captures(),
        computed: telling.computed(),
        path: telling.path(),
        notes: telling.notes(),
        put_back: telling.put_back(),
        low_percent: opening.low_percent,
        decision_rule: DECISION_RULE.to_owned(),
        cautions: CAUTIONS.map(str::to_owned).to_vec(),
        journal_lines: journal.lines,
        journal_head: journal.head.clone(),
        previous: None,
    })
}

fn outcome(state: &State) -> Option<Outcome> {
    match &state.concluded()?.event {
        Event::Concluded {
            step,
            kind,
            finding,
            advice,
        } => Some(Outcome {
            step: step.clone(),
            kind: *kind,
            finding: finding.clone(),
            advice: advice.clone(),
        }),
        _ => None,
    }
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

    fn lines(&self) -> BTreeMap<String, String> {
        let lines = self.walk.lines().iter();
        lines
            .map(|(line, value)| (line.name().to_owned(), value.shown()))
            .collect()
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

    /// Answers, computations, outcomes of called procedures and what was put back, in order.
    fn path(&self) -> Vec<PathEntry> {
        let mut path: Vec<PathEntry> = self
            .walk
            .past()
            .iter()
            .map(|past| self.entry(past))
            .collect();
        for returned in self.walk.returned() {
            path.push(PathEntry {
                line: returned.line as u64,
                at: self.at(returned.line),
                step: returned.step.clone(),
                phase: String::new(),
                hazards: Vec::new(),
                action: None,
                asked: "outcome of the called procedure".to_owned(),
                answered: returned.finding.clone(),
                superseded: false,
            });
        }
        for (line, event) in (1..).zip(self.events) {
            if let Event::PutBack { item } = &event.event {
                path.push(self.put_back_entry(line, &item.0));
            }
        }
        path.sort_by_key(|entry| entry.line);
        path
    }

    fn entry(&self, past: &Past) -> PathEntry {
        PathEntry {
            line: past.line as u64,
            at: self.at(past.line),
            step: past.step.clone(),
            phase: past.shown.phase.clone(),
            hazards: past.shown.hazards.clone(),
            action: past.shown.action.clone(),
            asked: past.shown.asked.clone(),
            answered: self.answered(past),
            superseded: past.superseded,
        }
    }

    fn put_back_entry(&self, line: usize, item: &str) -> PathEntry {
        let ledger = self.walk.ledger().iter();
        let mut how = ledger
            .filter(|entry| entry.item.0 == item && entry.restored == Some(line))
            .map(|entry| entry.restore.clone());
        PathEntry {
            line: line as u64,
            at: self.at(line),
            step: format!("{PUT_BACK}{item}"),
            phase: "put back".to_owned(),
            hazards: Vec::new(),
            action: how.next_back(),
            asked: format!("Back as it was: {item}."),
            answered: Value::Confirmed(true).shown(),
            superseded: false,
        }
    }

    /// The answer as shown; a number also as it was typed, where that was in another unit.
    fn answered(&self, past: &Past) -> String {
        let shown = past.value.shown();
        match self.event(past) {
            Some(Event::Answered {
                answer:
                    Answer::Number {
                        typed,
                        unit,
                        unexpected,
                        ..
                    },
                ..
            }) => {
                let own_unit = crate::quantity::Measured::parse(typed, *unit)
                    .is_ok_and(|number| number.unit == *unit);
                let as_typed = if own_unit {
                    String::new()
                } else {
                    format!(" (typed: {typed})")
                };
                let odd = if *unexpected {
                    "; outside what is expected, given twice"
                } else {
                    ""
                };
                format!("{shown}{as_typed}{odd}")
            }
            _ => shown,
        }
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
mod tests {
    use super::*;
    use crate::run::tests::{TO_CRANK, Trial};
    use crate::run::{Input, Refusal};

    fn end(trial: &Trial) -> JournalEnd {
        JournalEnd {
            lines: trial.state.events().len() as u64,
            head: "f".repeat(64),
        }
    }

    fn sealed(trial: &mut Trial) -> Record {
        trial.put(Input::Proceed).unwrap();
        trial.put(Input::Proceed).unwrap();
        assemble(&trial.library, &trial.state, &end(trial)).unwrap()
    }

    #[test]
    fn a_record_tells_the_path_superseded_answers_included() -> Result<(), Refusal> {
        let mut trial = Trial::after(&TO_CRANK);
        trial.say("even");
        trial.put(Input::Back)?;
        trial.say("yes"); // the open step had revoked "fuel off"
        trial.say("low").say("5.52bar").say("44").say("1.016");
        trial.put(Input::Note("air at the exhaust".to_owned()))?;
        trial.say("yes");
        let record = sealed(&mut trial);
        let first = &record.captures[0];
        assert!(first.superseded && !record.captures[1].superseded);
        let lowest = |at: usize| {
            record.captures[at]
                .analysis
                .clone()
                .unwrap()
                .verdict
                .cylinders
        };
        assert_eq!((lowest(0), lowest(1)), (vec![], vec![3]));
        assert_eq!(record.computed.len(), 1);
        assert_eq!(record.computed[0].facts["loss"], "45.00 %");
        let answered = |step: &str| {
            let entries = record.path.iter().filter(|entry| entry.step == step);
            entries
                .map(|entry| entry.answered.clone())
                .collect::<Vec<_>>()
        };
        assert_eq!(answered("test/supply"), ["80 psi (typed: 5.52bar)"]);
        assert_eq!(answered("test/leaks"), ["It loses 45.00 %."]);
        assert_eq!(answered("crank").len(), 2);
        assert!(record.path.is_sorted_by_key(|entry| entry.line));
        assert_eq!(record.lines["firing order"], "1-3-4-2");
        assert_eq!(record.lines["cylinders"], "Four");
        assert_eq!(record.notes[0].text, "air at the exhaust");
        assert!(
            record
                .put_back
                .iter()
                .all(|entry| entry.restored_at.is_some())
        );
        assert_eq!(record.outcome.step, "done");
        assert_eq!(record.journal_lines, trial.state.events().len() as u64);
        Ok(())
    }

    #[test]
    fn what_is_put_back_after_a_stop_stands_in_the_path() -> Result<(), Refusal> {
        let mut trial = Trial::after(&TO_CRANK);
        trial.put(Input::Stop("no time".to_owned()))?;
        trial.say("yes");
        let record = sealed(&mut trial);
        let last = record.path.last().unwrap();
        assert_eq!(last.step, "put-back/fuel relay");
        assert_eq!(last.action.as_deref(), Some("Refit the fuel relay."));
        assert!(record.outcome.finding.contains("no time"));
        Ok(())
    }

    #[test]
    fn an_open_job_has_no_record() {
        let mut trial = Trial::after(&["yes", "no"]);
        let open = assemble(&trial.library, &trial.state, &end(&trial));
        assert_eq!(open.unwrap_err(), AssembleError::NotConcluded);
        trial.put(Input::Proceed).unwrap();
        let unsealed = assemble(&trial.library, &trial.state, &end(&trial));
        assert_eq!(unsealed.unwrap_err(), AssembleError::NotSealed);
    }
}
