//! The set-up file beside a capture: the engine, the limit, and which column holds what.

pub mod clamps;
pub mod keys;
mod place;
mod written;

use serde::{Deserialize, Serialize};

use self::clamps::Clamps;
use self::keys::{Keys, Segment};
use self::written::Written;
use super::ReadError;
use super::unit;
use crate::engine::Engine;

/// Limit below which a cylinder counts as low where none is given, percent of the sound ones' peak.
/// Common practice of the trade, no source.
pub const DEFAULT_LOW_PERCENT: f64 = 85.0;

/// Bytes that a set-up has at most. One of twelve cylinders and four channels has under 2000; more is
/// some other file.
pub const MOST_BYTES: usize = 1 << 20;

/// Deepest nesting that is read; a set-up needs four.
const DEEPEST: usize = 8;

/// A set-up, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// The engine.
    pub engine: Engine,
    /// Limit below which a cylinder counts as low, percent.
    pub low_percent: f64,
    /// Header of the time column; the first column where absent.
    pub time_column: Option<String>,
    /// The channels.
    pub channels: Channels,
    /// How the capture is to be read, where that is in doubt.
    pub keys: Keys,
}

/// What is recorded.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Channels {
    /// Starter current, ampere.
    pub starter_current: Option<Analogue>,
    /// Battery voltage, volt.
    pub battery_voltage: Option<Analogue>,
    /// Crank-sensor teeth.
    pub crank_speed: Option<Teeth>,
    /// Reference event.
    pub reference: Option<Reference>,
}

/// A current or voltage channel.
#[derive(Debug, Clone, PartialEq)]
pub struct Analogue {
    /// Header of its column.
    pub column: String,
    /// Converter resolution, bits.
    pub bits: Option<u32>,
    /// Positive end of the ± range, in the column's unit.
    pub full_scale: Option<f64>,
    /// Which way load points, where that is known.
    pub polarity: Option<Polarity>,
    /// How the channel was coupled.
    pub coupling: Coupling,
    /// Corner of an AC coupling, hertz.
    pub coupling_corner_hz: Option<f64>,
}

/// Which way load points.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Polarity {
    /// More load, greater values.
    LoadUp,
    /// More load, smaller values.
    LoadDown,
}

/// How a channel is coupled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Coupling {
    /// Directly.
    #[default]
    Dc,
    /// Through a first-order high-pass.
    Ac,
}

/// A toothed wheel's sensor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Teeth {
    /// Header of its column: level, voltage, or one row per level change.
    pub column: String,
    /// Positions per turn, then teeth missing at each gap: "60-2".
    pub wheel: String,
    /// Position of each gap's first missing tooth, counted in turning direction from gap 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gaps_at: Option<Vec<usize>>,
    /// From the last tooth before gap 1 to cylinder 1's top dead centre, degrees.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gap_before_tdc_deg: Option<f64>,
    /// Edge that carries the wheel.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub edge: Option<Edge>,
    /// Converter resolution, bits.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bits: Option<u32>,
    /// Positive end of the ± range.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub full_scale: Option<f64>,
}

/// A reference event.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reference {
    /// Header of its column.
    pub column: String,
    /// Cylinder that the event belongs to.
    pub cylinder: usize,
    /// 720 or 360.
    pub every_deg: f64,
    /// Its place before that cylinder's firing top dead centre, degrees.
    #[serde(default)]
    pub before_tdc_deg: f64,
    /// Which feature is the event.
    pub edge: Edge,
}

/// Which feature of a channel is the event.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Edge {
    /// Upwards through the middle of the range.
    Rising,
    /// Downwards through the middle of the range.
    Falling,
    /// The greatest excursion of a burst.
    Peak,
}

/// Read a set-up from its text. `file` names it in errors.
///
/// # Errors
/// Where the text is no YAML, has unknown or missing keys, or describes what cannot be.
pub fn read(text: &str, file: &str) -> Result<Setup, ReadError> {
    read_with(text, file, &Clamps::default())
}

