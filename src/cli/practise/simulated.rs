//! The captures of an exercise: each is made by the simulator when it is asked for.

use std::path::Path;

use crate::capture::setup;
use crate::cli::one_job::keeping::Captures;
use crate::engine::Engine;
use crate::practise::Exercise;
use crate::record::folder::{self, JobFolder};
use crate::run::event::Attachment;
use crate::run::event::CaptureFile;
use crate::run::keeper::{Keeper, Unkept};
use crate::simulate::practice::Practice;

/// What is typed where a capture is asked for.
pub(super) const CAPTURE: &str = "capture";

/// Makes a capture whenever one is asked for, whatever was typed.
pub(super) struct Simulated {
    pub(super) job: JobFolder,
    pub(super) exercise: Exercise,
}

impl Keeper for Simulated {
    fn keep(&mut self, typed: &str, engine: Option<&Engine>) -> Result<CaptureFile, Unkept> {
        made_here(typed)?;
        let made = self.exercise.capture(self.cranked()?)?;
        hand_over(&self.job, &made, engine)
    }

    fn keep_at_rest(
        &mut self,
        typed: &str,
        engine: Option<&Engine>,
    ) -> Result<CaptureFile, Unkept> {
        made_here(typed)?;
        let made = self.exercise.at_rest()?;
        hand_over(&self.job, &made, engine)
    }

    fn attach(&mut self, path: &str) -> Result<Attachment, String> {
        Err(format!("{path}: in an exercise no photo or file is kept"))
    }
}

impl Simulated {
    /// Captures of a crank that lie in the job already; a line at rest is none.
    fn cranked(&self) -> Result<u32, String> {
        let next = self.job.next_number(folder::CAPTURES).map_err(not_made)?;
        let at_rest = self.exercise.at_rest()?.csv();
        let mut cranked = 0;
        for number in 1..next {
            let file = self
                .job
                .file(folder::CAPTURES)
                .join(format!("{number}.csv"));
            let kept = fs_err::read_to_string(file).map_err(not_made)?;
            cranked += u32::from(kept != at_rest);
        }
        Ok(cranked)
    }
}

/// Refuse a file of somebody's own: it would not be of the hidden engine.
fn made_here(typed: &str) -> Result<(), String> {
    // an answers file's own folder stands before what it says
    let name = Path::new(typed.trim()).file_name();
    if name.is_some_and(|name| name.eq_ignore_ascii_case(CAPTURE)) {
        return Ok(());
    }
    Err(format!(
        "in an exercise no file is read; type the word {CAPTURE} alone, and the simulator makes one"
    ))
}

/// Lay a simulated capture to a job as one that was handed over.
pub(in crate::cli) fn hand_over(
    job: &JobFolder,
    made: &Practice,
    engine: Option<&Engine>,
) -> Result<CaptureFile, Unkept> {
    let folder = tempfile::tempdir().map_err(not_made)?;
    let file = folder.path().join("capture.csv");
    let files = [
        ("csv", made.csv()),
        ("setup.yaml", setup::write(&made.setup())),
        // what it says stays hidden; that it is there marks the capture as simulated
        ("truth.yaml", String::new()),
    ];
    for (ending, text) in files {
        fs_err::write(file.with_extension(ending), text).map_err(not_made)?;
    }
    let mut captures = Captures { job, shop: None };
    captures.keep(&file.to_string_lossy(), engine)
}

fn not_made(error: impl std::fmt::Display) -> String {
    format!("the capture could not be made: {error}")
}
