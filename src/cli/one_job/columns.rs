//! The columns of a shop's scopes, remembered: a set-up that came beside a capture serves the next ones whose
//! headings fit, with the engine that the job knows in place of its own.

use std::path::{Path, PathBuf};

use crate::capture::clamps::Clamps;
use crate::capture::describe::describe;
use crate::capture::keys::{Keys, Scaling};
use crate::capture::setup::{self, Analogue, Channels, Coupling, Setup, Teeth};
use crate::capture::{self, ReadError};
use crate::cli::captures::{self, By, SETUP};
use crate::engine::Engine;
use crate::record::error::RecordError;
use crate::record::folder::{self, JobFolder};
use crate::record::shop::Shop;
use crate::record::{digest, durable};
use crate::run::event::CaptureFile;
use crate::run::keeper::{Columns as Told, Heading, Headings, Signal, SignalTold};

/// Folder of a shop that holds them.
const FOLDER: &str = "columns";

/// Characters of a hash that tell set-ups apart.
const NAME_LENGTH: usize = 12;

/// Where a shop remembers columns, and the clamps that set-ups may name.
#[derive(Debug, Default)]
pub(crate) struct Columns {
    folder: PathBuf,
    clamps: Clamps,
}

impl Columns {
    /// Those of a shop.
    pub(crate) fn of(shop: &Shop) -> Result<Self, String> {
        Ok(Self {
            folder: shop.root().join(FOLDER),
            clamps: captures::clamps_of(shop.root()).map_err(|error| error.to_string())?,
        })
    }

    /// The clamps of the shop.
    pub(crate) fn clamps(&self) -> &Clamps {
        &self.clamps
    }

    /// Read a set-up.
    pub(crate) fn setup(&self, file: &Path) -> Result<Setup, ReadError> {
        let by = By {
            setup: Some(file),
            clamps: self.clamps.clone(),
            clamp: None,
        };
        by.setup(file)
    }

    /// Set aside what is remembered of a capture's columns: somebody said it anew.
    pub(crate) fn said_anew(&self, copy: &Path, engine: &Engine) -> Result<(), RecordError> {
        for (file, setup) in self.all() {
            if fits(&of_engine(setup, engine), copy) {
                durable::put_aside(&file, |n| file.with_extension(format!("replaced-{n}")))?;
            }
        }
        Ok(())
    }

    /// Remember what a set-up says of the columns; what is remembered already stays as it is.
    pub(crate) fn remember(&self, setup: &Path) -> Result<(), RecordError> {
        let Ok(read) = self.setup(setup) else {
            return Ok(());
        };
        let Some(lasting) = lasting(read) else {
            return Ok(());
        };
        // the same columns of another engine are the same columns
        let known = self
            .all()
            .into_iter()
            .any(|(_, known)| same(&known, &lasting));
        if known {
            return Ok(());
        }
        fs_err::create_dir_all(&self.folder)?;
        let text = setup::write(&lasting);
        let hash = digest::of_bytes(text.as_bytes());
        let name: String = hash.chars().take(NAME_LENGTH).collect();
        let file = self.folder.join(format!("{name}{SETUP}"));
        if file.exists() {
            return Ok(());
        }
        durable::write_new(&file, text.as_bytes())
    }

