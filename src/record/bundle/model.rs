//! `record.json`: what a job found, derived from its journal when it is sealed, never edited.

use std::collections::BTreeMap;

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::cranking::answer::{Analysis, Drawing, VerdictKind};
use crate::procedure::model::{Hazard, OutcomeKind};
use crate::quantity::Unit;
use crate::run::event::{CaptureFile, Event, ProcedureFile};

/// Value of `schema`.
pub const SCHEMA: &str = "evenfire.record/1";

/// Lines that tell the vehicle to its owner.
const VEHICLE_LINES: [&str; 3] = ["vehicle", "vehicle identity", "odometer"];

/// Why an exercise is practice; records that have it among their reasons are exercises.
pub(crate) const EXERCISE: &str = "an exercise with a simulated vehicle";

/// The record of one job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// [`SCHEMA`].
    pub schema: String,
    /// Program and version that ran the job.
    pub tool: String,
    /// Job number.
    pub job: String,
    /// Why this is practice; empty for a job that counts.
    pub practice: Vec<String>,
    /// Name of the shop.
    pub shop: String,
    /// Identity of the technician, as in the roster.
    pub technician: String,
    /// First event's time.
    pub opened: String,
    /// Last event's time.
    pub sealed: String,
    /// Whether the times were simulated.
    pub simulated_clock: bool,
    /// Procedure that was run.
    pub procedure: String,
    /// It and all that it calls.
    pub procedures: Vec<ProcedureFile>,
    /// Vehicle, engine, instruments: line's name → answer as shown ("12.6 V").
    pub lines: BTreeMap<String, String>,
    /// Names of lines that were asked for and not told: waived, or left open when the work was stopped.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub untold: Vec<String>,
    /// How it ended.
    pub outcome: Outcome,
    /// Captures with what was computed from each, in order.
    pub captures: Vec<CaptureResult>,
    /// Everything else that was computed, in order.
    pub computed: Vec<ComputedResult>,
    /// The path taken, superseded answers included.
    pub path: Vec<PathEntry>,
    /// Notes made on the way.
    pub notes: Vec<Note>,
    /// What was disabled, and when it was put back.
    pub put_back: Vec<PutBackEntry>,
    /// Limit below which a cylinder counts as low, percent.
    pub low_percent: f64,
    /// The rule by which findings were decided, in words; empty where no recording was analysed.
    pub decision_rule: String,
    /// What the methods that were used cannot see, and whose rules come first, in words.
    pub cautions: Vec<String>,
    /// Lines of the journal, `sealed` included.
    pub journal_lines: u64,
    /// Hash of its last line, hex.
    pub journal_head: String,
    /// SHA-256 of the first manifest of the job that the shop sealed before this one, hex.
    pub previous: Option<String>,
}

impl Record {
    /// The bytes of `record.json`.
    ///
    /// # Errors
    /// Where a number in it has no word in JSON.
    pub fn text(&self) -> serde_json::Result<String> {
        Ok(format!("{}\n", serde_json::to_string_pretty(self)?))
    }

    /// Whether this is practice, and not a job that counts.
    #[must_use]
    pub fn is_practice(&self) -> bool {
        !self.practice.is_empty()
    }

    /// Whether the job must be signed, and decided about where there is another lead. An exercise need not: it
    /// is graded, counts for nothing and lies in no chain. It may be signed all the same.
    #[must_use]
    pub fn needs_signatures(&self) -> bool {
        !self.practice.iter().any(|reason| reason == EXERCISE)
    }

    /// Title of the procedure that was run; its name where the record does not hold the title.
    #[must_use]
    pub fn title(&self) -> &str {
        let mut procedures = self.procedures.iter();
        procedures
            .find(|procedure| procedure.name == self.procedure)
            .map_or(&self.procedure, |procedure| &procedure.title)
    }

    /// The capture that the result rests on: the last that gave a verdict, else the last with an
    /// analysis; none that the technician went back behind.
    #[must_use]
    pub fn deciding(&self) -> Option<&CaptureResult> {
        let kind = |capture: &CaptureResult| capture.analysis.as_ref().map(|a| a.verdict.kind);
        let counting = || self.captures.iter().rev().filter(|c| !c.superseded);
        counting()
            .find(|c| kind(c).is_some_and(|kind| kind != VerdictKind::Inconclusive))
            .or_else(|| counting().find(|c| c.analysis.is_some()))
    }

    /// Captures that count and gave a verdict, by their number in the record from one.
    pub fn judged(&self) -> impl Iterator<Item = (usize, &Analysis)> {
        let counting = self.captures.iter().zip(1..).filter(|(c, _)| !c.superseded);
        let analysed = counting.filter_map(|(c, number)| Some((number, c.analysis.as_ref()?)));
        analysed.filter(|(_, analysis)| analysis.verdict.kind != VerdictKind::Inconclusive)
    }

