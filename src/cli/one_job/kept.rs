//! Captures as they lie in a job: read again, provided that they are what was handed over.

use std::path::Path;

use crate::capture::clamps::Clamps;
use crate::capture::setup::Setup;
use crate::capture::{self, Recording, setup};
use crate::record::digest;
use crate::record::folder::JobFolder;
use crate::run::event::CaptureFile;

/// The set-up of a capture, as it was handed over.
pub(super) fn setup(job: &JobFolder, capture: &CaptureFile) -> Result<Setup, String> {
    let setup_file = job.file(&capture.setup);
    unchanged(&job.file(&capture.file), &capture.sha256)?;
    unchanged(&setup_file, &capture.setup_sha256)?;
    let text = fs_err::read_to_string(&setup_file).map_err(|error| error.to_string())?;
    // the clamp as it was then, not as the shop's list has it by now
    let clamps = Clamps::one(capture.clamp.as_ref());
    setup::read_with(&text, &shown(&setup_file), &clamps)
        .map_err(|error| format!("{error}\n(handed over as {})", capture.original))
}

/// A capture, by a set-up.
pub(super) fn read(
    job: &JobFolder,
    capture: &CaptureFile,
    setup: &Setup,
) -> Result<Recording, String> {
    let file = job.file(&capture.file);
    let table = fs_err::File::open(&file).map_err(|error| error.to_string())?;
    capture::take(table, &shown(&file), setup)
        .map_err(|error| format!("{error}\n(handed over as {})", capture.original))
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

pub(super) fn shown(file: &Path) -> String {
    file.display().to_string()
}
