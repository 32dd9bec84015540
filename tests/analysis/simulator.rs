//! Parts of the simulator against values from outside it: torque of a sealed charge, a vessel emptying through
//! a hole, a direct-current motor running up, and conservation of energy over cranking.

use evenfire::engine::slider_crank::SliderCrank;
use evenfire::simulate::drive::{Motion, STEP_S, drive};
use evenfire::simulate::gas::Gas;
use evenfire::simulate::plan::{Condition, CylinderPlan, Plan, Winding};
use evenfire::simulate::practice::practice;

use super::fixture::wish;

const ATMOSPHERE_PA: f64 = 101_325.0;
const DISPLACED_M3: f64 = 5e-4;

const SOUND: Condition = Condition {
    leak_m2: 0.0,
    charge: 1.0,
    ratio: 1.0,
};

/// A cylinder that is closed from bottom dead centre to bottom dead centre and loses no heat.
fn cylinder(ratio: f64, exponent: f64) -> CylinderPlan {
    CylinderPlan {
        compression_ratio: ratio,
        rod_ratio: 3.5,
        displaced_m3: DISPLACED_M3,
        exponent,
        heat_s: f64::INFINITY,
        inlet_closing_deg: 0.01,
        exhaust_opening_deg: 0.01,
        manifold: 1.0,
        atmosphere_pa: ATMOSPHERE_PA,
        cycle_scatter: 0.0,
    }
}

/// Slider-crank torque (p − p1)·dV/dθ of a sealed charge from bottom dead centre, computed from Heywood's
/// equations 2.4 to 2.6: r_c 10, n 1.3, R 3.5: 2.77935·p1·V_d, 23.8° before top dead centre; r_c 18, n 1.35: 5.27577,
/// 17.8° before.
#[test]
fn a_sealed_charge_brakes_most_where_the_equation_says() {
    for (ratio, exponent, peak, before) in [(10.0, 1.3, 2.77935, 23.8), (18.0, 1.35, 5.27577, 17.8)]
    {
        let mut gas = Gas::new(&cylinder(ratio, exponent), SOUND);
        let step = 0.02;
        let (mut most, mut place) = (0.0, 0.0);
        for index in 0..9000 {
            let angle = -179.98 + step * f64::from(index);
            gas.advance(angle, step, 1e-6, 0.0, 1.0, false);
            let torque = gas.torque(angle) / (ATMOSPHERE_PA * DISPLACED_M3);
            if torque > most {
                (most, place) = (torque, -angle);
            }
        }
        assert!((most / peak - 1.0).abs() < 5e-4, "{most}, not {peak}");
        assert!((place - before).abs() < 0.1, "{place}, not {before}");
    }
}

/// A vessel empties through a choked hole: p/p0 = [1 + (γ−1)/2·K·t]^(−2γ/(γ−1)), K = A·ψ*·√(R·T0)/V, ψ* = 0.684731 for
/// γ = 1.4 (a textbook result, from memory; it follows from conservation of mass and energy).
#[test]
fn a_vessel_empties_as_gas_dynamics_has_it() {
    let plan = cylinder(10.0, 1.4);
    let hole = 2e-6;
    let condition = Condition {
        leak_m2: hole,
        ..SOUND
    };
    let mut gas = Gas::new(&plan, condition);
    let (held, step) = (-20.0f64, 0.02);
    // so quickly that nothing leaks on the way
    let mut angle = -179.98;
    while angle < held {
        gas.advance(angle, step, 1e-12, 0.0, 1.0, false);
        angle += step;
    }
    let crank = SliderCrank {
        compression_ratio: 10.0,
        rod_ratio: 3.5,
    };
    let clearance = DISPLACED_M3 / 9.0;
    let slope = crank.volume_slope(held.to_radians()) * clearance;
    let seen = |gas: &Gas| ATMOSPHERE_PA - gas.torque(held) / slope;
    gas.advance(held, 0.0, 1e-12, 0.0, 1.0, false);
    let start = seen(&gas);
    let volume = crank.volume(held.to_radians());
    assert!((start / ATMOSPHERE_PA - (10.0 / volume).powf(1.4)).abs() < 0.01);
    // air of 287 J/kg/K at 300 K when it was trapped, warmed by the compression
    let root = (287.0 * 300.0 * (10.0 / volume).powf(0.4)).sqrt();
    let rate = hole * 0.684_731 * root / (volume * clearance);
    let dt = 1e-5;
    for index in 1..40_000 {
        gas.advance(held, 0.0, dt, 0.0, 1.0, false);
        let expected = start * (1.0 + 0.2 * rate * dt * f64::from(index)).powf(-7.0);
        if expected < 2.0 * ATMOSPHERE_PA {
            assert!(index > 1000, "emptied at once");
            return;
        }
        let found = seen(&gas);
        assert!(
            (found / expected - 1.0).abs() < 2e-3,
            "{index}: {found}, not {expected}"
        );
    }
    panic!("it never emptied");
}

/// A plan whose starter is an ideal direct-current motor with magnets, on an ideal battery.
fn ideal(change: impl FnOnce(&mut Plan)) -> Plan {
    let mut plan = practice(44, &wish(&[])).unwrap().plan;
    plan.starter.winding = Winding::PermanentMagnet;
    plan.starter.brush_v = 0.0;
    plan.starter.friction = 0.0;
    plan.battery.plates_v = 0.0;
    plan.battery.slow_resistance = 0.0;
    plan.battery.other_a = 0.0;
    plan.crank.piston_share = 0.0;
    plan.crank.reciprocating = 0.0;
    plan.cylinder.cycle_scatter = 0.0;
    plan.timing.key_on_s = 0.0;
    plan.timing.key_off_s = 4.0;
    plan.timing.end_s = 4.0;
    plan.timing.catches_s = None;
    change(&mut plan);
    plan
}

