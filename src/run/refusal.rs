//! Why an input is not taken: what is wrong with it and what would do.

use rust_decimal::Decimal;
use thiserror::Error;

use crate::engine::EngineError;
use crate::quantity::QuantityError;
use crate::run::walk::Astray;

/// Why an input is not taken. The question stays open.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum Refusal {
    /// The input answers another kind of question.
    #[error("{given} is no answer here; {wanted} is asked for")]
    OtherKind {
        /// What was given.
        given: &'static str,
        /// What is asked for.
        wanted: &'static str,
    },
    /// No such choice.
    #[error("{name:?} cannot be chosen here; choose one of: {choices}")]
    NoChoice {
        /// What was given.
        name: String,
        /// What there is.
        choices: String,
    },
    /// No number, or of another quantity.
    #[error(transparent)]
    Number(#[from] QuantityError),
    /// Off the grid.
    #[error("{typed} is finer than can be read here; give steps of {resolution} {unit}")]
    OffGrid {
        /// As typed.
        typed: String,
        /// The step's resolution.
        resolution: Decimal,
        /// The step's unit.
        unit: &'static str,
    },
    /// A mark before three digits can part thousands as well as decimals.
    #[error("{typed}: {parted} or {whole}? Type it without comma or point")]
    TwoWays {
        /// As typed.
        typed: String,
        /// The number where the mark begins decimals.
        parted: Decimal,
        /// The number where it parts thousands.
        whole: Decimal,
    },
    /// Outside what is possible.
    #[error(
        "{value} is impossible here: from {least} to {greatest} can be; look at the reading again"
    )]
    Impossible {
        /// The value with its unit.
        value: String,
        /// Least.
        least: Decimal,
        /// Greatest.
        greatest: Decimal,
    },
    /// Impossible beside what was read before.
    #[error("{0}")]
    Together(String),
    /// Outside what is expected, and given for the first time.
    #[error(
        "{shown} is outside the expected {least} to {greatest}; look again, and type it once more if it is so"
    )]
    Unexpected {
        /// The value, in the step's unit.
        value: Decimal,
        /// The value with its unit.
        shown: String,
        /// Least.
        least: Decimal,
        /// Greatest.
        greatest: Decimal,
    },
    /// A yes that the vehicle's description speaks against, given for the first time.
    #[error(
        "you described the vehicle as {vehicle:?}. Yes only if the vehicle maker's data say that it has no high \
         voltage and no 48 V starter: look there, then give it once more; no if it has or nobody knows"
    )]
    Described {
        /// The description.
        vehicle: String,
    },
    /// No number where one is asked for.
    #[error("{told}, for example {example}")]
    NoNumber {
        /// What it is instead.
        told: String,
        /// One that would be taken.
        example: Decimal,
    },
    /// Nothing where something is asked for.
    #[error("an answer is needed here; write at least a word")]
    Empty,
    /// No registration, vehicle or complaint can be written so.
    #[error("{typed:?} {why}; {remedy}")]
    NotOfLine {
        /// As typed.
        typed: String,
        /// What it is.
        why: &'static str,
        /// How it is written.
        remedy: &'static str,
    },
    /// Characters that no line of text holds.
    #[error("the text holds a character that cannot be shown; write it as one plain line")]
    ControlCharacter,
    /// No firing order or interval.
    #[error("{part:?} is no number; {remedy}")]
    NotNumbers {
        /// The part.
        part: String,
        /// How it is written.
        remedy: &'static str,
    },
    /// An impossible engine.
    #[error(transparent)]
    Engine(#[from] EngineError),
    /// No date.
    #[error("{0:?} is no date; write it as in 2026-03-02")]
    NoDate(String),
    /// A step that cannot be waived.
    #[error("this step cannot be waived: {0}")]
    NotWaivable(String),
    /// A lead's word that does not count, or a file that cannot be laid to the job.
    #[error("{0}")]
    NotKept(String),
    /// A capture that cannot be taken into the job.
    #[error("{0}")]
    Capture(String),
    /// Nothing to go back to.
    #[error("this is the first question; there is nothing to go back to")]
    NothingBefore,
    /// No question has that number.
    #[error("there is no step {number} to go back to; the last that was answered is {last}")]
    NoSuchStep {
        /// The number.
        number: usize,
        /// The greatest there is.
        last: usize,
    },
    /// The question of that number came up again since.
    #[error("what step {number} asks was asked again as step {again}; go back to that one first")]
    AskedAgain {
        /// The number.
        number: usize,
        /// Its number when it came up last.
        again: usize,
    },
    /// Going back after a stop.
    #[error("the work was stopped, and putting back has begun; what is disabled is put back now")]
    Stopped,
    /// A stop where nothing else comes any more.
    #[error(
        "nothing is left to stop: all goes back before the job ends, and what was found stands; pause the job if that must wait"
    )]
    Closing,
    /// Something disabled cannot be left.
    #[error("{0} must be back in place before the job can end; pause the job if that must wait")]
    MustBePutBack(String),
    /// Hands would reach in while the engine may run.
    #[error(
        "the engine must stand and the key be out before anything is put back; pause the job if that must wait"
    )]
    EngineMayRun,
    /// The job is over.
    #[error("this job is concluded; nothing more is asked")]
    Over,
    /// The journal and the procedures do not go together.
    #[error(transparent)]
    Astray(#[from] Astray),
}

impl Refusal {
    /// Whether the same answer is taken where it is given once more.
    #[must_use]
    pub fn is_asked_twice(&self) -> bool {
        matches!(self, Refusal::Unexpected { .. } | Refusal::Described { .. })
    }
}
