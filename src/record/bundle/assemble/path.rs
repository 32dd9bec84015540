//! The path that was taken: what was shown, asked and answered, in order, superseded answers included.

use super::Telling;
use crate::record::bundle::model::{MeasuredNumber, PathEntry};
use crate::run::event::{Answer, Event};
use crate::run::screen::{PUT_BACK, asked_back};
use crate::run::typed::is_read_otherwise;
use crate::run::value::Value;
use crate::run::walk::Past;

impl Telling<'_> {
    /// Answers, computations, outcomes of called procedures and what was put back, in order.
    pub(in crate::record) fn path(&self) -> Vec<PathEntry> {
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
                measured: None,
                carried_from: None,
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
            measured: self.measured(past),
            carried_from: (past.said != past.line).then(|| self.at(past.said)),
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
            asked: asked_back(item),
            answered: Value::Confirmed(true).shown(),
            measured: None,
            carried_from: None,
            superseded: false,
        }
    }

    /// The number behind an answer, with unit and resolution.
    fn measured(&self, past: &Past) -> Option<MeasuredNumber> {
        match self.said(past) {
            Some(Event::Answered {
                answer:
                    Answer::Number {
                        typed,
                        value,
                        unit,
                        resolution,
                        unexpected,
                    },
                ..
            }) => Some(MeasuredNumber {
                typed: typed.clone(),
                value: *value,
                unit: *unit,
                resolution: *resolution,
                unexpected: *unexpected,
            }),
            _ => None,
        }
    }

    /// The answer as shown; a number also as it was typed, where it was read otherwise.
    fn answered(&self, past: &Past) -> String {
        let shown = past.value.shown();
        match self.said(past) {
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
                let as_typed = if is_read_otherwise(typed, *unit) {
                    format!(" (typed: {typed})")
                } else {
                    String::new()
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
}
