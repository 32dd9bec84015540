//! What is to be computed, with its inputs read from the job; the computing itself is handed in.

use std::collections::BTreeMap;

use crate::advise::signals::Signal;
use crate::advise::swing::Expected;
use crate::advise::{self, ClampAtHand, System};
use crate::capture::setup::DEFAULT_LOW_PERCENT;
use crate::cranking::answer::{Analysis, Drawing};
use crate::engine::Engine;
use crate::followup::after_repair;
use crate::followup::given::{Given, Inputs as Answers, float};
use crate::followup::limits::ShopLimits;
use crate::followup::{cam, figures};
use crate::procedure::computation::{Computation, Input, InputKind};
use crate::procedure::model::{RecordLine, ValuePath};
use crate::quantity::{Measured, Unit};
use crate::run::computing::Computing;
use crate::run::event::{CaptureFile, Event};
use crate::run::planned::Planned;
use crate::run::planning;
use crate::run::state::State;
use crate::run::value::Value;
use crate::run::walk::{Due, Walk, split};
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
        /// What the scope was set for, where the job knows.
        planned: Option<Planned>,
    },
    /// Whether two analyses say the same.
    Agreement {
        /// The first.
        first: Box<Analysis>,
        /// The second.
        second: Box<Analysis>,
    },
    /// The angle from crank mark to cam edge, from a capture.
    CamCorrelation {
        /// The capture in the job.
        capture: CaptureFile,
        /// Where the edge belongs, degrees after the mark.
        expected: f64,
        /// How far from there it may stand, degrees.
        tolerance: f64,
    },
    /// Whether a signal can serve.
    SignalPlan {
        /// What is known of engine and instruments.
        given: Box<advise::Given>,
        /// Which signal.
        signal: Signal,
    },
    /// Whether a channel is quiet before anything turns.
    ConnectionCheck {
        /// The capture in the job.
        capture: CaptureFile,
        /// What cranking lets expect.
        expected: Box<Expected>,
        /// Voltage of the system.
        system: System,
    },
    /// An earlier job, looked up.
    FirstRecord {
        /// Its number.
        job: String,
    },
    /// An analysis beside that of an earlier job.
    AfterRepair {
        /// Number of the earlier job.
        first: String,
        /// The analysis of this one.
        now: Box<Analysis>,
        /// Identity of this job's vehicle.
        identity: Option<String>,
    },
    /// What is computed from answers alone.
    Figures {
        /// Which.
        computation: Computation,
        /// The answers by name.
        given: Answers,
        /// The shop's limits.
        limits: ShopLimits,
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
    /// What the advice on a signal was reckoned from.
    pub plan: Option<Box<Plan>>,
}

/// A signal that was asked about, with all that the advice on it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Engine and instruments.
    pub given: advise::Given,
    /// The signal.
    pub signal: Signal,
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
                planned,
            } => {
                let mut computed = relative_compression(capture, engine, *low_percent, computing)?;
                if let (Some(planned), Some(analysis)) = (planned, &mut computed.analysis) {
                    let remarks = planned.remarks(analysis);
                    analysis.remarks.extend(remarks);
                }
                Ok(computed)
            }
            Request::Agreement { first, second } => Ok(only(agreement::facts(first, second))),
            Request::CamCorrelation {
                capture,
                expected,
                tolerance,
            } => {
                let angles = computing.cam_angles(capture)?;
                Ok(only(cam::facts(&angles, *expected, *tolerance)))
            }
            Request::SignalPlan { given, signal } => {
                let given = planning::with_clamps(given, computing.clamps());
                Ok(Computed {
                    facts: advise::facts::facts(&given, *signal),
                    plan: Some(Box::new(Plan {
                        given,
                        signal: *signal,
                    })),
                    ..Computed::default()
                })
            }
            Request::ConnectionCheck {
                capture,
                expected,
                system,
            } => {
                let line = computing.line_at_rest(capture)?;
                Ok(only(planning::connection(&line, expected, *system)))
            }
            Request::FirstRecord { job } => {
                Ok(only(after_repair::looked_up(computing.earlier(job))))
            }
            Request::AfterRepair {
                first,
                now,
                identity,
            } => {
                let earlier = computing.earlier(first)?;
                let facts = after_repair::facts(&earlier, now, identity.as_deref());
                Ok(only(facts))
            }
            Request::Figures {
                computation,
                given,
                limits,
            } => Ok(only(figures::facts(*computation, given, limits)?)),
        }
    }
}

fn relative_compression(
    capture: &CaptureFile,
    engine: &Engine,
    low_percent: f64,
    computing: &mut dyn Computing,
) -> Result<Computed, String> {
    let (analysis, drawing) = computing.relative_compression(capture, engine, low_percent)?;
    Ok(Computed {
        facts: facts::of_analysis(&analysis, engine),
        analysis: Some(Box::new(analysis)),
        drawing: drawing.map(Box::new),
        ..Computed::default()
    })
}

