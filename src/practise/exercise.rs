//! The hidden engine.

use std::collections::BTreeMap;

use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde::{Deserialize, Serialize};

use super::gauges;
use super::plain::is_plain;
use crate::cranking::answer::SignalKind;
use crate::engine::{Engine, Fuel};
use crate::simulate::draw::{ReferenceWish, Wish, draw};
use crate::simulate::practice::{Practice, practice};
use crate::simulate::spoil::Spoil;

/// Seeds that are tried until an engine turns.
const TRIES: u64 = 20;

/// Engines, and whole vehicles, that are drawn until one is easy.
const EASY_TRIES: u64 = 200;

/// What is said where none is.
const NOT_PLAIN: &str =
    "no vehicle that suits an easy exercise was found; take another --seed, or --difficulty medium";

/// What is heard at a cylinder that is tight.
const FAINT: &str = "a faint hiss at the oil filler";

/// Other crank angles that a later capture may begin at until the starter turns the engine from there.
const ANGLES: u32 = 12;

/// End of a capture of the line at rest, seconds; the procedures want three of them at least.
const REST_S: f64 = 9.0;
/// Of these, what is left out at the beginning.
const SETTLED_S: f64 = 4.0;

/// Where a leak's air goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Escape {
    /// Past the inlet valve.
    Inlet,
    /// Past the exhaust valve.
    Exhaust,
    /// Past the rings.
    Crankcase,
    /// Into the coolant.
    Coolant,
}

impl Escape {
    const ALL: [Escape; 4] = [
        Escape::Inlet,
        Escape::Exhaust,
        Escape::Crankcase,
        Escape::Coolant,
    ];

    /// Where that is, in words.
    pub(super) fn place(self) -> &'static str {
        match self {
            Escape::Inlet => "past the inlet valve",
            Escape::Exhaust => "past the exhaust valve",
            Escape::Crankcase => "past the rings",
            Escape::Coolant => "into the coolant",
        }
    }

    /// As it is noticed.
    pub(super) fn heard(self) -> &'static str {
        match self {
            Escape::Inlet => "a hiss at the throttle or the air duct",
            Escape::Exhaust => "a hiss at the tail pipe",
            Escape::Crankcase => "a hiss at the oil filler",
            Escape::Coolant => "bubbles in the coolant",
        }
    }
}

/// How hard the fault is to find. The shares are our own choice, around the usual limit of 85 %.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Difficulty {
    /// One cylinder, far down.
    Easy,
    /// One or two, or none, plainly below or above the limit.
    Medium,
    /// One to three, or none, near the limit.
    Hard,
}

impl Difficulty {
    /// As the option names it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Easy => "easy",
            Self::Medium => "medium",
            Self::Hard => "hard",
        }
    }

    /// One of the three, by the seed.
    #[must_use]
    pub fn drawn(seed: u64) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(seed ^ 0xD1F);
        [Self::Easy, Self::Medium, Self::Hard][random.random_range(0..3)]
    }
}

/// An exercise: everything else is drawn from it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Exercise {
    /// Number that everything is drawn from.
    pub seed: u64,
    /// How hard.
    pub difficulty: Difficulty,
    /// What is recorded; drawn where not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub signal: Option<SignalKind>,
    /// Firing order; drawn where not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub firing_order: Option<Vec<usize>>,
    /// What the engine burns; with a firing order petrol, else drawn where not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fuel: Option<Fuel>,
    /// Weak cylinders and what each keeps, percent; drawn where not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weak: Option<BTreeMap<usize, f64>>,
    /// Where the air of a leak goes; drawn where not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub escape: Option<Escape>,
    /// What makes the first capture of the turning engine unfit for a verdict.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spoil: Option<Spoil>,
}

impl Exercise {
    /// Whether somebody chose what is wrong in it: then its options tell.
    #[must_use]
    pub fn is_of_a_trainer(&self) -> bool {
        self.weak.is_some() || self.escape.is_some() || self.spoil.is_some()
    }

    /// A capture of its engine, the first being 0. Each is of the same vehicle: where the starter would
    /// stick from the crank angle of a later one, it begins at another.
    ///
    /// # Errors
    /// A sentence, where the engine asked for cannot be.
    pub fn capture(&self, again: u32) -> Result<Practice, String> {
        let from = self.first_attempt()?;
        if again == 0 {
            return self.drawn_capture(from, 0, self.spoil);
        }
        let first = self.drawn_capture(from, 0, None)?;
        for angle in 0..ANGLES {
            let made = self.drawn_capture(from, again + angle * 97, None)?;
            if made.plan.seed == first.plan.seed {
                return Ok(made);
            }
        }
        // from the first one's crank angle once more
        let mut made = first;
        made.plan.again = again;
        made.record_anew();
        Ok(made)
    }