/// Read a set-up that may name one of the shop's clamps.
///
/// # Errors
/// As [`read`], and where the clamp is not in the list.
pub fn read_with(text: &str, file: &str, clamps: &Clamps) -> Result<Setup, ReadError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.len() > MOST_BYTES {
        let message = format!("a set-up has at most {MOST_BYTES} bytes; this file has more");
        let remedy = "Check that it is the set-up, NAME.setup.yaml, that is named.";
        return Err(ReadError::new(file, 0, 0, message, remedy));
    }
    place::sound(text, DEEPEST).map_err(|(line, column, message)| {
        let remedy =
            "Check that it is the set-up, NAME.setup.yaml, that is named, and correct it there.";
        ReadError::new(file, line, column, message, remedy)
    })?;
    let written: Written = serde_yaml::from_str(text).map_err(|error| {
        let (line, column) = error
            .location()
            .map_or((0, 0), |at| (at.line() as u64, at.column() as u64));
        ReadError::new(
            file,
            line,
            column,
            error.to_string(),
            "Correct the set-up file there.",
        )
    })?;
    check(written, text, file, clamps)
}

/// A set-up as the text of its file.
#[must_use]
pub fn write(setup: &Setup) -> String {
    serde_yaml::to_string(&Written::of(setup)).unwrap_or_default()
}

fn check(written: Written, text: &str, file: &str, clamps: &Clamps) -> Result<Setup, ReadError> {
    let at = |path: &[&str], message: String, remedy: &str| {
        let (line, column) = place::of(text, path);
        ReadError::new(file, line, column, message, remedy)
    };
    let given = &written.engine;
    let engine = Engine::new(
        given.cylinders,
        &given.firing_order,
        given.firing_intervals_deg.as_deref(),
        given.fuel,
    )
    .map_err(|error| {
        let key = if error.to_string().contains("interval") {
            "firing_intervals_deg"
        } else {
            "firing_order"
        };
        at(
            &["engine", key],
            error.to_string(),
            "Take order and intervals from the vehicle maker's data.",
        )
    })?;
    let low_percent = written
        .limits
        .as_ref()
        .map_or(DEFAULT_LOW_PERCENT, |limits| limits.low_percent);
    if !(low_percent > 0.0 && low_percent < 100.0) {
        let message =
            format!("a limit of {low_percent} % cannot be; it must lie between 0 and 100");
        return Err(at(
            &["limits", "low_percent"],
            message,
            "Usual limits are 80 to 90.",
        ));
    }
    let (channels, time_column, mut keys) = written.parts();
    check_channels(&channels, &engine, &at)?;
    check_keys(&keys, &at)?;
    for (channel, scaling) in &mut keys.scaling {
        clamps
            .look_up(scaling)
            .map_err(|(message, remedy)| at(&["channels", channel, "clamp"], message, &remedy))?;
    }
    Ok(Setup {
        engine,
        low_percent,
        time_column,
        channels,
        keys,
    })
}

fn check_keys(
    keys: &Keys,
    at: &impl Fn(&[&str], String, &str) -> ReadError,
) -> Result<(), ReadError> {
    if !positive(keys.rate_hz) {
        let message = "rate_hz must be a number above 0".to_owned();
        let remedy = "Rows a second, as the scope or logger was set.";
        return Err(at(&["time", "rate_hz"], message, remedy));
    }
    if keys.rate_hz.is_some() && keys.time_unit.is_some() {
        let message = "a column either counts rows at a rate or holds time in a unit".to_owned();
        return Err(at(&["time", "unit"], message, "Leave rate_hz or unit out."));
    }
    if keys.table.header_line == Some(0) {
        let remedy = "Lines are counted from 1.";
        return Err(at(
            &["table", "header_line"],
            "there is no line 0".into(),
            remedy,
        ));
    }
    if keys.table.columns.as_ref().is_some_and(Vec::is_empty) {
        let message = "the table has at least one column".to_owned();
        return Err(at(
            &["table", "columns"],
            message,
            "Name the columns from the left.",
        ));
    }
    if keys.table.segment == Some(Segment::Number(0)) {
        let message = "there is no segment 0".to_owned();
        return Err(at(
            &["table", "segment"],
            message,
            "The first segment is 1.",
        ));
    }
    check_scaling(keys, at)
}

