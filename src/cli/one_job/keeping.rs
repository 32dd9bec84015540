//! Captures handed over: copied into the job with their set-ups, untouched, and hashed; then the copies are
//! read, so that one that cannot be is refused at the question. What is analysed later is the copy.

use std::path::{Path, PathBuf};

use crate::capture;
use crate::capture::setup::{self, Setup};
use crate::cli::captures::{self, SETUP, TRUTH, beside};
use crate::cli::one_job::columns::{self, Columns};
use crate::cli::one_job::kept;
use crate::cranking::repeated;
use crate::engine::Engine;
use crate::record::folder::{self, JobFolder};
use crate::record::shop::Shop;
use crate::record::{digest, durable};
use crate::run::event::CaptureFile;
use crate::run::keeper::{Columns as Told, Keeper, Unkept};
use crate::run::vehicle;

/// Keeps the captures of one job.
pub(crate) struct Captures<'j> {
    /// The job.
    pub(crate) job: &'j JobFolder,
    /// The shop whose clamps set-ups may name, and that remembers columns.
    pub(crate) shop: Option<&'j Shop>,
}

impl Keeper for Captures<'_> {
    fn keep(&mut self, path: &str, engine: Option<&Engine>) -> Result<CaptureFile, Unkept> {
        self.take(path, engine, None)
    }

    fn keep_by(
        &mut self,
        path: &str,
        engine: Option<&Engine>,
        columns: &Told,
    ) -> Result<CaptureFile, Unkept> {
        self.take(path, engine, Some(columns))
    }

    fn is_one_crank(&mut self, one: &CaptureFile, other: &CaptureFile) -> bool {
        let read = |capture: &CaptureFile| {
            let setup = kept::setup(self.job, capture)?;
            kept::read(self.job, capture, &setup)
        };
        // one that cannot be read any more is refused where it is computed from
        let (Ok(one), Ok(other)) = (read(one), read(other)) else {
            return false;
        };
        repeated::is_one_crank((&one.capture, &one.setup), (&other.capture, &other.setup))
    }

    fn drop_kept(&mut self, file: &CaptureFile) {
        self.drop_copy(file);
    }
}

impl Captures<'_> {
    fn take(
        &self,
        path: &str,
        engine: Option<&Engine>,
        told: Option<&Told>,
    ) -> Result<CaptureFile, Unkept> {
        let handed_over = as_typed(path);
        is_file(
            &handed_over,
            "type the path of the CSV file that the scope saved",
        )?;
        may_be_recording(&handed_over)?;
        let columns = self.shop.map(Columns::of).transpose()?.unwrap_or_default();
        let setup_beside = beside(&handed_over, SETUP);
        let own = setup_beside.exists();
        if own {
            is_file(&setup_beside, "write it as a file")?;
        }
        let number = self
            .job
            .next_number(folder::CAPTURES)
            .map_err(|error| not_copied(&error))?;
        let mut copy = self.copy(&handed_over, number)?;
        let written = if own {
            self.copy_setup(&columns, &setup_beside, &mut copy)
        } else {
            self.write_setup(&columns, &handed_over, (engine, told), &mut copy)
        };
        let kept = written.and_then(|setup| {
            // of an exercise it is told when it is computed
            if let Some(engine) = engine.filter(|_| own && self.shop.is_some()) {
                same_engine(&setup_beside, engine, &setup)?;
            }
            Ok(self.read(&handed_over, &setup, &mut copy)?)
        });
        if let Err(why) = kept {
            self.drop_copy(&copy);
            return Err(why.of_file(&copy.sha256));
        }
        if (own || told.is_some()) && !copy.simulated && self.shop.is_some() {
            // that it is not remembered is no reason to refuse the capture
            let _ = columns.remember(&self.job.file(&copy.setup));
        }
        Ok(copy)
    }

    /// The copy, hashed before anything reads it.
    fn copy(&self, handed_over: &Path, number: u32) -> Result<CaptureFile, String> {
        let ending = captures::ending(handed_over);
        let file = format!("{}/{number}.{ending}", folder::CAPTURES);
        let setup = format!("{}/{number}{SETUP}", folder::CAPTURES);
        let in_job = self.job.file(&file);
        durable::copy_new(handed_over, &in_job).map_err(|error| not_copied(&error))?;
        let original = handed_over.file_name().unwrap_or_default();
        Ok(CaptureFile {
            sha256: digest::of_file(&in_job).map_err(|error| not_copied(&error))?,
            bytes: fs_err::metadata(&in_job)
                .map_err(|error| not_copied(&error))?
                .len(),
            setup_sha256: String::new(),
            file,
            setup,
            original: original.to_string_lossy().into_owned(),
            simulated: beside(handed_over, TRUTH).exists(),
            clamp: None,
            understood: Vec::new(),
            columns_told: false,
        })
    }

    /// The set-up beside the capture, copied as it is.
    fn copy_setup(
        &self,
        columns: &Columns,
        setup_beside: &Path,
        copy: &mut CaptureFile,
    ) -> Result<Setup, Unkept> {
        let in_job = self.job.file(&copy.setup);
        durable::copy_new(setup_beside, &in_job).map_err(|error| not_copied(&error))?;
        copy.setup_sha256 = digest::of_file(&in_job).map_err(|error| not_copied(&error))?;
        let read = columns.setup(setup_beside);
        Ok(read.map_err(|error| error.to_string())?)
    }

    /// A set-up of the columns that the shop knows, or that the person described, and the engine that the job
    /// knows.
    fn write_setup(
        &self,
        columns: &Columns,
        handed_over: &Path,
        (engine, told): (Option<&Engine>, Option<&Told>),
        copy: &mut CaptureFile,
    ) -> Result<Setup, Unkept> {
        let in_job = self.job.file(&copy.file);
        let before = engine
            .filter(|_| told.is_none())
            .and_then(|engine| columns.of_job(self.job, copy, engine));
        let setup = match before {
            Some(setup) => setup,
            None => described(columns, handed_over, &in_job, (engine, told))?,
        };
        let text = setup::write(&setup);
        let in_job = self.job.file(&copy.setup);
        durable::write_new(&in_job, text.as_bytes()).map_err(|error| not_copied(&error))?;
        copy.setup_sha256 = digest::of_bytes(text.as_bytes());
        copy.columns_told = true;
        Ok(setup)
    }

    /// Read the copy; errors name what was handed over.
    fn read(
        &self,
        handed_over: &Path,
        setup: &Setup,
        copy: &mut CaptureFile,
    ) -> Result<(), String> {
        let file = captures::open(&self.job.file(&copy.file)).map_err(|error| error.to_string())?;
        let read = capture::take(file, &handed_over.display().to_string(), setup);
        let read = read.map_err(|error| error.to_string())?;
        copy.understood = read.understood.lines();
        let reference = setup.channels.reference.as_ref();
        let named = match reference {
            Some(reference) => format!("reference: {}", reference.line()),
            None => "reference: none".to_owned(),
        };
        copy.understood.push(named);
        copy.clamp = setup.clamp().cloned();
        Ok(())
    }

    /// A capture that was refused is not part of the job; it lies where it was handed over from.
    fn drop_copy(&self, copy: &CaptureFile) {
        for name in [&copy.file, &copy.setup] {
            let _ = fs_err::remove_file(self.job.file(name));
        }
    }
}

