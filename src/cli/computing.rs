//! What a run has computed for it: captures are read from the job's own copies, followed by the rooms
//! that know cranking and leak-down.

use std::collections::BTreeMap;
use std::path::Path;

use crate::capture::{self, setup};
use crate::cranking::answer::{Analysis, Drawing};
use crate::cranking::{self, Analysed};
use crate::engine::Engine;
use crate::followup::leak_down;
use crate::quantity::Measured;
use crate::record::digest;
use crate::record::folder::JobFolder;
use crate::run::compute::Computing;
use crate::run::event::CaptureFile;
use crate::run::vehicle;

/// Computes for one job.
pub(crate) struct Bench<'j> {
    /// The job whose captures are read.
    pub(crate) job: &'j JobFolder,
}

impl Computing for Bench<'_> {
    fn relative_compression(
        &mut self,
        capture: &CaptureFile,
        engine: &Engine,
        low_percent: f64,
    ) -> Result<(Analysis, Option<Drawing>), String> {
        let file = self.job.file(&capture.file);
        let setup_file = self.job.file(&capture.setup);
        unchanged(&file, &capture.sha256)?;
        unchanged(&setup_file, &capture.setup_sha256)?;
        let handed_over = |why: String| format!("{why}\n(handed over as {})", capture.original);
        let text = fs_err::read_to_string(&setup_file).map_err(|error| error.to_string())?;
        let mut setup = setup::read(&text, &shown(&setup_file))
            .map_err(|error| handed_over(error.to_string()))?;
        if let Some(difference) = vehicle::difference(engine, &setup.engine) {
            return Err(handed_over(format!(
                "{}: {difference}. Correct the set-up beside the capture and hand both over again, or go \
                 back and correct the intake",
                shown(&setup_file)
            )));
        }
        setup.engine = engine.clone();
        setup.low_percent = low_percent;
        let table = fs_err::File::open(&file).map_err(|error| error.to_string())?;
        let read = capture::take(table, &shown(&file), &setup)
            .map_err(|error| handed_over(error.to_string()))?;
        let Analysed {
            analysis, drawing, ..
        } = cranking::analyse(&read.capture, &read.setup);
        Ok((analysis, drawing))
    }

    fn leak_down(
        &mut self,
        supply: Measured,
        reading: Measured,
        bore: Measured,
    ) -> Result<BTreeMap<String, String>, String> {
        leak_down::facts(supply, reading, bore).map_err(|error| error.to_string())
    }
}

/// What is computed from must be what was handed over.
fn unchanged(file: &Path, sha256: &str) -> Result<(), String> {
    match digest::of_file(file) {
        Ok(found) if found == sha256 => Ok(()),
        Ok(_) => Err(format!(
            "{}: changed since it was handed over; go back and hand the capture over again",
            shown(file)
        )),
        Err(error) => Err(error.to_string()),
    }
}

fn shown(file: &Path) -> String {
    file.display().to_string()
}
