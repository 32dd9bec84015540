//! `evenfire advise`: which signal to take and how to set the scope, before anything is connected.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, ValueEnum};
use rust_decimal::prelude::ToPrimitive;

use crate::advise::signals::Fit;
use crate::advise::{ClampAtHand, Given, Grounds, Scope, System, advise};
use crate::cli::one_job::answering;
use crate::cli::one_job::which_job;
use crate::cli::{Failure, say};
use crate::engine::USUAL_RPM;
use crate::engine::starter_duty::StarterDuty;
use crate::engine::{Engine, Fuel};
use crate::quantity::{Measured, Unit};
use crate::record::shop::Shop;
use crate::report::terminal;
use crate::run::vehicle;

/// Say which signal can serve, and how to set the scope for it
///
/// Computed from engine, expected speed and the instruments at hand; each number stands beside its reason.
/// The starter's limit is the shop's, where there is one.
#[derive(Debug, Args)]
#[command(after_help = STATUSES, override_usage = USAGE)]
pub(crate) struct AdviseArguments {
    /// Firing order, as in 1-3-4-2
    #[arg(value_name = "ORDER")]
    firing_order: String,
    /// Degrees from each firing to the next, as in 90-150-90-150-90-150; even where not given
    #[arg(long, value_name = "DEGREES")]
    firing_intervals: Option<String>,
    /// What the engine burns
    ///
    /// Petrol where not given.
    #[arg(long, value_enum)]
    fuel: Option<FuelArgument>,
    /// Expected cranking speed; 200 where not given
    #[arg(long, value_name = "RPM", value_parser = rpm)]
    rpm: Option<f64>,
    /// Voltage of the starting system, 12 or 24
    #[arg(long, value_name = "VOLTS", default_value_t = 12)]
    system: u32,
    #[command(flatten)]
    scope: ScopeArguments,
    #[command(flatten)]
    clamp: ClampArguments,
    /// The crank wheel, as in 60-2, or its positions, missing teeth counted
    #[arg(long, value_name = "WHEEL", value_parser = wheel)]
    wheel: Option<u32>,
    /// Folder of the shop whose limit for starters holds; else EVENFIRE_SHOP, else the nearest shop in or above the working
    /// folder
    #[arg(long, value_name = "DIR")]
    shop: Option<PathBuf>,
}

#[derive(Debug, Args)]
struct ScopeArguments {
    /// Bits of the scope's converter; 8 where not given, the least that scopes have
    #[arg(long, value_parser = bits)]
    bits: Option<u32>,
    /// Positive ends of the scope's ± ranges, V, as in 0.5,1,2,5,10,20; steps of 1, 2 and 5 where not given
    #[arg(long, value_name = "VOLTS", value_delimiter = ',')]
    ranges: Vec<f64>,
    /// The scope's inputs are isolated from each other and from earth
    #[arg(long)]
    isolated: bool,
    /// Scope or laptop hang on mains, a charger or a diagnostic cable
    #[arg(long)]
    tied: bool,
    /// The leads at the posts are meant to be exchanged
    #[arg(long)]
    exchanged: bool,
}

#[derive(Debug, Args)]
struct ClampArguments {
    /// Greatest current that the clamp shows, A
    #[arg(long, value_name = "AMPERE", value_parser = amperes, requires = "clamp_output")]
    clamp_range: Option<f64>,
    /// The clamp's output for one ampere, mV
    #[arg(long, value_name = "MILLIVOLT", value_parser = millivolts, requires = "clamp_range")]
    clamp_output: Option<f64>,
    /// Widest cable that the clamp's jaws close around, mm
    #[arg(long, value_name = "MILLIMETRE", value_parser = millimetres, requires = "clamp_range")]
    jaws: Option<f64>,
    /// Outer diameter of the starter's cable, mm
    #[arg(long, value_name = "MILLIMETRE", value_parser = millimetres)]
    cable: Option<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum FuelArgument {
    Petrol,
    Diesel,
}

/// Shown where the order is missing as well: an example says more than the names of the options.
const USAGE: &str = "\
evenfire advise [OPTIONS] <ORDER>
       For example: evenfire advise 1-3-4-2 --bits 8 --clamp-range 600 --clamp-output 1";

const STATUSES: &str = "\
Exit status:
  0  a signal can serve
  1  none can, or the starter's limit is too short for a capture that can be judged
  2  could not be done";

/// Cranking speeds and converters that there are; wider than any workshop meets.
const RPM: std::ops::RangeInclusive<f64> = 20.0..=600.0;
/// Bits of the coarsest scopes.
const LEAST_BITS: u32 = 8;
const BITS: std::ops::RangeInclusive<u32> = 6..=24;

fn rpm(text: &str) -> Result<f64, String> {
    with_unit(text, Unit::Rpm)
}

fn amperes(text: &str) -> Result<f64, String> {
    with_unit(text, Unit::Ampere)
}

fn millivolts(text: &str) -> Result<f64, String> {
    with_unit(text, Unit::Millivolt)
}

fn millimetres(text: &str) -> Result<f64, String> {
    with_unit(text, Unit::Millimetre)
}

/// A number, or one with its unit, as at the questions of a procedure.
fn with_unit(text: &str, unit: Unit) -> Result<f64, String> {
    let read = Measured::parse(text, unit).and_then(|read| read.convert(unit));
    let value = read.map_err(|error| error.to_string())?.value;
    value
        .to_f64()
        .ok_or_else(|| format!("{value} is too great"))
}

/// "8", "8bit", "8 bits".
fn bits(text: &str) -> Result<u32, String> {
    let text = text.trim();
    let number = text.trim_end_matches(char::is_alphabetic);
    let unit = &text[number.len()..];
    match number.trim_end_matches(['-', ' ']).parse() {
        Ok(bits) if ["", "bit", "bits"].contains(&unit) => Ok(bits),
        _ => Err("write a whole number, as in 8 or 12".to_owned()),
    }
}

/// "60-2" or "60": the positions.
fn wheel(text: &str) -> Result<u32, String> {
    let told = || "write the wheel as in 60-2, or its positions, as in 60".to_owned();
    let mut numbers = text.trim().split('-').map(str::parse);
    let positions = numbers.next().and_then(Result::ok).ok_or_else(told)?;
    match numbers.all(|number: Result<u32, _>| number.is_ok()) && positions > 0 {
        true => Ok(positions),
        false => Err(told()),
    }
}

pub(crate) fn run(arguments: &AdviseArguments) -> Result<ExitCode, Failure> {
    let given = arguments.given()?;
    let advice = advise(&given);
    say(&terminal::advice(&given, &advice, answering::screen()));
    if let Some(assumed) = arguments.assumed() {
        say(&assumed);
    }
    let serves = advice.signals.iter().any(|judged| judged.fit != Fit::Unfit);
    let can = serves && advice.timing.cranks.is_some();
    Ok(ExitCode::from(u8::from(!can)))
}

impl AdviseArguments {
    fn given(&self) -> Result<Given, Failure> {
        let rpm = self.rpm.unwrap_or(USUAL_RPM);
        within("--rpm", rpm, RPM.contains(&rpm), "20 to 600")?;
        let bits = self.scope.bits.unwrap_or(LEAST_BITS);
        within("--bits", f64::from(bits), BITS.contains(&bits), "6 to 24")?;
        let system = match self.system {
            12 => System::TwelveVolts,
            24 => System::TwentyFourVolts,
            other => return Err(format!("--system {other}: write 12 or 24").into()),
        };
        let root = match &self.shop {
            Some(root) => Some(root.clone()),
            None => which_job::wanted(None)?,
        };
        // advice needs no shop
        let duty = match root {
            Some(root) => Shop::open(&root)?.policy().limits.starter,
            None => StarterDuty::default(),
        };
        Ok(Given {
            engine: self.engine()?,
            rpm,
            system,
            duty,
            scope: self.scope.scope()?,
            clamp: self.clamp.clamp()?,
            cable_mm: positive("--cable", self.clamp.cable)?,
            wheel_positions: self.wheel,
        })
    }

