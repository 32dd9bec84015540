//! What is to be computed, with its inputs read from the job; the computing itself is handed in.

use std::collections::BTreeMap;

use crate::cranking::answer::{Analysis, Drawing};
use crate::engine::Engine;
use crate::procedure::computation::{Computation, InputKind};
use crate::procedure::model::ValuePath;
use crate::quantity::{Measured, Unit};
use crate::run::event::{CaptureFile, Event};
use crate::run::state::State;
use crate::run::value::Value;
use crate::run::walk::{Due, Walk};
use crate::run::{agreement, facts, vehicle};

/// A computation with its inputs.
#[derive(Debug, Clone, PartialEq)]
pub enum Request {
    /// Relative compression from a capture.
    RelativeCompression {
        /// The capture in the job.
        capture: CaptureFile,
        /// The engine as the intake has it.
        engine: Engine,
        /// Limit below which a cylinder counts as low, percent.
        low_percent: f64,
    },
    /// Whether two analyses say the same.
    Agreement {
        /// The first.
        first: Box<Analysis>,
        /// The second.
        second: Box<Analysis>,
    },
    /// Leak-down.
    LeakDown {
        /// Supply pressure, psi.
        supply: Measured,
        /// Cylinder pressure, psi.
        reading: Measured,
        /// Restrictor bore, millimetres.
        bore: Measured,
    },
}

/// What was computed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Computed {
    /// Facts by name, as shown.
    pub facts: BTreeMap<String, String>,
    /// The whole analysis, for relative compression.
    pub analysis: Option<Box<Analysis>>,
    /// What a picture of it shows.
    pub drawing: Option<Box<Drawing>>,
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

    /// The facts of a leak-down test; pressures in psi, bore in millimetres.
    ///
    /// # Errors
    /// A sentence that says which reading cannot be.
    fn leak_down(
        &mut self,
        supply: Measured,
        reading: Measured,
        bore: Measured,
    ) -> Result<BTreeMap<String, String>, String>;
}

impl Request {
    /// Have it computed.
    ///
    /// # Errors
    /// A sentence that says what is wrong and how to mend it.
    pub fn compute(&self, computing: &mut dyn Computing) -> Result<Computed, String> {
        match self {
            Request::RelativeCompression {
                capture,
                engine,
                low_percent,
            } => {
                let (analysis, drawing) =
                    computing.relative_compression(capture, engine, *low_percent)?;
                Ok(Computed {
                    facts: facts::of_analysis(&analysis, engine),
                    analysis: Some(Box::new(analysis)),
                    drawing: drawing.map(Box::new),
                })
            }
            Request::Agreement { first, second } => Ok(Computed {
                facts: agreement::facts(first, second),
                ..Computed::default()
            }),
            Request::LeakDown {
                supply,
                reading,
                bore,
            } => Ok(Computed {
                facts: computing.leak_down(*supply, *reading, *bore)?,
                ..Computed::default()
            }),
        }
    }
}

/// The request of a compute step that is due.
///
/// # Errors
/// A sentence that says which input is missing.
pub fn request(
    walk: &Walk<'_>,
    state: &State,
    due: &Due<'_>,
    computation: Computation,
    with: &BTreeMap<String, ValuePath>,
) -> Result<Request, String> {
    let inputs = Inputs {
        walk,
        state,
        scope: due.path.rsplit_once('/').map_or("", |(scope, _)| scope),
        with,
    };
    match computation {
        Computation::RelativeCompression => Ok(Request::RelativeCompression {
            capture: inputs.capture("capture")?,
            engine: vehicle::engine(walk.lines())?,
            low_percent: state.opening().map_or(LOW_PERCENT, |o| o.low_percent),
        }),
        Computation::Agreement => Ok(Request::Agreement {
            first: inputs.analysis("first")?,
            second: inputs.analysis("second")?,
        }),
        Computation::LeakDown => Ok(Request::LeakDown {
            supply: inputs.number("supply", computation)?,
            reading: inputs.number("reading", computation)?,
            bore: inputs.number("bore", computation)?,
        }),
    }
}

/// The limit where a job's opening has none (the machine interface's default).
const LOW_PERCENT: f64 = 85.0;

struct Inputs<'a, 'l> {
    walk: &'a Walk<'l>,
    state: &'a State,
    scope: &'a str,
    with: &'a BTreeMap<String, ValuePath>,
}

impl Inputs<'_, '_> {
    fn path(&self, name: &str) -> Result<&ValuePath, String> {
        let path = self.with.get(name);
        path.ok_or_else(|| format!("the computation is given no {name:?}"))
    }

    fn value(&self, name: &str) -> Result<&Value, String> {
        let path = self.path(name)?;
        let value = self.walk.read(self.scope, path);
        value.ok_or_else(|| format!("{name:?} comes from {path}, which has no value yet"))
    }

    fn capture(&self, name: &str) -> Result<CaptureFile, String> {
        match self.value(name)? {
            Value::Capture(file) => Ok(file.clone()),
            other => Err(format!("{name:?} is no capture but {}", other.shown())),
        }
    }

    fn number(&self, name: &str, computation: Computation) -> Result<Measured, String> {
        let wanted = computation.inputs().into_iter().find_map(|input| {
            match (input.name == name, input.kind) {
                (true, InputKind::Number(unit)) => Some(unit),
                _ => None,
            }
        });
        let unit: Unit = wanted.ok_or_else(|| format!("{name:?} is no number"))?;
        match self.value(name)? {
            Value::Number(number) => number.convert(unit).map_err(|error| error.to_string()),
            other => Err(format!("{name:?} is no number but {}", other.shown())),
        }
    }

    /// The analysis that the step of that input made.
    fn analysis(&self, name: &str) -> Result<Box<Analysis>, String> {
        let path = self.path(name)?;
        let step = match self.scope {
            "" => path.of.clone(),
            scope => format!("{scope}/{}", path.of),
        };
        let made = self.walk.past().iter().rev();
        let line = made
            .filter(|past| past.step == step && !past.superseded)
            .map(|past| past.line)
            .next();
        let event = line.and_then(|line| self.state.events().get(line - 1));
        match event.map(|stamped| &stamped.event) {
            Some(Event::Computed {
                analysis: Some(analysis),
                ..
            }) => Ok(analysis.clone()),
            _ => Err(format!(
                "{name:?} comes from {path}, which analysed nothing yet"
            )),
        }
    }
}
