//! What the analysis answers: the machine interface, version 1, as fixed. Fields may be added, none
//! renamed or dropped.

use serde::{Deserialize, Serialize};

/// Value of `schema`.
pub const SCHEMA: &str = "evenfire.analysis/1";

/// One analysis.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Analysis {
    /// [`SCHEMA`].
    pub schema: String,
    /// The signal that was taken.
    pub source: Option<SignalKind>,
    /// How far cylinders could be named.
    pub identified: Option<Identified>,
    /// The cranking that was found.
    pub cranking: Option<Cranking>,
    /// Rows by cylinder, in order of cylinder number; absent where only positions are known.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub cylinders: Option<Vec<CylinderRow>>,
    /// Rows by position in firing sequence; present only where only positions are known.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub positions: Option<Vec<PositionRow>>,
    /// The decision.
    pub verdict: Verdict,
    /// The checks of the signal that was taken.
    pub quality: Vec<Check>,
    /// Signals that were given and not taken.
    pub passed_over: Vec<PassedOver>,
    /// What else a person should know.
    pub remarks: Vec<String>,
    /// The limit that findings were decided against, percent.
    pub low_percent: f64,
}

/// A signal that relative compression can be read from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SignalKind {
    /// Current in the starter's cable.
    StarterCurrent,
    /// Battery voltage.
    BatteryVoltage,
    /// Crank speed from a toothed wheel.
    CrankSpeed,
}

impl SignalKind {
    /// As a person reads it: "battery voltage".
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            SignalKind::StarterCurrent => "starter current",
            SignalKind::BatteryVoltage => "battery voltage",
            SignalKind::CrankSpeed => "crank speed",
        }
    }

    /// Its unit as it is recorded; of teeth, that of the speed that they tell.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            SignalKind::StarterCurrent => "A",
            SignalKind::BatteryVoltage => "V",
            SignalKind::CrankSpeed => "°/s",
        }
    }
}

/// How far cylinders could be named.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Identified {
    /// Each by its number.
    Cylinder,
    /// Cylinder or its companion half a cycle away.
    OneOfPair,
    /// By place in the firing sequence only.
    PositionOnly,
}

impl Identified {
    /// As the interface writes it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Identified::Cylinder => "cylinder",
            Identified::OneOfPair => "one_of_pair",
            Identified::PositionOnly => "position_only",
        }
    }
}

/// The cranking that was found in the capture.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Cranking {
    /// Start of the analysed window, seconds.
    pub start_s: f64,
    /// Its end, seconds.
    pub end_s: f64,
    /// Engine cycles (720°) in it.
    pub cycles: f64,
    /// Mean crank speed in it, revolutions per minute.
    pub mean_rpm: f64,
}

/// One cylinder's result.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CylinderRow {
    /// Cylinder number.
    pub cylinder: usize,
    /// The other cylinder that the row may be of, where an event comes once a turn and tells only the pair.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub companion: Option<usize>,
    /// Peak gauge pressure as a percentage of the sound cylinders' peak.
    pub relative_compression_percent: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end of the 95 % interval.
    pub high: f64,
    /// The finding.
    pub finding: Finding,
}

/// One position's result.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PositionRow {
    /// Position 1…N in firing sequence from an arbitrary start.
    pub position: usize,
    /// Peak gauge pressure as a percentage of the sound cylinders' peak.
    pub relative_compression_percent: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end of the 95 % interval.
    pub high: f64,
    /// The finding.
    pub finding: Finding,
}

/// What is found of one cylinder, the interval as guard band.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Finding {
    /// The interval lies at or above the limit.
    Even,
    /// The interval lies below the limit.
    Low,
    /// The limit lies inside the interval.
    Uncertain,
}

/// The decision on the whole capture.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Verdict {
    /// Which.
    pub kind: VerdictKind,
    /// Cylinders that are low (with companions where only the pair is known).
    pub cylinders: Vec<usize>,
    /// Positions that are low, where only positions are known.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub positions: Option<Vec<usize>>,
    /// One sentence for a person.
    pub why: String,
}

/// Kinds of verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum VerdictKind {
    /// All cylinders alike.
    Even,
    /// At least one low.
    Low,
    /// No verdict.
    Inconclusive,
}