    /// The one remembered set-up that fits a capture, for the engine that the job knows and without what is of
    /// one engine only; that engine where none does.
    pub(crate) fn matching<'e>(
        &self,
        handed_over: &Path,
        copy: &Path,
        engine: Option<&'e Engine>,
    ) -> Result<Result<Setup, &'e Engine>, String> {
        let write = remedy(handed_over);
        let Some(engine) = engine else {
            return Err(format!(
                "{}: no such file, and the job knows no engine yet; {write}",
                captures::beside(handed_over, SETUP).display()
            ));
        };
        let mut fitting: Vec<(PathBuf, Setup)> = Vec::new();
        for (file, setup) in self.all() {
            let setup = of_engine(setup, engine);
            let new = fitting.iter().all(|(_, other)| *other != setup);
            if new && fits(&setup, copy) {
                fitting.push((file, setup));
            }
        }
        match fitting.len() {
            0 | 1 => Ok(fitting.pop().map(|(_, setup)| setup).ok_or(engine)),
            _ => {
                let files: Vec<String> = fitting
                    .iter()
                    .map(|(file, _)| file.display().to_string())
                    .collect();
                Err(format!(
                    "{}: several remembered set-ups fit ({}); {write}",
                    handed_over.display(),
                    files.join(", ")
                ))
            }
        }
    }

    /// The set-up of the latest other capture of this job that fits, the reference and all: it was told of this
    /// engine. None where the same file was handed over before, which is done to tell it otherwise.
    pub(crate) fn of_job(
        &self,
        job: &JobFolder,
        copy: &CaptureFile,
        engine: &Engine,
    ) -> Option<Setup> {
        let entries = std::fs::read_dir(job.file(folder::CAPTURES)).ok()?;
        let others = entries.flatten().map(|entry| entry.path());
        let others = others.filter(|path| *path != job.file(&copy.file));
        let (setups, files): (Vec<PathBuf>, Vec<PathBuf>) =
            others.partition(|path| path.to_string_lossy().ends_with(SETUP));
        let again =
            |file: &PathBuf| digest::of_file(file).is_ok_and(|sha256| sha256 == copy.sha256);
        if files.iter().any(again) {
            return None;
        }
        let number = |path: &PathBuf| {
            let name = path.file_name()?.to_string_lossy();
            name.split('.').next()?.parse::<u32>().ok()
        };
        let mut setups = setups;
        setups.sort_by_key(number);
        let read = setups.iter().rev().filter_map(|file| self.setup(file).ok());
        read.map(|setup| of_engine(setup, engine))
            .find(|setup| fits(setup, &job.file(&copy.file)))
    }

    /// All that are remembered, in the order of their names; what cannot be read is passed over.
    fn all(&self) -> Vec<(PathBuf, Setup)> {
        let entries = std::fs::read_dir(&self.folder)
            .into_iter()
            .flatten()
            .flatten();
        let mut files: Vec<PathBuf> = entries
            .map(|entry| entry.path())
            .filter(|path| path.to_string_lossy().ends_with(SETUP))
            .collect();
        files.sort();
        let read = files.into_iter().map(|file| {
            let setup = self.setup(&file);
            (file, setup)
        });
        // what was remembered whole is cut down as well
        read.filter_map(|(file, setup)| setup.ok().and_then(lasting).map(|setup| (file, setup)))
            .collect()
    }
}

/// What of a set-up holds for the next vehicle as well: columns, units, the clamp. The reference is of one engine,
/// which way load points of how the lead was put on, a wheel of one engine as well; none where only that is told.
fn lasting(mut setup: Setup) -> Option<Setup> {
    let channels = &mut setup.channels;
    channels.reference = None;
    if channels.crank_speed.is_some() {
        return None;
    }
    if let Some(current) = &mut channels.starter_current {
        current.polarity = None;
    }
    Some(setup)
}

fn of_engine(setup: Setup, engine: &Engine) -> Setup {
    Setup {
        engine: engine.clone(),
        ..setup
    }
}

/// Whether a capture can be read by a set-up.
fn fits(setup: &Setup, copy: &Path) -> bool {
    captures::open(copy)
        .is_ok_and(|table| capture::take(table, &copy.display().to_string(), setup).is_ok())
}

/// What is done about columns that are not known.
fn remedy(handed_over: &Path) -> String {
    format!(
        "write {} (`evenfire analyse {} --describe` proposes what it says), then hand the capture over \
         again; the shop remembers its columns",
        captures::beside(handed_over, SETUP).display(),
        handed_over.display()
    )
}

