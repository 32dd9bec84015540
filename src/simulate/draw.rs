//! Plans drawn at random from wide ranges, for practice and for measuring the analysis. The ranges are
//! common practice of the trade and handbook orders of magnitude, no single source; they are stated
//! where they stand.

use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::common_fault::CommonFault;
use super::plan::{
    BatteryPlan, Condition, CrankPlan, CylinderPlan, Plan, ReferenceShape, StarterPlan, TimingPlan,
    Winding,
};
use super::{fault, layouts};
use crate::cranking::answer::SignalKind;
use crate::engine::Loss;
use crate::engine::{Engine, Fuel};

use super::spoil::Spoil;

/// What is fixed before the rest is drawn.
#[derive(Debug, Clone)]
pub struct Wish {
    /// Layout; drawn where absent.
    pub engine: Option<Engine>,
    /// Signal; drawn where absent.
    pub source: Option<SignalKind>,
    /// Whether voltage is AC-coupled; drawn where absent.
    pub ac_coupled: Option<bool>,
    /// Relative compression wanted of given places in the firing order, percent; drawn where absent.
    pub losses: Option<Vec<(usize, f64)>>,
    /// Samples per second; drawn where absent.
    pub rate_hz: Option<f64>,
    /// Reference; drawn where absent.
    pub reference: Option<ReferenceWish>,
    /// Shape of its events; drawn where absent.
    pub shape: Option<ReferenceShape>,
    /// What the wanted or drawn losses are; leaks where wanted, both where drawn.
    pub loss: Option<Loss>,
    /// Place in the firing order of a cylinder that compresses more than the others, and its compression ratio
    /// over theirs.
    pub raised: Option<(usize, f64)>,
    /// What is wrong with all cylinders alike, or with what turns them; nothing where absent.
    pub common: Option<CommonFault>,
    /// Cranking speed that starter and battery are sized for, revolutions per minute; drawn where absent.
    pub rpm: Option<f64>,
    /// Whether voltage is taken at a diagnostic connector; drawn where absent.
    pub connector: Option<bool>,
    /// Corner of an AC coupling, hertz, and that the set-up tells it; drawn where absent.
    pub corner_hz: Option<f64>,
    /// Positions and gaps of a toothed wheel; drawn where absent.
    pub wheel: Option<(usize, Vec<(usize, usize)>)>,
    /// What makes the capture unfit for a verdict; nothing where absent.
    pub spoil: Option<Spoil>,
    /// Which capture of the same vehicle: 0 is the first, others begin at another crank angle, with other
    /// noise.
    pub again: u32,
}

/// Reference that is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReferenceWish {
    /// Once per engine cycle.
    Cycle,
    /// Once per turn.
    Turn,
    /// None.
    None,
}

impl Wish {
    /// Everything drawn.
    #[must_use]
    pub fn anything() -> Self {
        Self {
            engine: None,
            source: None,
            ac_coupled: None,
            losses: None,
            rate_hz: None,
            reference: None,
            shape: None,
            loss: None,
            raised: None,
            common: None,
            rpm: None,
            connector: None,
            corner_hz: None,
            wheel: None,
            spoil: None,
            again: 0,
        }
    }
}