fn only(facts: BTreeMap<String, String>) -> Computed {
    Computed {
        facts,
        ..Computed::default()
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
        scope: split(&due.path).0,
        with,
    };
    match computation {
        Computation::RelativeCompression => Ok(Request::RelativeCompression {
            capture: inputs.capture("capture")?,
            engine: vehicle::engine(walk.lines())?,
            low_percent: low_percent(state),
            planned: Planned::of_job(walk, state),
        }),
        Computation::Agreement => Ok(Request::Agreement {
            first: inputs.analysis("first")?,
            second: inputs.analysis("second")?,
        }),
        Computation::CamCorrelation => Ok(Request::CamCorrelation {
            capture: inputs.capture("capture")?,
            expected: float(inputs.number("expected", Unit::Degree)?.value),
            tolerance: float(inputs.number("tolerance", Unit::Degree)?.value),
        }),
        Computation::SignalPlan => Ok(Request::SignalPlan {
            signal: planning::signal(&inputs.value("sensor")?.name())?,
            given: Box::new(inputs.instruments()?),
        }),
        Computation::ClampPlan => Ok(Request::SignalPlan {
            given: Box::new(advise::Given {
                clamp: Some(inputs.clamp()?),
                ..inputs.instruments()?
            }),
            signal: Signal::Clamp,
        }),
        Computation::ConnectionCheck => {
            let engine = vehicle::engine(walk.lines())?;
            let system = planning::system(walk.lines());
            let given = planning::given(engine, system, inputs.limits().starter);
            Ok(Request::ConnectionCheck {
                capture: inputs.capture("capture")?,
                expected: Box::new(advise::swing::expected(&given)),
                system,
            })
        }
        Computation::FirstRecord => Ok(Request::FirstRecord {
            job: inputs.value("job")?.shown(),
        }),
        Computation::AfterRepair => Ok(Request::AfterRepair {
            first: inputs.value("first job")?.shown(),
            now: inputs.analysis("now")?,
            identity: walk
                .lines()
                .get(&RecordLine::VehicleIdentity)
                .map(Value::shown),
        }),
        _ => Ok(Request::Figures {
            computation,
            given: inputs.answers(computation)?,
            limits: inputs.limits(),
        }),
    }
}

/// The limit of the job's opening.
fn low_percent(state: &State) -> f64 {
    let opening = state.opening();
    opening.map_or(DEFAULT_LOW_PERCENT, |opening| opening.low_percent)
}

struct Inputs<'a, 'l> {
    walk: &'a Walk<'l>,
    state: &'a State,
    scope: &'a str,
    with: &'a BTreeMap<String, ValuePath>,
}

impl Inputs<'_, '_> {
    fn limits(&self) -> ShopLimits {
        let opening = self.state.opening();
        opening.map_or_else(ShopLimits::default, |o| o.limits)
    }

    /// Engine, speed and scope, as a plan takes them.
    fn instruments(&self) -> Result<advise::Given, String> {
        let engine = vehicle::engine(self.walk.lines())?;
        let system = planning::system(self.walk.lines());
        let mut given = planning::given(engine, system, self.limits().starter);
        given.rpm = float(self.number("speed", Unit::Rpm)?.value);
        given.scope.bits = float(self.number("bits", Unit::Count)?.value) as u32;
        Ok(given)
    }

    /// The clamp at hand, as its plate says.
    fn clamp(&self) -> Result<ClampAtHand, String> {
        Ok(ClampAtHand {
            name: None,
            range_a: float(self.number("rating", Unit::Ampere)?.value),
            mv_per_ampere: float(self.number("output", Unit::Millivolt)?.value),
            jaw_mm: None, // as the shop's list has it, or seen at the cable
        })
    }

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

    fn number(&self, name: &str, unit: Unit) -> Result<Measured, String> {
        measured(name, self.value(name)?, unit)
    }

    /// All that a computation takes from answers.
    fn answers(&self, computation: Computation) -> Result<Answers, String> {
        let mut given = BTreeMap::new();
        for Input { name, kind } in computation.inputs() {
            let value = match kind {
                InputKind::Number(unit) => Given::Number(self.number(name, unit)?),
                InputKind::Series(unit) => Given::Series(self.series(name, unit)?),
                InputKind::Name(_) => Given::Name(self.value(name)?.name()),
                InputKind::Text => Given::Text(self.value(name)?.shown()),
                InputKind::Capture | InputKind::Result(_) => continue,
            };
            given.insert(name, value);
        }
        Ok(Answers(given))
    }

    /// What a step measured at each of its visits.
    fn series(&self, name: &str, unit: Unit) -> Result<Vec<Measured>, String> {
        let numbers = self.walk.series(self.scope, &self.path(name)?.of).iter();
        let converted = numbers.map(|number| number.convert(unit));
        converted
            .collect::<Result<_, _>>()
            .map_err(|error| error.to_string())
    }

    /// The analysis that the step of that input made.
    fn analysis(&self, name: &str) -> Result<Box<Analysis>, String> {
        let path = self.path(name)?;
        let step = self.walk.origin(self.scope, path);
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

/// A value as a number in a unit; a fact such as "113 psi" is one too.
fn measured(name: &str, value: &Value, unit: Unit) -> Result<Measured, String> {
    let number = match value {
        Value::Number(number) => *number,
        Value::Text(text) => Measured::parse(text, unit).map_err(|error| error.to_string())?,
        other => return Err(format!("{name:?} is no number but {}", other.shown())),
    };
    number.convert(unit).map_err(|error| error.to_string())
}