fn positive(value: Option<f64>) -> bool {
    value.is_none_or(|value| value.is_finite() && value > 0.0)
}

fn check_scaling(
    keys: &Keys,
    at: &impl Fn(&[&str], String, &str) -> ReadError,
) -> Result<(), ReadError> {
    for (channel, scaling) in &keys.scaling {
        for (key, value) in [
            ("scale", scaling.scale),
            ("millivolt_per_ampere", scaling.millivolt_per_ampere),
        ] {
            if !positive(value) {
                let message = format!("{key} must be a number above 0");
                let remedy = "A trace that is upside down is told by polarity, not by a factor.";
                return Err(at(&["channels", channel, key], message, remedy));
            }
        }
        let unit = scaling.unit.as_deref();
        if let Some(unit) = unit.filter(|unit| unit::parse(unit).is_none()) {
            let message = format!("{unit:?} is no unit of voltage or current");
            let remedy = "Write V, mV, A, kA or the like.";
            return Err(at(&["channels", channel, "unit"], message, remedy));
        }
        for (key, given) in [
            (
                "millivolt_per_ampere",
                scaling.millivolt_per_ampere.is_some(),
            ),
            ("clamp", scaling.clamp.is_some()),
        ] {
            if given && *channel == "battery_voltage" {
                let message = "a clamp measures current, not battery voltage".to_owned();
                let remedy = format!("Leave {key} out here.");
                return Err(at(&["channels", channel, key], message, &remedy));
            }
        }
    }
    Ok(())
}

fn check_channels(
    channels: &Channels,
    engine: &Engine,
    at: &impl Fn(&[&str], String, &str) -> ReadError,
) -> Result<(), ReadError> {
    for (channel, analogue) in [
        ("starter_current", &channels.starter_current),
        ("battery_voltage", &channels.battery_voltage),
    ] {
        let Some(analogue) = analogue else { continue };
        if analogue.bits.is_some_and(|bits| !(1..=32).contains(&bits)) {
            return Err(at(
                &["channels", channel, "bits"],
                "a converter has 1 to 32 bits".into(),
                "Take it from the scope's data.",
            ));
        }
        for (key, value) in [
            ("full_scale", analogue.full_scale),
            ("coupling_corner_hz", analogue.coupling_corner_hz),
        ] {
            if value.is_some_and(|value| !(value.is_finite() && value > 0.0)) {
                let message = format!("{key} must be a number above 0");
                return Err(at(
                    &["channels", channel, key],
                    message,
                    "Leave the key out where the value is not known.",
                ));
            }
        }
    }
    if let Some(reference) = &channels.reference {
        if engine.place_of(reference.cylinder).is_none() {
            let message = format!("the engine has no cylinder {}", reference.cylinder);
            return Err(at(
                &["channels", "reference", "cylinder"],
                message,
                "Name the cylinder that the event belongs to.",
            ));
        }
        if reference.every_deg != 720.0 && reference.every_deg != 360.0 {
            let message = format!(
                "an event every {}° is neither 720 nor 360",
                reference.every_deg
            );
            return Err(at(
                &["channels", "reference", "every_deg"],
                message,
                "720: once per cycle; 360: once per turn.",
            ));
        }
        if !reference.before_tdc_deg.is_finite() || reference.before_tdc_deg.abs() > 720.0 {
            let message = "before_tdc_deg must lie within one cycle".to_owned();
            return Err(at(
                &["channels", "reference", "before_tdc_deg"],
                message,
                "Degrees before firing top dead centre.",
            ));
        }
    }
    Ok(())
}
