//! Who answers, as the run sees them: shown a screen, they reply. A terminal and an answers file
//! are two of them; the run knows neither.

use thiserror::Error;

use crate::run::compute::Computed;
use crate::run::event::Event;
use crate::run::keeper::{Columns, Headings};
use crate::run::refusal::Refusal;
use crate::run::screen::Screen;
use crate::run::starter::{RestDue, Rested};
use crate::run::walk::Returned;

/// Someone who answers questions and has a clock.
pub trait Asker {
    /// Show a question and take the reply. `refused` says why the reply before was not taken.
    ///
    /// # Errors
    /// Why there is no reply.
    fn ask(&mut self, screen: &Screen, refused: Option<&Refusal>) -> Result<Reply, NoAnswer>;

    /// Show what needs no reply.
    ///
    /// # Errors
    /// Where it cannot be shown.
    fn tell(&mut self, told: &Told<'_>) -> Result<(), NoAnswer>;

    /// Ask once what a capture's columns hold; none where that is not answered.
    ///
    /// # Errors
    /// As [`Asker::ask`].
    fn columns(&mut self, _headings: &Headings) -> Result<Option<Columns>, NoAnswer> {
        Ok(None)
    }

    /// Ask once which vehicle a job is about that is stopped before that was said; none where nobody says.
    ///
    /// # Errors
    /// As [`Asker::ask`].
    fn vehicle(&mut self) -> Result<Option<String>, NoAnswer> {
        Ok(None)
    }

    /// Show the rest that the starter is due as a countdown. Whoever cannot be hurt by a hot starter, such
    /// as an answers file, lets it pass.
    ///
    /// # Errors
    /// As [`Asker::ask`].
    fn rest(&mut self, _due: &RestDue) -> Result<Rested, NoAnswer> {
        Ok(Rested::Whole)
    }

    /// The time on their clock, UTC, RFC 3339.
    fn now(&mut self) -> String;
}

/// A reply.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reply {
    /// Yes.
    Yes,
    /// No.
    No,
    /// A choice by name.
    Choice(String),
    /// What was typed where a number or text is asked for.
    Typed(String),
    /// Path of a capture file.
    File(String),
    /// Back to the question before.
    Back,
    /// Not another file of the crank that was: crank anew.
    CrankAnew,
    /// Back to the step of that number, from 1.
    BackTo(usize),
    /// A free note.
    Note(String),
    /// The starter was turned, and no capture came of it, for that reason.
    Cranked(String),
    /// A photograph or another file for the record, by its path.
    Attach(String),
    /// Not done, on a lead's word.
    Waive {
        /// Why.
        reason: String,
        /// The lead's private key, by its path; empty: the one that was made with the shop.
        key: String,
    },
    /// Leave the job open.
    Pause,
    /// Stop the work, with the reason.
    Stop(String),
}

/// What needs no reply.
#[derive(Debug, Clone, PartialEq)]
pub enum Told<'t> {
    /// A file that was handed over is being copied and read; it may take a moment.
    Reading,
    /// What was written down beside the answers, or counts for the starter's rest: a sentence.
    Said(&'t str),
    /// A capture was taken, and read so: sentences.
    Understood(&'t [String]),
    /// Something is being computed; it may take a moment.
    Computing(&'t str),
    /// Something was computed.
    Computed {
        /// Path of the step.
        step: &'t str,
        /// Name of the computation.
        computation: &'t str,
        /// What came out.
        computed: &'t Computed,
    },
    /// A called procedure came to its outcome.
    Returned(&'t Returned),
    /// The job came to its outcome.
    Concluded {
        /// An [`Event::Concluded`].
        event: &'t Event,
        /// What was found, in words.
        found: &'t str,
    },
}

/// Why there is no reply.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NoAnswer {
    /// The person closed the question.
    #[error("the question was cancelled")]
    Cancelled,
    /// The program was told to end.
    #[error("the run was interrupted")]
    Interrupted,
    /// Nobody is there to be asked.
    #[error(
        "there is no terminal to ask at; run this in a terminal, or give the answers in a file with --answers FILE"
    )]
    NoTerminal,
    /// The answers file is at its end.
    #[error("{file}: the answers end here, and step {step:?} is asked next")]
    Ended {
        /// The answers file.
        file: String,
        /// The step that is asked next.
        step: String,
    },
    /// The answers file does not fit; the sentence names file and line.
    #[error("{0}")]
    Script(String),
    /// The terminal failed.
    #[error("the terminal failed: {0}")]
    Broken(String),
}

impl NoAnswer {
    /// The reason that the journal bears when the job is left open for this.
    #[must_use]
    pub fn reason(&self) -> &'static str {
        match self {
            NoAnswer::Cancelled | NoAnswer::Interrupted => "interrupted",
            NoAnswer::NoTerminal => "no terminal",
            NoAnswer::Ended { .. } => "answers ended",
            NoAnswer::Script(_) => "answers do not fit",
            NoAnswer::Broken(_) => "terminal failed",
        }
    }
}