    /// The first capture as it is where nothing spoils it: engine, truth and gauges are its.
    ///
    /// # Errors
    /// As [`Exercise::capture`].
    pub fn unspoiled(&self) -> Result<Practice, String> {
        self.drawn_capture(self.first_attempt()?, 0, None)
    }

    /// The line of the same vehicle while nothing turns.
    ///
    /// # Errors
    /// As [`Exercise::capture`].
    pub fn at_rest(&self) -> Result<Practice, String> {
        let mut made = self.unspoiled()?;
        let timing = &mut made.plan.timing;
        // the recording ends before anybody turns the key
        timing.end_s = REST_S;
        timing.key_on_s = REST_S + 1.0;
        timing.key_off_s = REST_S + 2.0;
        timing.catches_s = None;
        made.record_anew();
        let table = &mut made.table;
        // what was switched on long ago has passed the scope's coupling by now
        let settled = table.time.partition_point(|time| *time < SETTLED_S);
        table.time.drain(..settled);
        table.signal.drain(..settled);
        if let Some(reference) = &mut table.reference {
            reference.drain(..settled);
        }
        Ok(made)
    }

    fn drawn_capture(
        &self,
        from: u64,
        again: u32,
        spoil: Option<Spoil>,
    ) -> Result<Practice, String> {
        (from..from + TRIES)
            .find_map(|attempt| {
                let seed = self.attempt(attempt);
                match self.wish(seed, again) {
                    Ok(wish) => practice(seed, &Wish { spoil, ..wish }).map(Ok),
                    Err(why) => Some(Err(why)),
                }
            })
            .unwrap_or_else(|| {
                Err("the starter cannot turn this engine; take another --seed".to_owned())
            })
    }

    /// The seed of an attempt at drawing the vehicle.
    fn attempt(&self, number: u64) -> u64 {
        self.seed.wrapping_add(number.wrapping_mul(0x9E37_79B9))
    }

    /// From which attempt on the vehicle is drawn: in an easy exercise the first that is plain.
    ///
    /// # Errors
    /// Where what was asked for leaves none.
    fn first_attempt(&self) -> Result<u64, String> {
        let plain = |attempt: &u64| {
            let seed = self.attempt(*attempt);
            let wish = self.wish(seed, 0).ok();
            wish.is_some_and(|wish| {
                let weak = wish.losses.as_ref().map_or(0, Vec::len);
                practice(seed, &wish).is_some_and(|made| is_plain(&made, weak))
            })
        };
        self.wish(self.attempt(0), 0)?;
        match self.difficulty {
            Difficulty::Easy => (0..EASY_TRIES)
                .find(plain)
                .ok_or_else(|| NOT_PLAIN.to_owned()),
            Difficulty::Medium | Difficulty::Hard => Ok(0),
        }
    }

    fn wish(&self, seed: u64, again: u32) -> Result<Wish, String> {
        let mut wish = Wish::anything();
        let engine = match &self.firing_order {
            Some(order) => Engine::new(order.len(), order, None, self.fuel.or(Some(Fuel::Petrol)))
                .map_err(|error| error.to_string())?,
            None => self.drawn_engine(seed, &wish),
        };
        let mut random = ChaCha8Rng::seed_from_u64(seed ^ 0x5EA1);
        let losses = match &self.weak {
            None => drawn(&mut random, self.difficulty, engine.cylinders()),
            Some(weak) => {
                let place = |(cylinder, percent): (&usize, &f64)| {
                    let place = engine.place_of(*cylinder);
                    let place =
                        place.ok_or_else(|| format!("the engine has no cylinder {cylinder}"))?;
                    Ok((place, *percent))
                };
                weak.iter().map(place).collect::<Result<_, String>>()?
            }
        };
        wish.losses = Some(losses);
        wish.engine = Some(engine);
        wish.source = self.signal;
        wish.again = again;
        // on the hard ones what the scope has for a reference is drawn too
        wish.reference = (self.difficulty != Difficulty::Hard).then_some(ReferenceWish::Cycle);
        Ok(wish)
    }