/// A plan from a seed. Plans that would stall are drawn again with the next seed by the caller.
#[must_use]
pub fn draw(seed: u64, wish: &Wish) -> Plan {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let random = &mut random;
    let engine = wish
        .engine
        .clone()
        .unwrap_or_else(|| layouts::layout(random));
    let diesel = engine.fuel() == Some(Fuel::Diesel);
    let cylinder = cylinder(random, diesel, engine.cylinders());
    // 80 to 250 rpm as makers specify, colder and faster ones at the ends
    let drawn = if random.random_bool(0.85) {
        within(random, 120.0, 260.0)
    } else {
        within(random, 60.0, 350.0)
    };
    let rpm = wish.rpm.unwrap_or(drawn);
    let speed = rpm * std::f64::consts::TAU / 60.0;
    let litres = cylinder.displaced_m3 * 1e3 * engine.cylinders() as f64;
    let crank = crank(random, litres, diesel, &cylinder, speed);
    let torque = crank.dry_friction + crank.viscous_friction * speed + 3.0 * litres;
    let (starter, battery) = electrics(random, torque, speed, litres, diesel);
    let conditions = fault::conditions(random, &engine, &cylinder, rpm, wish);
    let mean_current = torque / (starter.constant * flux_at(&starter, torque));
    let recording = super::recording::draw(
        random,
        &engine,
        wish,
        &battery,
        mean_current,
        rpm / 120.0 * engine.cylinders() as f64,
    );
    let timing = timing(random, rpm, wish.again);
    let mut plan = Plan {
        engine,
        cylinder,
        conditions,
        crank,
        starter,
        battery,
        timing,
        recording,
        seed,
        again: wish.again,
    };
    if let Some(common) = wish.common {
        common.befall(&mut plan, rpm, random);
    }
    plan
}

/// When the key is turned and let go, and where the crank stood. `again` counts the repeats on one engine.
fn timing(random: &mut impl Rng, rpm: f64, again: u32) -> TimingPlan {
    let again = f64::from(again);
    let cycles = within(random, 5.0, 14.0);
    let crank_s = (cycles * 120.0 / rpm + 0.9).min(12.0);
    let late = random.random_bool(0.12);
    let key_on_s = if late {
        -within(random, 0.6, 1.2)
    } else {
        within(random, 0.1, 0.8)
    };
    let key_off_s = key_on_s.max(0.0) + crank_s;
    let timing = TimingPlan {
        key_on_s,
        key_off_s,
        catches_s: None,
        end_s: key_off_s
            + if random.random_bool(0.6) {
                within(random, 0.1, 1.0)
            } else {
                0.0
            },
        start_deg: (within(random, 0.0, 720.0) + 137.0 * again) % 720.0,
    };
    // now and then the engine catches towards the end, in spite of all care
    let catches_s = (late || random.random_bool(0.05))
        .then(|| key_off_s - within(random, 0.0, 0.25) * crank_s)
        .filter(|_| random.random_bool(0.5));
    TimingPlan {
        catches_s,
        ..timing
    }
}

pub(super) fn within(random: &mut impl Rng, low: f64, high: f64) -> f64 {
    random.random_range(low..high)
}

/// Uniform in the logarithm.
pub(super) fn log_within(random: &mut impl Rng, low: f64, high: f64) -> f64 {
    within(random, low.ln(), high.ln()).exp()
}

fn cylinder(random: &mut impl Rng, diesel: bool, cylinders: usize) -> CylinderPlan {
    let ratio = if diesel {
        within(random, 15.0, 19.5)
    } else {
        within(random, 8.5, 12.5)
    };
    let largest = if diesel && cylinders >= 4 {
        9e-4
    } else {
        6.5e-4
    };
    CylinderPlan {
        compression_ratio: ratio,
        rod_ratio: within(random, 3.0, 4.0),
        displaced_m3: log_within(random, 3e-4, largest),
        exponent: within(random, 1.28, 1.39),
        heat_s: if random.random_bool(0.3) {
            f64::INFINITY
        } else {
            log_within(random, 0.08, 1.0)
        },
        inlet_closing_deg: within(random, 25.0, 70.0),
        exhaust_opening_deg: within(random, 35.0, 65.0),
        manifold: within(random, 0.85, 1.0),
        atmosphere_pa: within(random, 85_000.0, 102_500.0),
        cycle_scatter: within(random, 0.002, 0.012),
    }
}

