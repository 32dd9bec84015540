//! `evenfire simulate`: practice captures with known truth.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, ValueEnum};

use super::Failure;
use crate::capture::setup;
use crate::cranking::answer::SignalKind;
use crate::engine::{Engine, Fuel};
use crate::simulate::draw::Wish;
use crate::simulate::practice::{Practice, practice};

/// Make a practice capture: NAME.csv, NAME.setup.yaml and NAME.truth.yaml
///
/// What is not given is drawn from the seed. The same arguments give the same files.
#[derive(Debug, Args)]
pub(crate) struct SimulateArguments {
    /// Name of the files, without ending
    name: String,
    /// Folder to put them in
    #[arg(long, value_name = "DIR", default_value = ".")]
    into: PathBuf,
    /// Number that everything random is drawn from
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Firing order, as in 1-3-4-2; drawn where not given
    #[arg(long, value_name = "ORDER")]
    firing_order: Option<String>,
    /// Degrees from each firing to the next, as in 90-150-90-150-90-150; even where not given
    #[arg(long, value_name = "DEGREES", requires = "firing_order")]
    firing_intervals: Option<String>,
    /// What the engine burns
    #[arg(long, value_enum, default_value_t = FuelArgument::Petrol)]
    fuel: FuelArgument,
    /// What is recorded; drawn where not given
    #[arg(long, value_enum)]
    signal: Option<SignalArgument>,
    /// How a voltage is coupled; drawn where not given
    #[arg(long, value_enum)]
    coupling: Option<CouplingArgument>,
    /// A weak cylinder and what it keeps, as in 3=62 (percent); may be given several times
    #[arg(long, value_name = "CYLINDER=PERCENT", requires = "firing_order")]
    weak: Vec<String>,
    /// No weak cylinder
    #[arg(long, conflicts_with = "weak")]
    sound: bool,
    /// Samples per second; drawn where not given
    #[arg(long, value_name = "HERTZ")]
    rate: Option<f64>,
    /// Another capture of the same vehicle: 1 for the second, and so on
    #[arg(long, value_name = "N", default_value_t = 0)]
    again: u32,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum FuelArgument {
    Petrol,
    Diesel,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum SignalArgument {
    StarterCurrent,
    BatteryVoltage,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum CouplingArgument {
    Ac,
    Dc,
}

pub(crate) fn run(arguments: &SimulateArguments) -> Result<ExitCode, Failure> {
    if arguments.name.is_empty() || arguments.name.contains(['/', '\\']) {
        return Err(format!(
            "{:?} is no file name; name the folder with --into",
            arguments.name
        )
        .into());
    }
    let wish = wish(arguments)?;
    let made = practice(arguments.seed, &wish)
        .ok_or("with this seed the starter cannot turn the engine; take another --seed")?;
    write(&arguments.into, &arguments.name, &made)?;
    println!(
        "{} cylinders at {:.0} rpm, {} rows: {}",
        made.engine().cylinders(),
        made.truth.mean_rpm,
        made.table.time.len(),
        arguments
            .into
            .join(format!("{}.csv", arguments.name))
            .display()
    );
    Ok(ExitCode::SUCCESS)
}

fn wish(arguments: &SimulateArguments) -> Result<Wish, Failure> {
    let mut wish = Wish::anything();
    if let Some(order) = &arguments.firing_order {
        let order: Vec<usize> = numbers(order, "--firing-order")?;
        let intervals: Option<Vec<f64>> = arguments
            .firing_intervals
            .as_ref()
            .map(|text| numbers(text, "--firing-intervals"))
            .transpose()?;
        let fuel = match arguments.fuel {
            FuelArgument::Petrol => Fuel::Petrol,
            FuelArgument::Diesel => Fuel::Diesel,
        };
        wish.engine = Some(Engine::new(
            order.len(),
            &order,
            intervals.as_deref(),
            Some(fuel),
        )?);
    }
    wish.source = arguments.signal.map(|signal| match signal {
        SignalArgument::StarterCurrent => SignalKind::StarterCurrent,
        SignalArgument::BatteryVoltage => SignalKind::BatteryVoltage,
    });
    wish.ac_coupled = arguments
        .coupling
        .map(|coupling| coupling == CouplingArgument::Ac);
    if let Some(rate) = arguments.rate {
        if !(100.0..=1e6).contains(&rate) {
            return Err(format!("--rate {rate}: give samples per second, 100 to 1000000").into());
        }
        wish.rate_hz = Some(rate);
    }
    wish.again = arguments.again;
    if arguments.sound {
        wish.losses = Some(Vec::new());
    } else if let Some(engine) = wish.engine.as_ref().filter(|_| !arguments.weak.is_empty()) {
        let losses = arguments
            .weak
            .iter()
            .map(|text| weak(text, engine))
            .collect::<Result<_, _>>()?;
        wish.losses = Some(losses);
    }
    Ok(wish)
}

fn numbers<T: std::str::FromStr>(text: &str, option: &str) -> Result<Vec<T>, Failure> {
    text.split(['-', ',', ' '])
        .map(|part| {
            part.trim()
                .parse()
                .map_err(|_| format!("{option}: {part:?} is no number").into())
        })
        .collect()
}

fn weak(text: &str, engine: &Engine) -> Result<(usize, f64), Failure> {
    let told = || format!("--weak {text}: write cylinder=percent, as in 3=62");
    let (cylinder, percent) = text.split_once('=').ok_or_else(told)?;
    let cylinder: usize = cylinder.trim().parse().map_err(|_| told())?;
    let percent: f64 = percent.trim().parse().map_err(|_| told())?;
    let place = engine
        .place_of(cylinder)
        .ok_or_else(|| format!("--weak {text}: the engine has no cylinder {cylinder}"))?;
    if !(10.0..=100.0).contains(&percent) {
        return Err(format!("--weak {text}: a cylinder can keep 10 to 100 percent").into());
    }
    Ok((place, percent))
}

fn write(folder: &Path, name: &str, made: &Practice) -> Result<(), Failure> {
    fs_err::create_dir_all(folder)?;
    let files = [
        ("csv", made.csv()),
        ("setup.yaml", setup::write(&made.setup())),
        ("truth.yaml", serde_yaml::to_string(&made.truth)?),
    ];
    for (ending, _) in &files {
        let path = folder.join(format!("{name}.{ending}"));
        if path.exists() {
            return Err(format!("{}: exists already; take another name", path.display()).into());
        }
    }
    for (ending, text) in files {
        fs_err::write(folder.join(format!("{name}.{ending}")), text)?;
    }
    Ok(())
}