/// Without gas the starter runs up as any direct-current motor does: ω = ω∞·(1 − e^(−t/τ)), ω∞ = (k·V/R − T)/(B + k²/R),
/// τ = J/(B + k²/R) (textbook, from memory).
#[test]
fn without_gas_the_starter_runs_up_as_a_motor_does() {
    let plan = ideal(|plan| {
        plan.cylinder.displaced_m3 = 1e-10;
        for condition in &mut plan.conditions {
            condition.leak_m2 = 0.0;
        }
        // a short electrical lag, which the formula leaves out
        plan.starter.inductance = plan.starter.resistance * 4e-4;
    });
    let motion = drive(&plan);
    let (k, friction) = (plan.starter.constant, plan.crank.viscous_friction);
    let ohms = plan.starter.resistance + plan.battery.cable + plan.battery.resistance;
    let stiff = friction + k * k / ohms;
    let steady = (k * plan.battery.rest_v / ohms - plan.crank.dry_friction) / stiff;
    let lag = (plan.crank.inertia + plan.starter.inertia) / stiff;
    assert!(
        steady > 10.0 && lag > 20.0 * STEP_S,
        "{steady} rad/s, {lag} s"
    );
    for times in [1.0, 2.0, 4.0, 8.0] {
        // the first row stands at the end of the first step
        let row = (times * lag / STEP_S) as usize - 1;
        let expected = steady * (1.0 - (-times).exp());
        let found = motion.speed[row];
        assert!(
            (found / expected - 1.0).abs() < 0.02,
            "at {times} τ: {found}, not {expected}"
        );
    }
    let current = (plan.crank.dry_friction + friction * steady) / k;
    let last = motion.current.len() - 50;
    assert!(
        (motion.current[last] / current - 1.0).abs() < 1e-3,
        "{}",
        motion.current[last]
    );
    let posts = plan.battery.rest_v - plan.battery.resistance * current;
    assert!(
        (motion.posts[last] - posts).abs() < 1e-3,
        "{}",
        motion.posts[last]
    );
}

/// Work on the gas of all cylinders, taken up by gases that follow the same crank.
fn gas_work(plan: &Plan, motion: &Motion) -> Vec<f64> {
    let places = plan.engine.firing_angles_deg();
    let mut gases: Vec<Gas> = plan
        .conditions
        .iter()
        .map(|condition| Gas::new(&plan.cylinder, *condition))
        .collect();
    let local = |angle: f64| (angle + 360.0).rem_euclid(720.0) - 360.0;
    let (mut before, mut work) = (plan.timing.start_deg, 0.0);
    motion
        .angle
        .iter()
        .map(|angle| {
            let step = angle - before;
            for (gas, place) in gases.iter_mut().zip(&places) {
                work += gas.torque(local(before - place)) * step.to_radians();
                gas.advance(local(angle - place), step, STEP_S, 0.0, 1.0, false);
            }
            before = *angle;
            work
        })
        .collect()
}

/// Conservation of energy over cranking, cylinders leaking and cooling: what the battery gives goes into resistance,
/// coil and motor; what the motor gives into friction, the crank's speed and the gas.
#[test]
fn energy_is_conserved_over_cranking() {
    let plan = ideal(|plan| {
        // a heavy crank and a light armature, so that the crank never overruns the starter
        plan.crank.inertia *= 3.0;
        plan.starter.inertia *= 0.1;
    });
    let motion = drive(&plan);
    assert_eq!(motion.overrun, 0.0, "the crank overran the starter");
    let gas = gas_work(&plan, &motion);
    let (from, to) = (5_000, motion.speed.len() - 2);
    let (mut supplied, mut lost, mut motor, mut friction) = (0.0, 0.0, 0.0, 0.0);
    for row in from..to {
        let (amps, speed) = (motion.current[row], motion.speed[row]);
        supplied += motion.posts[row] * amps * STEP_S;
        lost += (plan.starter.resistance + plan.battery.cable) * amps * amps * STEP_S;
        motor += plan.starter.constant * amps * speed * STEP_S;
        friction +=
            (plan.crank.dry_friction + plan.crank.viscous_friction * speed) * speed * STEP_S;
    }
    let inertia = plan.crank.inertia + plan.starter.inertia;
    let moving = |row: usize| 0.5 * inertia * motion.speed[row].powi(2);
    let coil = |row: usize| 0.5 * plan.starter.inductance * motion.current[row].powi(2);
    let stored = moving(to) - moving(from);
    let compressed = gas[to - 1] - gas[from - 1];
    let electrical = lost + motor + coil(to) - coil(from);
    let mechanical = friction + stored + compressed;
    println!(
        "{supplied} J supplied, {motor} J by the motor: {friction} friction, {stored} speed, {compressed} gas"
    );
    assert!(supplied > 500.0 && compressed > 0.02 * motor);
    assert!(
        (electrical / supplied - 1.0).abs() < 0.005,
        "{electrical} of {supplied}"
    );
    assert!(
        (mechanical / motor - 1.0).abs() < 0.01,
        "{mechanical} of {motor}"
    );
}