impl VerdictKind {
    /// As the interface writes it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            VerdictKind::Even => "even",
            VerdictKind::Low => "low",
            VerdictKind::Inconclusive => "inconclusive",
        }
    }
}

/// One quality check.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Check {
    /// Its name, of the closed list in [`CheckName`].
    pub check: CheckName,
    /// Whether it passed.
    pub passed: bool,
    /// What was measured; absent where nothing could be.
    pub measured: Option<f64>,
    /// The limit.
    pub limit: f64,
    /// Which side of the limit is good: "max" or "min".
    pub bound: Bound,
    /// Unit of both.
    pub unit: String,
    /// What to do where it failed; what was found where it passed.
    pub advice: String,
}

/// Which side of a limit is good.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Bound {
    /// Good up to the limit.
    Max,
    /// Good from the limit on.
    Min,
}

/// The checks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CheckName {
    /// The signal ran into its range inside the window.
    Clipped,
    /// Fewer than three whole cycles.
    TooFewCycles,
    /// Too few converter steps per ripple.
    ConverterSteps,
    /// Noise swamps the ripple.
    Noise,
    /// Jumps of a loose connection.
    LooseConnection,
    /// Nothing at the cranking rate.
    NoRipple,
    /// The engine ran.
    EngineRunning,
    /// Too few samples per firing.
    Undersampled,
    /// Which way load points is not known.
    PolarityUnknown,
    /// One cylinder only.
    NothingToCompare,
    /// The model does not describe the signal.
    PoorFit,
    /// Two placements of the reference fit alike.
    PlacementUndecided,
    /// The signal is missing or dead.
    NoSignal,
}

impl CheckName {
    /// As the interface writes it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            CheckName::Clipped => "clipped",
            CheckName::TooFewCycles => "too_few_cycles",
            CheckName::ConverterSteps => "converter_steps",
            CheckName::Noise => "noise",
            CheckName::LooseConnection => "loose_connection",
            CheckName::NoRipple => "no_ripple",
            CheckName::EngineRunning => "engine_running",
            CheckName::Undersampled => "undersampled",
            CheckName::PolarityUnknown => "polarity_unknown",
            CheckName::NothingToCompare => "nothing_to_compare",
            CheckName::PoorFit => "poor_fit",
            CheckName::PlacementUndecided => "placement_undecided",
            CheckName::NoSignal => "no_signal",
        }
    }
}

impl CheckName {
    /// What it looks at, as a person reads it: the one name that it has in every text.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            CheckName::Clipped => "clipping",
            CheckName::TooFewCycles => "whole engine cycles",
            CheckName::ConverterSteps => "converter steps in the ripple",
            CheckName::Noise => "noise",
            CheckName::LooseConnection => "loose connection",
            CheckName::NoRipple => "ripple at the cranking rate",
            CheckName::EngineRunning => "engine running",
            CheckName::Undersampled => "sampling rate",
            CheckName::PolarityUnknown => "polarity",
            CheckName::NothingToCompare => "cylinders to compare",
            CheckName::PoorFit => "fit of the model",
            CheckName::PlacementUndecided => "placement of the reference",
            CheckName::NoSignal => "signal present",
        }
    }
}

/// A signal that was given and not taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PassedOver {
    /// Which.
    pub source: SignalKind,
    /// Its checks.
    pub quality: Vec<Check>,
}

/// What a picture of the capture shows: made once with the analysis, drawn by every renderer.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Drawing {
    /// What the trace is: "battery voltage, drawn upside down so that load points up".
    pub label: String,
    /// Its unit.
    pub unit: String,
    /// Trace, seconds and value, load up, thinned so that no spike is lost (least and greatest of
    /// each stretch); at most about 800 points.
    pub trace: Vec<(f64, f64)>,
    /// The same trace over two cycles from the middle of the window, thinned less: at most about 800
    /// points. Empty where none was made; close-up pictures then take [`Drawing::trace`].
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub detail: Vec<(f64, f64)>,
    /// The analysed window, seconds.
    pub window: (f64, f64),
    /// Firing top dead centres inside the window: time in seconds and the cylinder (or position).
    pub firings: Vec<(f64, usize)>,
    /// Times of the reference events, seconds.
    pub references: Vec<f64>,
}