    /// An engine by the seed, of the fuel that is wanted; an easy exercise has one of four or six cylinders that fires
    /// evenly.
    fn drawn_engine(&self, seed: u64, wish: &Wish) -> Engine {
        let is_easy =
            |engine: &Engine| gauges::fires_evenly(engine) && [4, 6].contains(&engine.cylinders());
        let seeds = (0..EASY_TRIES).map(|at| seed.wrapping_add(at.wrapping_mul(0x5851_F42D)));
        let mut engines = seeds.map(|seed| draw(seed, wish).engine);
        let burns = |engine: &Engine| self.fuel.is_none_or(|fuel| engine.fuel() == Some(fuel));
        let any = self.difficulty != Difficulty::Easy;
        let found = engines.find(|engine| burns(engine) && (any || is_easy(engine)));
        found.unwrap_or_else(|| draw(seed, wish).engine)
    }

    /// What the apprentice is told of the vehicle: nothing of its fault.
    #[must_use]
    pub fn vehicle(&self, made: &Practice) -> String {
        let engine = made.engine();
        let order: Vec<String> = engine.firing_order().iter().map(usize::to_string).collect();
        let intervals: Vec<String> = engine
            .firing_intervals_deg()
            .iter()
            .map(f64::to_string)
            .collect();
        let fuel = engine.fuel().unwrap_or(Fuel::Petrol).name();
        let reference = match &made.plan.recording.reference {
            Some(reference) => format!(
                "an event of cylinder {} every {}°",
                reference.cylinder, reference.every_deg
            ),
            None => "none".to_owned(),
        };
        format!(
            "{} cylinders, firing order {}, intervals {}, {fuel}; recorded: {}; reference: {reference}",
            engine.cylinders(),
            order.join("-"),
            intervals.join(" "),
            made.plan.recording.source.name(),
        )
    }

    /// The one signal that its captures hold, and how it is recorded.
    #[must_use]
    pub fn signal_told(&self, made: &Practice) -> String {
        gauges::signal(made)
    }

    /// Where the air of its leaks goes.
    #[must_use]
    pub fn escape(&self) -> Escape {
        let mut random = ChaCha8Rng::seed_from_u64(self.seed ^ 0xA1B);
        let drawn = Escape::ALL[random.random_range(0..Escape::ALL.len())];
        self.escape.unwrap_or(drawn)
    }

    /// What may be looked up: of the vehicle and the instruments at once, of each cylinder when its gauge is read.
    #[must_use]
    pub fn pages(&self, made: &Practice) -> Pages {
        let escape = self.escape();
        let vehicle = format!(
            "{}{}{}",
            gauges::engine(made),
            gauges::surroundings(made),
            gauges::tester()
        );
        let pressures = gauges::pressures(made, escape);
        let cylinders = made.truth.leak_mm2.iter().map(|(cylinder, leak_mm2)| {
            let reading = gauges::leaking(*leak_mm2);
            let heard = if gauges::is_heard(reading) {
                escape.heard()
            } else {
                FAINT
            };
            let pressure = pressures.get(cylinder).map_or("", String::as_str);
            let page = format!(
                "Leak-down tester: second gauge, at the cylinder, reading {reading:.1} psi; {heard}\n\
                 Compression gauge, psi: {pressure}\n"
            );
            (*cylinder, page)
        });
        let mut cylinders: BTreeMap<usize, String> = cylinders.collect();
        // a list of the files must not tell which of them is another
        let longest = cylinders.values().map(String::len).max().unwrap_or(0);
        for page in cylinders.values_mut() {
            *page += &" ".repeat(longest - page.len());
        }
        Pages { vehicle, cylinders }
    }
}

/// What may be looked up in an exercise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pages {
    /// Vehicle, instruments, battery and circuit.
    pub vehicle: String,
    /// What the gauges show at each cylinder.
    pub cylinders: BTreeMap<usize, String>,
}

/// Weak places in the firing order and what each keeps, percent.
fn drawn(random: &mut impl Rng, difficulty: Difficulty, cylinders: usize) -> Vec<(usize, f64)> {
    let first = random.random_range(0..cylinders);
    let mut within = |low: f64, high: f64| random.random_range(low..high);
    let (sound, second, low, high) = match difficulty {
        Difficulty::Easy => (0.0, 0.0, 35.0, 62.0),
        Difficulty::Medium => (0.2, 0.3, 55.0, 76.0),
        Difficulty::Hard => (0.3, 0.4, 72.0, 80.0),
    };
    if within(0.0, 1.0) < sound {
        return Vec::new();
    }
    let mut losses = vec![(first, within(low, high))];
    if within(0.0, 1.0) < second && cylinders > 3 {
        losses.push(((first + 1) % cylinders, within(low, high)));
    }
    losses
}
