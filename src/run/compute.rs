//! What is to be computed, with its inputs read from the job; the computing itself is handed in.

mod inputs;

use std::collections::BTreeMap;

use self::inputs::Inputs;
use crate::advise::signals::Signal;
use crate::advise::swing::Expected;
use crate::advise::{self, System};
use crate::capture::setup::DEFAULT_LOW_PERCENT;
use crate::cranking::answer::{Analysis, Drawing};
use crate::engine::Engine;
use crate::followup::after_repair;
use crate::followup::given::{Inputs as Answers, float};
use crate::followup::limits::ShopLimits;
use crate::followup::{cam, figures};
use crate::procedure::computation::Computation;
use crate::procedure::model::{RecordLine, ValuePath};
use crate::quantity::Unit;
use crate::run::computing::Computing;
use crate::run::event::CaptureFile;
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
