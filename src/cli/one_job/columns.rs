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
use crate::record::shop::Shop;
use crate::record::{digest, durable};
use crate::run::keeper::{Columns as Told, Heading, Headings, SignalTold, Unkept};

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

    /// Read a set-up.
    pub(crate) fn setup(&self, file: &Path) -> Result<Setup, ReadError> {
        let by = By {
            setup: Some(file),
            clamps: self.clamps.clone(),
            clamp: None,
        };
        by.setup(file)
    }

    /// Remember a set-up; one that is remembered already stays as it is.
    pub(crate) fn remember(&self, setup: &Path) -> Result<(), RecordError> {
        let read = self.setup(setup);
        let Ok(read) = read else { return Ok(()) };
        // the same columns of another engine are the same columns
        let known = self.all().into_iter().any(|(_, known)| same(&known, &read));
        if known {
            return Ok(());
        }
        fs_err::create_dir_all(&self.folder)?;
        let name: String = digest::of_file(setup)?.chars().take(NAME_LENGTH).collect();
        let file = self.folder.join(format!("{name}{SETUP}"));
        if file.exists() {
            return Ok(());
        }
        durable::copy_new(setup, &file)
    }

    /// The one remembered set-up that fits a capture, for the engine that the job knows; that engine where none
    /// does.
    pub(crate) fn matching<'e>(
        &self,
        handed_over: &Path,
        copy: &Path,
        engine: Option<&'e Engine>,
    ) -> Result<Result<Setup, &'e Engine>, String> {
        let shown = handed_over.display();
        let beside = captures::beside(handed_over, SETUP);
        let write = remedy(handed_over);
        let Some(engine) = engine else {
            return Err(format!(
                "{}: no such file, and the job knows no engine yet; {write}",
                beside.display()
            ));
        };
        let mut fitting = Vec::new();
        for (file, setup) in self.all() {
            let setup = Setup {
                engine: engine.clone(),
                ..setup
            };
            let Ok(table) = captures::open(copy) else {
                continue;
            };
            if capture::take(table, &shown.to_string(), &setup).is_ok() {
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
                    "{shown}: several remembered set-ups fit ({}); {write}",
                    files.join(", ")
                ))
            }
        }
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
        read.filter_map(|(file, setup)| setup.ok().map(|setup| (file, setup)))
            .collect()
    }
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

/// The headings of a capture whose columns nobody has described, with what each looks like.
pub(crate) fn headings(handed_over: &Path, copy: &Path, engine: &Engine) -> Unkept {
    let shown = handed_over.display().to_string();
    let write = remedy(handed_over);
    let described = captures::open(copy).and_then(|table| describe(table, &shown, None));
    let described = match described {
        Ok(described) => described,
        Err(error) => return format!("{error}; or {write}").into(),
    };
    let columns = described.understood.columns.into_iter();
    let columns = columns.zip(described.proposals);
    Unkept::Columns(Box::new(Headings {
        refused: format!("{shown}: the shop does not know its columns yet; {write}"),
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
        cylinders: engine.cylinders(),
    }))
}

/// A set-up of what a person said of the columns, for that engine.
pub(crate) fn setup_of(told: &Told, engine: &Engine) -> Result<Setup, String> {
    let mut channels = Channels::default();
    let mut keys = Keys::default();
    let analogue = |coupling| Analogue {
        column: told.signal.clone(),
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
                column: told.signal.clone(),
                wheel: wheel.clone(),
                gaps_at: None,
                gap_before_tdc_deg: None,
                edge: None,
                bits: told.range.map(|(_, bits)| bits),
                full_scale: told.range.map(|(range, _)| range),
            });
        }
    }
    channels.reference.clone_from(&told.reference);
    let setup = Setup {
        engine: engine.clone(),
        low_percent: setup::DEFAULT_LOW_PERCENT,
        time_column: None,
        channels,
        keys,
    };
    // what is told is judged as what is written
    let text = setup::write(&setup);
    setup::read(&text, "the columns as told").map_err(|error| error.to_string())
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
mod tests {
    use super::*;

    const SETUP_TEXT: &str =
        "engine: {cylinders: 1, firing_order: [1]}\nchannels: {battery_voltage: {column: posts}}\n";

    fn four() -> Engine {
        Engine::new(4, &[1, 3, 4, 2], None, None).unwrap()
    }

    /// Columns that nobody has told yet, and a capture.
    fn in_place(place: &Path) -> (Columns, PathBuf) {
        let columns = Columns {
            folder: place.join("columns"),
            clamps: Clamps::default(),
        };
        let capture = place.join("a.csv");
        fs_err::write(&capture, "t,posts\n0,1\n1,2\n").unwrap();
        (columns, capture)
    }

    #[test]
    fn columns_are_remembered_once_and_matched_by_their_headings() {
        let (place, engine) = (tempfile::tempdir().unwrap(), four());
        let (columns, capture) = in_place(place.path());
        let none = columns.matching(&capture, &capture, Some(&engine)).unwrap();
        assert_eq!(none, Err(&engine));
        let Unkept::Columns(asked) = headings(&capture, &capture, &engine) else {
            panic!("the columns are not asked for");
        };
        assert_eq!(asked.columns[0].name, "posts");
        assert!(asked.refused.contains("does not know its columns"));
        let setup = place.path().join("a.setup.yaml");
        fs_err::write(&setup, SETUP_TEXT).unwrap();
        columns.remember(&setup).unwrap();
        fs_err::write(&setup, format!("{SETUP_TEXT}# another comment\n")).unwrap();
        columns.remember(&setup).unwrap();
        assert_eq!(fs_err::read_dir(&columns.folder).unwrap().count(), 1);
        let found = columns.matching(&capture, &capture, Some(&engine)).unwrap();
        assert_eq!(found.unwrap().engine, four());
        assert!(columns.matching(&capture, &capture, None).is_err());
        fs_err::write(&capture, "t,clamp\n0,1\n1,2\n").unwrap();
        let unknown = columns.matching(&capture, &capture, Some(&engine));
        assert!(unknown.unwrap().is_err());
    }

    #[test]
    fn two_that_fit_are_not_chosen_between() {
        let (place, engine) = (tempfile::tempdir().unwrap(), four());
        let (columns, capture) = in_place(place.path());
        for channel in ["battery_voltage", "starter_current"] {
            let setup = place.path().join(format!("{channel}.setup.yaml"));
            fs_err::write(&setup, SETUP_TEXT.replace("battery_voltage", channel)).unwrap();
            columns.remember(&setup).unwrap();
        }
        let refused = columns
            .matching(&capture, &capture, Some(&engine))
            .unwrap_err();
        assert!(refused.contains("several"), "{refused}");
    }
}
