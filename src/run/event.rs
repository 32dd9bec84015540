//! Everything that can happen in a job. State is the fold of these; going back is an event, never a
//! deletion. Changing a variant's shape breaks old journals: add variants or optional fields instead.

use std::collections::BTreeMap;

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::capture::clamps::Clamp;
use crate::cranking::answer::{Analysis, Drawing};
use crate::followup::limits::ShopLimits;
use crate::procedure::model::OutcomeKind;
use crate::procedure::rules::FurtherNeeds;
use crate::procedure::work::Condition;
use crate::quantity::Unit;

/// One event with the time it happened (UTC, RFC 3339, as the answering side's clock gave it).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Stamped {
    /// When.
    pub at: String,
    /// What.
    #[serde(flatten)]
    pub event: Event,
}

/// What happened. `step` is the path of step ids from the outermost procedure, joined by `/`:
/// `hold-vehicle`, `test-leakage/raise-pressure`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "snake_case")]
pub enum Event {
    /// The job was opened.
    Opened(Opening),
    /// A question was answered.
    Answered {
        /// Which step.
        step: String,
        /// The answer.
        answer: Answer,
    },
    /// Something was computed.
    Computed {
        /// Which step.
        step: String,
        /// Name of the computation.
        computation: String,
        /// The facts by name, as shown.
        facts: BTreeMap<String, String>,
        /// The whole analysis, for relative compression.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        analysis: Option<Box<Analysis>>,
        /// What a picture of it shows.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        drawing: Option<Box<Drawing>>,
    },
    /// The person went back; answers from that step on are superseded.
    Reopened {
        /// The step that is asked again.
        step: String,
        /// Whether it is asked again for a crank that was: another file of it, or its columns said anew.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        same_crank: bool,
    },
    /// A free note.
    Noted {
        /// At which step.
        step: String,
        /// What.
        text: String,
    },
    /// The starter was turned, and no capture came of it, or one that was not taken.
    Cranked {
        /// At which step.
        step: String,
        /// Why none.
        reason: String,
        /// SHA-256 of the capture that was not taken, hex.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sha256: Option<String>,
        /// Conditions that the crank has ended and that are asked again before the next one.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        lapsed: Vec<Condition>,
    },
    /// A photograph or another file was laid to the job.
    Attached {
        /// At which step.
        step: String,
        /// What.
        attachment: Attachment,
    },
    /// The person went back and on again; an answer that hangs on nothing that changed still counts.
    Carried {
        /// The step.
        step: String,
        /// Line of the journal on which it was answered.
        from: u64,
    },
    /// A step was not done, on a lead's signed word.
    Waived {
        /// Which step.
        step: String,
        /// The word.
        #[serde(flatten)]
        word: WaiverFile,
    },
    /// The job was left open.
    Paused {
        /// Why: "asked", "interrupted", "answers ended".
        reason: String,
    },
    /// The job was taken up again.
    Resumed {
        /// Conditions that no longer count and are asked again.
        lapsed: Vec<Condition>,
    },
    /// A torn last line was cut off and kept aside.
    Mended {
        /// File that keeps it, relative to the job.
        kept_in: String,
        /// Its bytes.
        bytes: u64,
    },
    /// Something made the job practice after it was opened.
    Practice {
        /// Why.
        reason: String,
        /// Whether times are simulated from here on.
        #[serde(default)]
        simulated_clock: bool,
    },
    /// The work was stopped before an outcome; what is still disabled is put back next.
    Stopped {
        /// Why.
        reason: String,
    },
    /// Something was put back after a stop.
    PutBack {
        /// What.
        item: Condition,
    },
    /// An outcome was reached.
    Concluded {
        /// Step of the outcome ("stopped" after a stop).
        step: String,
        /// Kind.
        kind: OutcomeKind,
        /// The finding in words.
        finding: String,
        /// What to do next.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        advice: Option<String>,
    },
    /// Nothing more will be added.
    Sealed,
}

