//! Battery, starter, one-way clutch, crank: the equations of motion, stepped at a fixed 0.1 ms.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};

use super::gas::Gas;
use super::plan::{Plan, Winding};

/// Step of the integration, seconds: 0.2° of crank rotation at 350 rpm.
pub const STEP_S: f64 = 1e-4;

/// Current from which the plates' loss grows with the logarithm, A.
const PLATES_A: f64 = 15.0;

/// What the vehicle did, every [`STEP_S`].
#[derive(Debug, Clone, Default)]
pub struct Motion {
    /// Starter current, A.
    pub current: Vec<f64>,
    /// Voltage at the posts, V.
    pub posts: Vec<f64>,
    /// Crank speed, rad/s.
    pub speed: Vec<f64>,
    /// Crank angle, degrees after the first cylinder's first firing top dead centre.
    pub angle: Vec<f64>,
    /// Share of the time, once cranking, in which the crank overran the starter.
    pub overrun: f64,
    /// Typical peak gauge pressure of each cylinder while cranking, Pa, in firing order.
    pub peaks_pa: Vec<f64>,
}

struct State {
    angle: f64,
    speed: f64,
    armature: f64,
    engaged: bool,
    current: f64,
    polarisation: f64,
}

impl State {
    fn at_rest(angle: f64) -> Self {
        State {
            angle,
            speed: 0.0,
            armature: 0.0,
            engaged: true,
            current: 0.0,
            polarisation: 0.0,
        }
    }
}

/// Compute what the vehicle does.
#[must_use]
pub fn drive(plan: &Plan) -> Motion {
    let mut random = ChaCha8Rng::seed_from_u64(plan.noise());
    let mut gases: Vec<Gas> = plan
        .conditions
        .iter()
        .map(|condition| Gas::new(&plan.cylinder, *condition))
        .collect();
    let places = plan.engine.firing_angles_deg();
    let scatter = Normal::new(1.0, plan.cylinder.cycle_scatter).expect("a scatter is no NaN");
    let mut charges = vec![1.0; gases.len()];
    let mut state = State::at_rest(plan.timing.start_deg);
    let mut motion = Motion::default();
    let mut switched_on = random.random_bool(0.5);
    let mut at = plan.timing.key_on_s.min(0.0);
    while at < plan.timing.end_s {
        if random.random_bool((plan.battery.switching_hz * STEP_S).min(1.0)) {
            switched_on = !switched_on;
        }
        let other = plan.battery.other_a
            + if switched_on {
                plan.battery.switching_a
            } else {
                0.0
            };
        let burning = plan.timing.catches_s.is_some_and(|when| at > when);
        let by_gas: f64 = gases
            .iter()
            .zip(&places)
            .map(|(gas, place)| gas.torque(local(state.angle - place)))
            .sum();
        let load = by_gas + resistance(plan, &state, &places);
        let key = at >= plan.timing.key_on_s && at < plan.timing.key_off_s;
        let posts = electrics(plan, &mut state, key, other);
        let before = state.angle;
        mechanics(plan, &mut state, load);
        let step = state.angle - before;
        for (index, (gas, place)) in gases.iter_mut().zip(&places).enumerate() {
            let angle = local(state.angle - place);
            if angle < -180.0 {
                charges[index] = scatter.sample(&mut random);
            }
            gas.advance(angle, step, STEP_S, at, charges[index], burning);
        }
        at += STEP_S;
        if at >= 0.0 {
            motion.current.push(state.current);
            motion.posts.push(posts);
            motion.speed.push(state.speed);
            motion.angle.push(state.angle);
        }
        if key && !state.engaged {
            motion.overrun += STEP_S / (plan.timing.key_off_s - plan.timing.key_on_s);
        }
    }
    motion.peaks_pa = gases.iter().map(|gas| typical_peak(plan, gas)).collect();
    motion
}