/// Refuse a capture whose own set-up is of another engine than the job's: mostly it is another vehicle's file.
fn same_engine(setup_beside: &Path, engine: &Engine, setup: &Setup) -> Result<(), String> {
    match vehicle::difference(engine, &setup.engine) {
        Some(difference) => Err(format!(
            "{}: {difference}. Is this the right file? Name another one, correct the set-up beside it, or go back and \
             correct the intake",
            setup_beside.display()
        )),
        None => Ok(()),
    }
}

/// The set-up of columns that no capture of this job had: as the shop knows them, as the person tells them.
fn described(
    columns: &Columns,
    handed_over: &Path,
    in_job: &Path,
    (engine, told): (Option<&Engine>, Option<&Told>),
) -> Result<Setup, Unkept> {
    let asked = |engine, known| {
        let headings = columns::headings(handed_over, in_job, engine, known)?;
        Ok::<_, Unkept>(headings)
    };
    let known = match (engine, told) {
        (Some(engine), Some(told)) if told.signal.is_some() => Err(engine),
        _ => columns.matching(handed_over, in_job, engine)?,
    };
    let setup = match (engine, told, known) {
        (Some(engine), Some(told), known) => columns::setup_of(told, known.ok(), engine)?,
        (_, _, Err(engine)) => return Err(Unkept::Columns(Box::new(asked(engine, None)?))),
        (_, _, Ok(known)) => {
            let headings = asked(&known.engine, Some(&known))?;
            // a lone column leaves no reference to be asked for
            if headings.columns.len() > 1 {
                return Err(Unkept::Columns(Box::new(headings)));
            }
            known
        }
    };
    // what is told is judged as what is written
    let text = setup::write(&setup);
    let read = setup::read_with(&text, "the columns as told", columns.clamps());
    let read = read.map_err(|error| error.to_string())?;
    if let Some(engine) = engine.filter(|_| told.is_some_and(|told| told.signal.is_some())) {
        let aside = columns.said_anew(in_job, engine);
        aside.map_err(|error| error.to_string())?;
    }
    Ok(read)
}

/// A path as people type, paste or drop it: terminals put quotes round what is dropped on them.
pub(crate) fn as_typed(path: &str) -> PathBuf {
    let path = path.trim();
    let bare = ['\'', '"'].into_iter().find_map(|quote| {
        path.strip_prefix(quote)
            .and_then(|rest| rest.strip_suffix(quote))
    });
    let path = bare.unwrap_or(path);
    match (path.strip_prefix("~/"), std::env::home_dir()) {
        (Some(rest), Some(home)) => home.join(rest),
        _ => PathBuf::from(path),
    }
}

fn not_copied(error: &dyn std::fmt::Display) -> String {
    format!("the capture cannot be copied into the job: {error}")
}

pub(crate) fn is_file(path: &Path, remedy: &str) -> Result<(), String> {
    let shown = path.display();
    match std::fs::metadata(path) {
        Ok(about) if about.is_file() => Ok(()),
        Ok(_) => Err(format!("{shown}: is no file; {remedy}")),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            Err(format!("{shown}: no such file; {remedy}"))
        }
        Err(error) => Err(format!("{shown}: cannot be read: {error}; {remedy}")),
    }
}

/// Endings of what lies beside recordings, or is made of them. A file of these is a slip of the hand and no crank.
const NO_RECORDINGS: [&str; 10] = [
    "yaml", "yml", "json", "html", "htm", "pdf", "png", "jpg", "jpeg", "svg",
];

fn may_be_recording(path: &Path) -> Result<(), String> {
    let ending = path.extension().unwrap_or_default().to_string_lossy();
    match NO_RECORDINGS
        .iter()
        .any(|none| ending.eq_ignore_ascii_case(none))
    {
        true => Err(format!(
            "{}: a file named .{ending} is no recording; type the path of the CSV file that the scope saved",
            path.display()
        )),
        false => Ok(()),
    }
}

#[cfg(test)]
mod tests;
