//! Where captures are simulated and analysed for rehearsals. The same capture is made once, however
//! many scenarios and denials ask for it.

use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};

use super::scenario::Simulated;
use crate::capture::Capture;
use crate::capture::setup::Setup;
use crate::cranking;
use crate::cranking::answer::Analysis;
use crate::engine::Engine;
use crate::simulate::draw::Wish;
use crate::simulate::practice::practice;

/// Reads a capture file with its set-up; the path is as seen from the scenario, whose file comes first.
pub type ReadCapture<'r> = &'r (dyn Fn(&str, &str) -> Result<(Capture, Setup), String> + Sync);

/// Simulates, analyses and remembers.
pub struct Bench<'r> {
    read: ReadCapture<'r>,
    /// Limit below which a cylinder counts as low, percent.
    pub low_percent: f64,
    known: Mutex<HashMap<String, Result<Analysis, String>>>,
}

/// A capture that a rehearsed job was handed.
#[derive(Debug, Clone)]
pub(super) enum Handed {
    Simulated(Simulated),
    File {
        scenario: String,
        path: String,
    },
    /// Nothing: its result must be stated.
    Nothing,
}

impl<'r> Bench<'r> {
    /// A bench. `read` reads capture files.
    pub fn new(low_percent: f64, read: ReadCapture<'r>) -> Self {
        Bench {
            read,
            low_percent,
            known: Mutex::default(),
        }
    }

    pub(super) fn analyse(&self, handed: &Handed, engine: &Engine) -> Result<Analysis, String> {
        let key = format!("{handed:?} {engine:?}");
        let known = || self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = known().get(&key) {
            return known.clone();
        }
        let analysed = self.analyse_anew(handed, engine);
        known().insert(key, analysed.clone());
        analysed
    }

    fn analyse_anew(&self, handed: &Handed, engine: &Engine) -> Result<Analysis, String> {
        let (capture, mut setup) = match handed {
            Handed::Nothing => {
                return Err(
                    "its capture is neither simulated nor a file, and its result is not stated"
                        .into(),
                );
            }
            Handed::File { scenario, path } => (self.read)(scenario, path)?,
            Handed::Simulated(simulated) => simulate(simulated, engine)?,
        };
        setup.engine = engine.clone();
        setup.low_percent = self.low_percent;
        Ok(cranking::analyse(&capture, &setup).analysis)
    }
}

fn simulate(simulated: &Simulated, engine: &Engine) -> Result<(Capture, Setup), String> {
    let mut wish = Wish::anything();
    wish.engine = Some(engine.clone());
    wish.source = simulated.signal;
    wish.again = simulated.again;
    wish.reference = Some(simulated.reference);
    wish.spoil = simulated.spoil;
    let losses = simulated.weak.iter().map(|(cylinder, percent)| {
        let place = engine.place_of(*cylinder);
        let place = place.ok_or_else(|| format!("the engine has no cylinder {cylinder}"))?;
        Ok((place, *percent))
    });
    wish.losses = Some(losses.collect::<Result<_, String>>()?);
    let made = practice(simulated.seed, &wish)
        .ok_or("with this seed the starter cannot turn the engine; take another")?;
    let mut capture = made.capture();
    if let Some(seconds) = simulated.seconds {
        let from = capture.time.first().copied().unwrap_or_default();
        let rows = capture.time.partition_point(|time| *time < from + seconds);
        capture.time.truncate(rows);
        for column in capture.columns.values_mut() {
            column.truncate(rows);
        }
    }
    Ok((capture, made.setup()))
}