/// The middle one of the peaks while cranking steadily: after the first half second, before anything
/// burns or the key is let go. Not the mean, because a cylinder that stood closed at the start, or in
/// which the crank comes to rest, has one odd peak.
fn typical_peak(plan: &Plan, gas: &Gas) -> f64 {
    let end = plan
        .timing
        .catches_s
        .unwrap_or(plan.timing.key_off_s)
        .min(plan.timing.end_s);
    let start = plan.timing.key_on_s.max(0.0) + 0.5;
    let mut inside: Vec<f64> = gas
        .peaks
        .iter()
        .filter(|(at, _)| (start..end).contains(at))
        .map(|(_, peak)| *peak)
        .collect();
    inside.sort_by(f64::total_cmp);
    let count = inside.len();
    if count == 0 {
        0.0
    } else {
        0.5 * (inside[(count - 1) / 2] + inside[count / 2])
    }
}

fn local(angle: f64) -> f64 {
    (angle + 360.0).rem_euclid(720.0) - 360.0
}

/// Friction and the reciprocating masses' torque, N·m.
fn resistance(plan: &Plan, state: &State, places: &[f64]) -> f64 {
    let crank = &plan.crank;
    let mut piston = 0.0;
    let mut inertia = 0.0;
    for place in places {
        let angle = (state.angle - place).to_radians();
        piston += angle.sin().abs();
        // m·r²·ω² times the derivative of half the squared piston speed, first rod terms
        let lambda = 1.0 / plan.cylinder.rod_ratio;
        inertia += 0.25 * lambda * angle.sin()
            - 0.5 * (2.0 * angle).sin()
            - 0.75 * lambda * (3.0 * angle).sin();
    }
    let piston = piston / places.len() as f64 / std::f64::consts::FRAC_2_PI;
    let dry = crank.dry_friction * (1.0 - crank.piston_share + crank.piston_share * piston);
    let direction = (state.speed / 0.3).tanh();
    dry * direction + crank.viscous_friction * state.speed
        - crank.reciprocating * state.speed * state.speed * inertia
}

/// One step of current and battery; gives the voltage at the posts.
fn electrics(plan: &Plan, state: &mut State, key: bool, other: f64) -> f64 {
    let (starter, battery) = (&plan.starter, &plan.battery);
    let total = state.current + other;
    let drive = (battery.slow_resistance * total - state.polarisation) / battery.slow_s;
    state.polarisation += drive * STEP_S;
    let posts = battery.rest_v
        - state.polarisation
        - battery.resistance * total
        - battery.plates_v * (total / PLATES_A).max(0.0).ln_1p();
    if key {
        let back = starter.constant * flux(starter.winding, state.current) * state.armature;
        let drop = (starter.resistance + battery.cable) * state.current
            + starter.brush_v * (state.current / 5.0).tanh();
        let slope = (posts - drop - back) / starter.inductance;
        state.current = (state.current + slope * STEP_S).max(0.0);
    } else {
        state.current *= 1.0 - STEP_S / 2e-3;
    }
    posts
}

/// Flux over full flux.
fn flux(winding: Winding, current: f64) -> f64 {
    match winding {
        Winding::PermanentMagnet => 1.0,
        Winding::Series { knee_a, remanence } => {
            remanence + (1.0 - remanence) * (1.0 - (-current / knee_a).exp())
        }
    }
}

/// One step of crank and armature with the one-way clutch between them.
fn mechanics(plan: &Plan, state: &mut State, load: f64) {
    let (starter, crank) = (&plan.starter, &plan.crank);
    let motor = starter.constant * flux(starter.winding, state.current) * state.current
        - starter.friction * (state.armature / 0.3).tanh();
    if state.engaged {
        let slope = (motor - load) / (crank.inertia + starter.inertia);
        if motor - starter.inertia * slope < 0.0 {
            state.engaged = false;
        } else {
            state.speed += slope * STEP_S;
            state.armature = state.speed;
        }
    }
    if !state.engaged {
        state.speed -= load / crank.inertia * STEP_S;
        state.armature = (state.armature + motor / starter.inertia * STEP_S).max(0.0);
        if state.armature >= state.speed && motor > 0.0 {
            let momentum = crank.inertia * state.speed + starter.inertia * state.armature;
            state.speed = momentum / (crank.inertia + starter.inertia);
            state.armature = state.speed;
            state.engaged = true;
        }
    }
    state.speed = state.speed.max(0.0);
    state.angle += state.speed.to_degrees() * STEP_S;
}