    /// What was not said and is reckoned with all the same; none where all was said.
    fn assumed(&self) -> Option<String> {
        let assumed = [
            (
                self.scope.bits.is_none(),
                format!("{LEAST_BITS} bits (--bits)"),
            ),
            (self.rpm.is_none(), format!("{USUAL_RPM:.0} rpm (--rpm)")),
            (self.fuel.is_none(), "petrol (--fuel)".to_owned()),
        ];
        let assumed = assumed.into_iter().filter(|(is_assumed, _)| *is_assumed);
        let assumed: Vec<String> = assumed.map(|(_, what)| what).collect();
        (!assumed.is_empty()).then(|| format!("Assumed: {}.\n", assumed.join(", ")))
    }

    fn engine(&self) -> Result<Engine, Failure> {
        let order = vehicle::order(&self.firing_order).map_err(|part| {
            format!("firing order: {part:?} is no cylinder; write it as in 1-3-4-2")
        })?;
        if let [count] = order[..]
            && count > 1
        {
            let told = format!(
                "firing order: {count} is a number of cylinders; write the order, as in 1-3-4-2"
            );
            return Err(told.into());
        }
        let intervals = match &self.firing_intervals {
            Some(text) => vehicle::intervals(text).map_err(|part| {
                format!("--firing-intervals: {part:?} is no angle; write degrees as in 90-150-90-150-90-150")
            })?,
            None => None,
        };
        let fuel = match self.fuel {
            Some(FuelArgument::Petrol) | None => Fuel::Petrol,
            Some(FuelArgument::Diesel) => Fuel::Diesel,
        };
        Ok(Engine::new(
            order.len(),
            &order,
            intervals.as_deref(),
            Some(fuel),
        )?)
    }
}

impl ScopeArguments {
    fn scope(&self) -> Result<Scope, Failure> {
        let mut scope = Scope {
            bits: self.bits.unwrap_or(LEAST_BITS),
            grounds: Grounds {
                isolated: self.isolated,
                tied: self.tied,
                exchanged: self.exchanged,
            },
            ..Scope::default()
        };
        if !self.ranges.is_empty() {
            for range in &self.ranges {
                positive("--ranges", Some(*range))?;
            }
            scope.ranges_v.clone_from(&self.ranges);
            scope.ranges_v.sort_by(f64::total_cmp);
        }
        Ok(scope)
    }
}

impl ClampArguments {
    fn clamp(&self) -> Result<Option<ClampAtHand>, Failure> {
        let range = positive("--clamp-range", self.clamp_range)?;
        let output = positive("--clamp-output", self.clamp_output)?;
        let jaw_mm = positive("--jaws", self.jaws)?;
        Ok(range
            .zip(output)
            .map(|(range_a, mv_per_ampere)| ClampAtHand {
                name: None,
                mv_per_ampere,
                range_a,
                jaw_mm,
            }))
    }
}

fn positive(name: &str, value: Option<f64>) -> Result<Option<f64>, Failure> {
    if let Some(value) = value {
        within(
            name,
            value,
            value.is_finite() && value > 0.0,
            "a number above 0",
        )?;
    }
    Ok(value)
}

fn within(name: &str, value: f64, inside: bool, wanted: &str) -> Result<(), Failure> {
    if inside {
        return Ok(());
    }
    Err(format!("{name} {value}: must be {wanted}").into())
}