/// How a job begins.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Opening {
    /// Job number, four digits or more.
    pub job: String,
    /// Name of the shop.
    pub shop: String,
    /// Identity of the technician, as in the roster.
    pub technician: String,
    /// Why this is practice; empty for a job that counts.
    pub practice: Vec<String>,
    /// Whether the times were simulated.
    pub simulated_clock: bool,
    /// Procedure that is run.
    pub procedure: String,
    /// It and all that it calls: file in the job, revision, hash.
    pub procedures: Vec<ProcedureFile>,
    /// Limit below which a cylinder counts as low, percent.
    pub low_percent: f64,
    /// Conditions that the shop's policy adds to the needs of kinds of work.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub needs: FurtherNeeds,
    /// The shop's limits for follow-ups.
    #[serde(default)]
    pub limits: ShopLimits,
    /// What the shop decides about breaks and waivers.
    #[serde(
        rename = "house",
        default,
        skip_serializing_if = "BreaksAndWaivers::is_default"
    )]
    pub breaks_and_waivers: BreaksAndWaivers,
    /// Program and version.
    pub tool: String,
}

/// What a shop decides about breaks and waivers, as a job was begun under it.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct BreaksAndWaivers {
    /// Minutes that a break may last before what was made safe is asked again; 0: any break.
    #[serde(default)]
    pub pause_minutes: u32,
    /// Steps that may be waived, `procedure/step`, and by whom: `lead` for any lead, or identities.
    #[serde(default)]
    pub waivers: BTreeMap<String, Vec<String>>,
}

impl BreaksAndWaivers {
    /// Whether the shop decides nothing here.
    #[must_use]
    pub fn is_default(&self) -> bool {
        *self == BreaksAndWaivers::default()
    }
}

/// A procedure as it lies in the job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ProcedureFile {
    /// Its name.
    pub name: String,
    /// Its revision.
    pub revision: u32,
    /// Its title.
    pub title: String,
    /// File relative to the job: `procedures/NAME.yaml`.
    pub file: String,
    /// SHA-256 of the file, hex.
    pub sha256: String,
}

/// An answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Answer {
    /// Yes or no.
    Confirm {
        /// Which.
        yes: bool,
    },
    /// A choice by name.
    Choice {
        /// Which.
        name: String,
    },
    /// A measured number.
    Number {
        /// As typed.
        typed: String,
        /// In the step's unit, on its grid.
        value: Decimal,
        /// The step's unit.
        unit: Unit,
        /// The step's resolution.
        resolution: Decimal,
        /// Outside the expected range, and given twice.
        unexpected: bool,
    },
    /// A text as typed.
    Text {
        /// It.
        text: String,
    },
    /// A capture, copied into the job before anything read it.
    Capture(CaptureFile),
}

/// A capture as it lies in the job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CaptureFile {
    /// Relative to the job: `captures/1.csv`.
    pub file: String,
    /// SHA-256 of it, hex.
    pub sha256: String,
    /// Its length in bytes.
    pub bytes: u64,
    /// Its set-up, relative to the job: `captures/1.setup.yaml`.
    pub setup: String,
    /// SHA-256 of the set-up, hex.
    pub setup_sha256: String,
    /// Name of the file that was handed over.
    pub original: String,
    /// Whether it came with the truth that a simulation knows.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub simulated: bool,
    /// The shop's clamp that it was taken with, where its set-up names one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clamp: Option<Clamp>,
    /// How it was understood when it was handed over, in sentences.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub understood: Vec<String>,
    /// Whether its columns are as a person told them or the shop remembers them, and not as a set-up beside it says.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub columns_told: bool,
}

/// A photograph or another file as it lies in the job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Attachment {
    /// Relative to the job: `attachments/1.jpg`.
    pub file: String,
    /// SHA-256 of it, hex.
    pub sha256: String,
    /// Its length in bytes.
    pub bytes: u64,
    /// Name of the file that was handed over.
    pub original: String,
}

/// A waiver as it lies in the job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WaiverFile {
    /// The signed text, relative to the job: `waivers/1.txt`; its signature is `waivers/1.sig`.
    pub waiver: String,
    /// Who signed, as in the roster.
    pub lead: String,
    /// Why.
    pub reason: String,
}
