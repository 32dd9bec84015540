//! Captures on the disk: which files are captures, what lies beside them, and reading one by its set-up.

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use crate::capture::clamps::{self, Clamps};
use crate::capture::setup::{self, Setup};
use crate::capture::{self, ReadError, Recording};

/// How the name of a set-up ends that lies beside a capture.
pub(crate) const SETUP: &str = ".setup.yaml";

/// How the name of the truth ends that lies beside a simulated capture.
pub(crate) const TRUTH: &str = ".truth.yaml";

/// Endings of captures; packed ones have `.gz` after them.
const ENDINGS: [&str; 3] = ["csv", "tsv", "wav"];

/// How names of packed files end.
const PACKED: &str = ".gz";

/// `NAME.setup.yaml` beside `NAME.csv` or `NAME.csv.gz`.
pub(crate) fn beside(capture: &Path, ending: &str) -> PathBuf {
    let name = unpacked_name(capture);
    let stem = Path::new(&name).file_stem().unwrap_or_default();
    capture.with_file_name(format!("{}{ending}", stem.to_string_lossy()))
}

/// The ending that a copy of a capture keeps, `csv` where it has none that is known.
pub(crate) fn ending(capture: &Path) -> String {
    let name = unpacked_name(capture);
    let known = Path::new(&name)
        .extension()
        .map(|ending| ending.to_string_lossy().to_lowercase())
        .filter(|ending| ENDINGS.contains(&ending.as_str()));
    let packed = if is_packed(capture) { PACKED } else { "" };
    format!("{}{packed}", known.as_deref().unwrap_or("csv"))
}

/// Whether a file in a folder is a capture, by its name.
pub(crate) fn is_capture(path: &Path) -> bool {
    let name = unpacked_name(path);
    Path::new(&name).extension().is_some_and(|ending| {
        ENDINGS
            .iter()
            .any(|known| ending.eq_ignore_ascii_case(known))
    })
}

fn is_packed(path: &Path) -> bool {
    path.extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case(&PACKED[1..]))
}

fn unpacked_name(path: &Path) -> String {
    let name = if is_packed(path) {
        path.file_stem()
    } else {
        path.file_name()
    };
    name.unwrap_or_default().to_string_lossy().into_owned()
}

/// Open a capture.
pub(crate) fn open(capture: &Path) -> Result<File, ReadError> {
    let shown = capture.display().to_string();
    File::open(capture).map_err(|error| {
        ReadError::new(
            &shown,
            0,
            0,
            error.to_string(),
            "Check the name of the capture.",
        )
    })
}

/// What a capture is read by.
#[derive(Debug, Clone, Default)]
pub(crate) struct By<'a> {
    /// Set-up that is named; the one beside the capture where none is.
    pub(crate) setup: Option<&'a Path>,
    /// The shop's clamps.
    pub(crate) clamps: Clamps,
    /// Which of them was taken, where that is said apart from the set-up.
    pub(crate) clamp: Option<&'a str>,
}

impl By<'_> {
    /// Read the set-up: the one that is named, or the one beside the capture.
    pub(crate) fn setup(&self, capture: &Path) -> Result<Setup, ReadError> {
        let beside = beside(capture, SETUP);
        let path = self.setup.unwrap_or(&beside);
        let shown = path.display().to_string();
        let remedy =
            "Write the set-up beside the capture as NAME.setup.yaml, or name it with --setup.";
        let text = text(path, setup::MOST_BYTES, remedy)?;
        let mut setup = setup::read_with(&text, &shown, &self.clamps)?;
        if let Some(clamp) = self.clamp {
            setup.take_clamp(clamp, &self.clamps, &shown)?;
        }
        Ok(setup)
    }

    /// Read a capture; its set-up as it was written comes too.
    pub(crate) fn recording(&self, capture: &Path) -> Result<Recording, ReadError> {
        // the capture before its set-up: a mistyped name lacks both, and only the capture was named
        let file = open(capture)?;
        let setup = self.setup(capture)?;
        capture::take(file, &capture.display().to_string(), &setup)
    }
}

/// The clamps of a shop; none where it has no list.
pub(crate) fn clamps_of(shop: &Path) -> Result<Clamps, ReadError> {
    let file = shop.join(clamps::FILE);
    if !file.exists() {
        return Ok(Clamps::default());
    }
    let remedy = "Check that the file can be read.";
    let text = text(&file, clamps::MOST_BYTES, remedy)?;
    clamps::read(&text, &file.display().to_string())
}

/// A file's text; of one that is too long only so much that this shows.
fn text(path: &Path, most: usize, remedy: &str) -> Result<String, ReadError> {
    let mut text = String::new();
    let read =
        File::open(path).and_then(|file| file.take(most as u64 + 4).read_to_string(&mut text));
    read.map_err(|error| {
        let shown = path.display().to_string();
        ReadError::new(&shown, 0, 0, error.to_string(), remedy)
    })?;
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_of_one_capture_share_a_name() {
        for (capture, setup, kept) in [
            ("x/run 1.csv", "x/run 1.setup.yaml", "csv"),
            ("run.v2.csv", "run.v2.setup.yaml", "csv"),
            ("run.CSV.gz", "run.setup.yaml", "csv.gz"),
            ("run.wav", "run.setup.yaml", "wav"),
            ("run.txt", "run.setup.yaml", "csv"),
            ("run", "run.setup.yaml", "csv"),
        ] {
            assert_eq!(beside(Path::new(capture), SETUP), PathBuf::from(setup));
            assert_eq!(ending(Path::new(capture)), kept, "{capture}");
        }
    }

    #[test]
    fn captures_are_told_by_their_endings() {
        for name in ["a.csv", "a.CSV", "a.tsv", "a.wav", "a.csv.gz", "a.b.wav.GZ"] {
            assert!(is_capture(Path::new(name)), "{name}");
        }
        for name in ["a.setup.yaml", "a.txt", "a.gz", "csv", "a.csv.bak"] {
            assert!(!is_capture(Path::new(name)), "{name}");
        }
    }
}
