//! What a practice capture is wanted to be: the options of `evenfire simulate` made a wish to the simulator.

use clap::builder::PossibleValuesParser;
use clap::{Args, ValueEnum};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::weak::WeakCylinder;
use crate::cli::Failure;
use crate::cranking::answer::SignalKind;
use crate::engine::Loss;
use crate::engine::{Engine, Fuel};
use crate::simulate::common_fault::CommonFault;
use crate::simulate::draw::{ReferenceWish, Wish};
use crate::simulate::plan::ReferenceShape;
use crate::simulate::spoil::{self, Spoil};
use crate::simulate::{layouts, wheel};

/// What a weak cylinder keeps where only the kind of fault is told, percent.
const KEEPS_PERCENT: std::ops::Range<f64> = 40.0..75.0;

/// Compression ratio of a cylinder with carbon on its piston over that of the others: its peak is 4 to 8 % higher
/// (common practice, no source).
const RAISED: std::ops::Range<f64> = 1.03..1.06;

/// Options that say what is simulated.
#[derive(Debug, Args)]
pub(super) struct Wished {
    /// Layout by name; drawn where neither this nor a firing order is given
    #[arg(long, value_parser = PossibleValuesParser::new(layouts::names()), conflicts_with = "firing_order")]
    engine: Option<String>,
    /// Firing order, as in 1-3-4-2
    #[arg(long, value_name = "ORDER")]
    firing_order: Option<String>,
    /// Degrees from each firing to the next, as in 90-150-90-150-90-150; even where not given
    #[arg(long, value_name = "DEGREES", requires = "firing_order")]
    firing_intervals: Option<String>,
    /// What the engine burns, with --engine or --firing-order
    #[arg(long, value_enum, default_value_t = FuelArgument::Petrol)]
    fuel: FuelArgument,
    /// What is recorded; drawn where not given
    #[arg(long, value_enum)]
    signal: Option<SignalArgument>,
    /// How a voltage is coupled; drawn where not given
    #[arg(long, value_enum)]
    coupling: Option<CouplingArgument>,
    /// Corner of an AC coupling, told in the set-up: 0.1 to 2; drawn, and sometimes not told, where not given
    #[arg(long, value_name = "HERTZ")]
    corner: Option<f64>,
    /// Toothed wheel of the crank sensor: positions, then teeth missing at each gap, as in 24, 60-2, 36-2-2-2
    #[arg(long, value_name = "WHEEL")]
    wheel: Option<String>,
    /// What tells where the engine stands; drawn where not given
    #[arg(long, value_enum)]
    reference: Option<ReferenceArgument>,
    /// What is wrong with the engine or its battery; drawn where neither this nor --weak is given
    #[arg(long, value_enum)]
    fault: Option<FaultArgument>,
    /// A weak cylinder, as in 3=62, and the percent that it keeps, at a steady speed, of its peak pressure when sound; the
    /// truth file is of the crank and differs. May be given several times, with --engine or --firing-order. Leaks,
    /// unless --fault says poor-filling
    #[arg(long, value_name = "CYLINDER=PERCENT")]
    weak: Vec<WeakCylinder>,
    /// Nothing wrong: short for --fault none
    #[arg(long, conflicts_with_all = ["weak", "fault"])]
    sound: bool,
    /// What makes the capture unfit for a verdict; nothing where not given
    #[arg(long, value_parser = PossibleValuesParser::new(spoil::ALL.map(Spoil::name)))]
    spoil: Option<String>,
    /// Cranking speed that starter and battery are sized for, 60 to 350; the engine's own has the last word
    #[arg(long, value_name = "RPM")]
    speed: Option<f64>,
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
    /// A clamp around the starter's cable
    StarterCurrent,
    /// At the battery's posts
    BatteryVoltage,
    /// At pins 4 and 16 of the diagnostic connector, with other loads on the feed
    ConnectorVoltage,
    /// A toothed wheel on the crank
    CrankSpeed,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum CouplingArgument {
    Ac,
    Dc,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum ReferenceArgument {
    /// A level that falls when one cylinder's ignition is triggered, every 720°
    Trigger,
    /// A spike with ringing around an ignition lead, every 720°
    PickUp,
    /// An injector's earthed side, every 720°
    Injector,
    /// A cam sensor's level, every 720°
    Cam,
    /// An event every 360°: a cylinder cannot be told from its companion
    Turn,
    /// None: only positions in the firing sequence are known
    None,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum FaultArgument {
    /// Nothing
    None,
    /// Gas leaks past rings, valve or gasket
    Leak,
    /// Too little gas is trapped: cam timing, a valve that hardly opens
    PoorFilling,
    /// One cylinder compresses more than the others, as with carbon on its piston
    HighCompression,
    /// All cylinders keep about half: even, and bad
    AllLow,
    /// All plugs are out
    PlugsOut,
    /// A flat, old battery; the engine is sound
    WeakBattery,
}

impl Wished {
    /// The wish. What is drawn here is drawn from `seed`.
    pub(super) fn wish(&self, seed: u64) -> Result<Wish, Failure> {
        let mut wish = Wish::anything();
        wish.engine = self.engine()?;
        self.signal(&mut wish)?;
        self.reference(&mut wish)?;
        self.fault(&mut wish, seed)?;
        wish.rpm = bounded(self.speed, "--speed", "turns a minute", 60.0, 350.0)?;
        wish.rate_hz = bounded(self.rate, "--rate", "samples per second", 100.0, 1e6)?;
        wish.again = self.again;
        self.spoil(&mut wish)?;
        Ok(wish)
    }

    fn fuel(&self) -> Fuel {
        match self.fuel {
            FuelArgument::Petrol => Fuel::Petrol,
            FuelArgument::Diesel => Fuel::Diesel,
        }
    }

    fn engine(&self) -> Result<Option<Engine>, Failure> {
        if let Some(name) = &self.engine {
            return Ok(layouts::named(name, self.fuel()));
        }
        let Some(order) = &self.firing_order else {
            return Ok(None);
        };
        let order: Vec<usize> = numbers(order, "--firing-order")?;
        let intervals: Option<Vec<f64>> = self
            .firing_intervals
            .as_ref()
            .map(|text| numbers(text, "--firing-intervals"))
            .transpose()?;
        let engine = Engine::new(order.len(), &order, intervals.as_deref(), Some(self.fuel()))?;
        Ok(Some(engine))
    }

    fn signal(&self, wish: &mut Wish) -> Result<(), Failure> {
        wish.source = self.signal.map(|signal| match signal {
            SignalArgument::StarterCurrent => SignalKind::StarterCurrent,
            SignalArgument::BatteryVoltage | SignalArgument::ConnectorVoltage => {
                SignalKind::BatteryVoltage
            }
            SignalArgument::CrankSpeed => SignalKind::CrankSpeed,
        });
        wish.connector = match self.signal {
            Some(SignalArgument::ConnectorVoltage) => Some(true),
            // posts or connector was drawn before there was a choice; the shipped captures rely on it
            _ => None,
        };
        let voltage = wish
            .source
            .is_none_or(|source| source == SignalKind::BatteryVoltage);
        if self.coupling.is_some() && !voltage {
            return Err("--coupling: only a voltage is coupled; leave it out or take --signal battery-voltage".into());
        }
        wish.ac_coupled = self
            .coupling
            .map(|coupling| coupling == CouplingArgument::Ac);
        if self.corner.is_some() && wish.ac_coupled != Some(true) {
            return Err("--corner: only an AC coupling has one; add --coupling ac".into());
        }
        wish.corner_hz = bounded(self.corner, "--corner", "hertz", 0.1, 2.0)?;
        let Some(name) = &self.wheel else {
            return Ok(());
        };
        if wish.source != Some(SignalKind::CrankSpeed) {
            return Err("--wheel: only the crank sensor has one; add --signal crank-speed".into());
        }
        wish.wheel = wheel::named(name);
        if wish.wheel.is_none() {
            return Err(format!(
                "--wheel {name}: write the positions (4 to 360), then the teeth missing at each gap, as in 60-2"
            )
            .into());
        }
        Ok(())
    }

    fn reference(&self, wish: &mut Wish) -> Result<(), Failure> {
        let Some(reference) = self.reference else {
            return Ok(());
        };
        let ignition = matches!(
            reference,
            ReferenceArgument::Trigger | ReferenceArgument::PickUp
        );
        let engine = wish.engine.as_ref();
        if ignition && engine.is_some_and(|engine| engine.fuel() == Some(Fuel::Diesel)) {
            return Err(
                "--reference: a diesel has no ignition; take injector, cam, turn or none".into(),
            );
        }
        wish.reference = Some(match reference {
            ReferenceArgument::Turn => ReferenceWish::Turn,
            ReferenceArgument::None => ReferenceWish::None,
            _ => ReferenceWish::Cycle,
        });
        wish.shape = match reference {
            ReferenceArgument::Trigger => Some(ReferenceShape::TriggerFalling),
            ReferenceArgument::PickUp => Some(ReferenceShape::Spike),
            ReferenceArgument::Injector => Some(ReferenceShape::Injector),
            ReferenceArgument::Cam => Some(ReferenceShape::Cam),
            ReferenceArgument::Turn | ReferenceArgument::None => None,
        };
        Ok(())
    }

    fn fault(&self, wish: &mut Wish, seed: u64) -> Result<(), Failure> {
        let of_one = matches!(
            self.fault,
            None | Some(FaultArgument::Leak | FaultArgument::PoorFilling)
        );
        if !self.weak.is_empty() {
            let Some(engine) = wish.engine.as_ref() else {
                return Err("--weak: say which engine, with --engine or --firing-order".into());
            };
            if !of_one {
                return Err("--weak: goes with --fault leak or poor-filling only".into());
            }
            let place = |weak: &WeakCylinder| {
                let WeakCylinder { cylinder, percent } = *weak;
                let place = engine.place_of(cylinder);
                let place = place
                    .ok_or_else(|| format!("--weak: the engine has no cylinder {cylinder}"))?;
                Ok((place, percent))
            };
            let losses: Result<_, Failure> = self.weak.iter().map(place).collect();
            wish.losses = Some(losses?);
        }
        wish.loss = match self.fault {
            Some(FaultArgument::PoorFilling) => Some(Loss::Filling),
            Some(FaultArgument::Leak) => Some(Loss::Leak),
            _ => None,
        };
        if self.sound {
            wish.losses = Some(Vec::new());
        }
        let Some(fault) = self.fault else {
            return Ok(());
        };
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let engine = wish
            .engine
            .get_or_insert_with(|| layouts::layout(&mut random));
        let place = random.random_range(0..engine.cylinders());
        if wish.losses.is_none() {
            let kept = random.random_range(KEEPS_PERCENT);
            wish.losses = Some(of_one.then_some((place, kept)).into_iter().collect());
        }
        wish.raised =
            (fault == FaultArgument::HighCompression).then(|| (place, random.random_range(RAISED)));
        wish.common = match fault {
            FaultArgument::AllLow => Some(CommonFault::AllLow),
            FaultArgument::PlugsOut => Some(CommonFault::PlugsOut),
            FaultArgument::WeakBattery => Some(CommonFault::WeakBattery),
            _ => None,
        };
        Ok(())
    }

    fn spoil(&self, wish: &mut Wish) -> Result<(), Failure> {
        (wish.spoil, wish.source) = spoiled(self.spoil.as_deref(), wish.source)?;
        Ok(())
    }
}

/// What `--spoil` names, and the signal that it happens to: a signal that is not asked for is one that can be
/// spoiled so.
pub(crate) fn spoiled(
    name: Option<&str>,
    signal: Option<SignalKind>,
) -> Result<(Option<Spoil>, Option<SignalKind>), Failure> {
    let Some(spoil) = name.and_then(Spoil::named) else {
        return Ok((None, signal));
    };
    let signal = signal.unwrap_or(SignalKind::BatteryVoltage);
    if spoil.suits(signal) {
        return Ok((Some(spoil), Some(signal)));
    }
    let told = "does not happen to this signal; take starter-current or battery-voltage";
    Err(format!("--spoil {}: {told}", spoil.name()).into())
}

fn bounded(
    value: Option<f64>,
    option: &str,
    unit: &str,
    least: f64,
    most: f64,
) -> Result<Option<f64>, Failure> {
    match value {
        Some(value) if !(least..=most).contains(&value) => {
            Err(format!("{option} {value}: give {unit}, {least} to {most}").into())
        }
        _ => Ok(value),
    }
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