fn crank(
    random: &mut impl Rng,
    litres: f64,
    diesel: bool,
    cylinder: &CylinderPlan,
    speed: f64,
) -> CrankPlan {
    let heavy = if diesel { 1.6 } else { 1.0 };
    let dry = 4.0 + heavy * litres * within(random, 6.0, 13.0);
    // reciprocating mass about 0.9 kg per litre of one cylinder, stroke from a square bore
    let bore = (4.0 * cylinder.displaced_m3 / std::f64::consts::PI).cbrt();
    CrankPlan {
        inertia: heavy * (0.05 + litres * log_within(random, 0.05, 0.14)),
        reciprocating: 900.0 * cylinder.displaced_m3 * (bore / 2.0).powi(2),
        dry_friction: dry,
        viscous_friction: dry / speed * within(random, 0.05, 0.4),
        piston_share: within(random, 0.1, 0.5),
    }
}

/// A starter and battery that turn the engine at the wanted speed: at mean torque T and speed ω the
/// current is I = T/(kφ), and V = R·I + kφω with the stall current a multiple of I.
fn electrics(
    random: &mut impl Rng,
    torque: f64,
    speed: f64,
    litres: f64,
    diesel: bool,
) -> (StarterPlan, BatteryPlan) {
    let rest_v = if diesel && litres > 5.0 && random.random_bool(0.3) {
        within(random, 24.4, 25.6)
    } else {
        within(random, 12.2, 12.8)
    };
    let stall = within(random, 2.0, 4.5);
    let back_v = rest_v * (1.0 - 1.0 / stall);
    let current = torque * speed / back_v;
    let total = rest_v / (stall * current);
    let magnet = random.random_bool(0.55);
    let winding = if magnet {
        Winding::PermanentMagnet
    } else {
        Winding::Series {
            knee_a: current * log_within(random, 0.3, 2.5),
            remanence: within(random, 0.02, 0.15),
        }
    };
    let full = match winding {
        Winding::PermanentMagnet => 1.0,
        Winding::Series { knee_a, remanence } => {
            remanence + (1.0 - remanence) * (1.0 - (-current / knee_a).exp())
        }
    };
    let inner = total * within(random, 0.2, 0.45);
    let cable = total * within(random, 0.05, 0.15);
    let brush_v = within(random, 0.2, 1.0);
    let resistance = (total - inner - cable - brush_v / current).max(0.15 * total);
    let starter = StarterPlan {
        winding,
        constant: back_v / speed / full,
        resistance,
        brush_v,
        inductance: resistance * log_within(random, 0.003, 0.012),
        inertia: (0.05 + 0.1 * litres) * log_within(random, 0.3, 2.0),
        friction: torque * within(random, 0.0, 0.05),
        ripple: within(random, 0.0, 0.03),
        commutations: within(random, 900.0, 1800.0),
    };
    let battery = BatteryPlan {
        rest_v,
        resistance: inner,
        cable,
        plates_v: rest_v / 12.0 * within(random, 0.0, 0.15),
        slow_resistance: inner * within(random, 0.05, 0.4),
        slow_s: log_within(random, 0.3, 4.0),
        other_a: within(random, 2.0, 20.0),
        switching_a: 0.0,
        switching_hz: 0.0,
    };
    (starter, battery)
}

fn flux_at(starter: &StarterPlan, torque: f64) -> f64 {
    let Winding::Series { knee_a, remanence } = starter.winding else {
        return 1.0;
    };
    let mut flux = 1.0;
    for _ in 0..30 {
        let current = torque / (starter.constant * flux);
        flux = 0.5 * (flux + remanence + (1.0 - remanence) * (1.0 - (-current / knee_a).exp()));
    }
    flux
}

/// A sound cylinder's condition: rings leak a little, charges and clearances differ a little.
pub(super) fn sound(random: &mut impl Rng, cylinder: &CylinderPlan) -> Condition {
    Condition {
        leak_m2: cylinder.displaced_m3 * log_within(random, 1.0e-4, 6.0e-4),
        charge: within(random, 0.985, 1.015),
        ratio: within(random, 0.995, 1.005),
    }
}