/// The headings of a capture whose columns nobody has described, with what each looks like; of one that the shop
/// knows by a set-up, where a column is left that may hold the reference.
pub(crate) fn headings(
    handed_over: &Path,
    copy: &Path,
    engine: &Engine,
    known: Option<&Setup>,
) -> Result<Headings, String> {
    let shown = handed_over.display().to_string();
    let write = remedy(handed_over);
    let described = captures::open(copy).and_then(|table| describe(table, &shown, known));
    let described = described.map_err(|error| format!("{error}; or {write}"))?;
    let columns = described.understood.columns.into_iter();
    let columns = columns.zip(described.proposals);
    let unknown = match known {
        None => "the shop does not know its columns yet",
        Some(_) => "the shop knows its columns, but not what their reference says of this engine",
    };
    let signal = known.and_then(signal);
    Ok(Headings {
        refused: format!("{shown}: {unknown}; {write}"),
        file: shown,
        sha256: String::new(),
        columns: columns
            .map(|(column, proposal)| Heading {
                name: column.heading,
                unit: column.unit,
                span: column.least.zip(column.greatest),
                looks_like: proposal.channel,
            })
            .collect(),
        kind: signal.map(|(channel, _)| channel.to_owned()),
        signal: signal.map(|(_, column)| column.to_owned()),
        planned: None, // the run knows
        cylinders: engine.cylinders(),
    })
}

/// A set-up's signal: the channel, and its column.
fn signal(setup: &Setup) -> Option<(&'static str, &str)> {
    let channels = &setup.channels;
    let current = channels.starter_current.as_ref();
    let (channel, analogue) = match current {
        Some(current) => ("starter_current", current),
        None => ("battery_voltage", channels.battery_voltage.as_ref()?),
    };
    Some((channel, analogue.column.as_str()))
}

/// A set-up of what a person said of the columns, for that engine; `known` is what the shop knows of them.
pub(crate) fn setup_of(
    told: &Told,
    known: Option<Setup>,
    engine: &Engine,
) -> Result<Setup, String> {
    let setup = match (&told.signal, known) {
        (Some(signal), _) => of_signal(signal, engine),
        (None, Some(known)) => known,
        (None, None) => return Err("no column is told to hold the signal; name it".to_owned()),
    };
    let mut setup = setup;
    setup.channels.reference.clone_from(&told.reference);
    Ok(setup)
}

fn of_signal(told: &Signal, engine: &Engine) -> Setup {
    let mut channels = Channels::default();
    let mut keys = Keys::default();
    let analogue = |coupling| Analogue {
        column: told.column.clone(),
        bits: told.range.map(|(_, bits)| bits),
        full_scale: told.range.map(|(range, _)| range),
        polarity: None,
        coupling,
        coupling_corner_hz: None,
    };
    match &told.kind {
        SignalTold::Current(millivolt_per_ampere) => {
            channels.starter_current = Some(analogue(Coupling::Dc));
            let scaling = Scaling {
                millivolt_per_ampere: *millivolt_per_ampere,
                ..Scaling::default()
            };
            if !scaling.is_none() {
                keys.scaling.insert("starter_current", scaling);
            }
        }
        SignalTold::Voltage(coupling) => channels.battery_voltage = Some(analogue(*coupling)),
        SignalTold::Teeth(wheel) => {
            channels.crank_speed = Some(Teeth {
                column: told.column.clone(),
                wheel: wheel.clone(),
                gaps_at: None,
                gap_before_tdc_deg: None,
                edge: None,
                bits: told.range.map(|(_, bits)| bits),
                full_scale: told.range.map(|(range, _)| range),
            });
        }
    }
    Setup {
        engine: engine.clone(),
        low_percent: setup::DEFAULT_LOW_PERCENT,
        time_column: None,
        channels,
        keys,
    }
}

fn same(one: &Setup, other: &Setup) -> bool {
    let with_engine = Setup {
        engine: other.engine.clone(),
        low_percent: other.low_percent,
        ..one.clone()
    };
    with_engine == *other
}

#[cfg(test)]
mod tests;
