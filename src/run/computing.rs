//! Who computes for a run what needs files or other rooms.

use crate::advise::ClampAtHand;
use crate::cranking::answer::{Analysis, Drawing};
use crate::engine::Engine;
use crate::followup::after_repair::Earlier;
use crate::run::event::CaptureFile;
use crate::run::planning::LineAtRest;

/// What a job says of others that it is done in place of.
#[derive(Debug, Clone)]
pub struct Claim<'c> {
    /// Notes that may name them.
    pub notes: Vec<&'c str>,
    /// Identity of the vehicle, as far as it is known yet.
    pub identity: Option<String>,
    /// Whether the job is practice.
    pub is_practice: bool,
}

/// Who computes what needs files or rooms that the run does not know.
pub trait Computing {
    /// Relative compression from a capture that lies in the job.
    ///
    /// # Errors
    /// A sentence that says what is wrong with the capture or its set-up, where, and how to mend it.
    fn relative_compression(
        &mut self,
        capture: &CaptureFile,
        engine: &Engine,
        low_percent: f64,
    ) -> Result<(Analysis, Option<Drawing>), String>;

    /// Angles of the cam edges after the crank wheel's mark, degrees, from a capture that lies in the
    /// job.
    ///
    /// # Errors
    /// A sentence that says which channel is missing or cannot be read, and how to mend it.
    fn cam_angles(&mut self, capture: &CaptureFile) -> Result<Vec<f64>, String> {
        Err(format!("nobody here reads cam edges from {}", capture.file))
    }

    /// The signal of a capture in which nothing turns.
    ///
    /// # Errors
    /// A sentence that says which channel is missing or cannot be read, and how to mend it.
    fn line_at_rest(&mut self, capture: &CaptureFile) -> Result<LineAtRest, String> {
        Err(format!("nobody here reads the line of {}", capture.file))
    }

    /// The clamps of the shop's list.
    fn clamps(&mut self) -> Vec<ClampAtHand> {
        Vec::new()
    }

    /// An earlier job of the shop.
    ///
    /// # Errors
    /// A sentence that says why it cannot be compared with.
    fn earlier(&mut self, job: &str) -> Result<Earlier, String> {
        Err(format!("nobody here knows a job {job}"))
    }

    /// What keeps this job from counting in place of others that its notes name: sentences, with how it is mended.
    fn against_claim(&mut self, _claim: &Claim<'_>) -> Vec<String> {
        Vec::new()
    }
}