    /// Whether the job came to no verdict because its captures do not agree: none of them counts then.
    #[must_use]
    pub fn is_disagreed(&self) -> bool {
        let said = |analysis: &Analysis| {
            let verdict = &analysis.verdict;
            (
                verdict.kind,
                verdict.cylinders.clone(),
                verdict.positions.clone(),
            )
        };
        let mut judged = self.judged().map(|(_, analysis)| said(analysis));
        let first = judged.next();
        self.outcome.kind == OutcomeKind::NoVerdict && judged.any(|other| Some(other) != first)
    }

    /// What tells the vehicle to its owner, line's name and answer; empty where nothing of it was recorded.
    #[must_use]
    pub fn vehicle(&self) -> Vec<(&'static str, &str)> {
        let lines = VEHICLE_LINES.iter();
        let lines = lines.filter_map(|name| Some((*name, self.lines.get(*name)?.as_str())));
        lines.collect()
    }

    /// The vehicle in one line.
    #[must_use]
    pub fn vehicle_text(&self) -> String {
        let answers: Vec<&str> = self.vehicle().iter().map(|(_, answer)| *answer).collect();
        if answers.is_empty() {
            return "not recorded".to_owned();
        }
        answers.join(" · ")
    }

    /// The files that it names, each with its digest.
    pub fn files(&self) -> impl Iterator<Item = (&str, &str)> {
        let procedures = self.procedures.iter();
        let captures = self.captures.iter().map(|capture| &capture.file);
        procedures
            .map(|procedure| (procedure.file.as_str(), procedure.sha256.as_str()))
            .chain(captures.flat_map(|capture| {
                [
                    (capture.file.as_str(), capture.sha256.as_str()),
                    (capture.setup.as_str(), capture.setup_sha256.as_str()),
                ]
            }))
    }
}

/// How a job ended.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Outcome {
    /// Step of the outcome.
    pub step: String,
    /// Kind.
    pub kind: OutcomeKind,
    /// The finding in words.
    pub finding: String,
    /// What to do next.
    pub advice: Option<String>,
}

impl Outcome {
    /// The outcome that an event tells, if it tells one.
    #[must_use]
    pub fn of(event: &Event) -> Option<Outcome> {
        let Event::Concluded {
            step,
            kind,
            finding,
            advice,
        } = event
        else {
            return None;
        };
        Some(Outcome {
            step: step.clone(),
            kind: *kind,
            finding: finding.clone(),
            advice: advice.clone(),
        })
    }
}

/// A capture and what was computed from it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CaptureResult {
    /// Step that asked for it.
    pub step: String,
    /// When it was handed over.
    pub at: String,
    /// The file.
    pub file: CaptureFile,
    /// The analysis, where one was made.
    pub analysis: Option<Analysis>,
    /// What a picture of it shows.
    pub drawing: Option<Drawing>,
    /// Whether the person went back behind it.
    pub superseded: bool,
}

/// Something computed, leak-down for instance.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ComputedResult {
    /// Step.
    pub step: String,
    /// When.
    pub at: String,
    /// Name of the computation.
    pub computation: String,
    /// Facts by name.
    pub facts: BTreeMap<String, String>,
    /// Whether the person went back behind it.
    pub superseded: bool,
}

/// One step of the path taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PathEntry {
    /// Line of the journal.
    pub line: u64,
    /// When it was answered.
    pub at: String,
    /// Step.
    pub step: String,
    /// Phase of the work.
    pub phase: String,
    /// Hazards that were shown.
    pub hazards: Vec<Hazard>,
    /// What was to be done.
    pub action: Option<String>,
    /// What was asked.
    pub asked: String,
    /// What was answered, as shown.
    pub answered: String,
    /// The number behind it, where one was measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured: Option<MeasuredNumber>,
    /// When it had been answered, where the person went back and on again and was not asked anew.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub carried_from: Option<String>,
    /// Whether the person went back behind it.
    pub superseded: bool,
}

/// A number as it was measured.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MeasuredNumber {
    /// As typed, with the unit where one was typed.
    pub typed: String,
    /// In the step's unit, on its grid.
    pub value: Decimal,
    /// The step's unit.
    pub unit: Unit,
    /// The step's resolution in that unit.
    pub resolution: Decimal,
    /// Outside what is expected, and given twice.
    pub unexpected: bool,
}

/// A note.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Note {
    /// When.
    pub at: String,
    /// At which step.
    pub step: String,
    /// What.
    pub text: String,
}

/// Something that was disabled.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PutBackEntry {
    /// What.
    pub item: String,
    /// Step that disabled it.
    pub disabled_by: String,
    /// When it was put back.
    pub restored_at: Option<String>,
}
