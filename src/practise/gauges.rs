//! Gauge readings of the hidden engine beside those of the leak-down tester, so that no step of a shipped
//! procedure is left without something to look up. The levels are usual ones (common practice, no source);
//! what differs between cylinders comes from the exercise's truth.

use std::collections::BTreeMap;

use super::exercise::Escape;
use crate::cranking::answer::SignalKind;
use crate::engine::{Engine, Fuel};
use crate::followup::orifices::{FlowRatio, flow_ratio};
use crate::simulate::practice::Practice;

/// What a sound cylinder shows on a gauge while cranking, psi: common practice, no source.
const SOUND_PETROL_PSI: f64 = 175.0;
const SOUND_DIESEL_PSI: f64 = 420.0;
/// What oil adds to any cylinder, by taking up room, and the share of a loss at the rings that it closes: our own
/// choice.
const OIL_ADDS: f64 = 0.03;
const OIL_CLOSES: f64 = 0.7;
/// Shares of the cranking pressure at idle and at a snap of the throttle: common practice, no source.
const IDLE: f64 = 0.5;
const SNAP: f64 = 0.8;
/// Steps in which gauges are read, psi: those of the shipped procedures, which take nothing finer.
const READ_PSI: f64 = 0.5;

/// What the clamp of the exercise shows at most where the capture is of another signal, ampere.
const CLAMP_A: f64 = 1000.0;

/// The tester of the exercise: supply and atmosphere in psi, bore of the restrictor in mm (0.040 in, a
/// common one).
const SUPPLY_PSI: f64 = 80.0;
const ATMOSPHERE_PSI: f64 = 14.7;
const BORE_MM: f64 = 1.016;

/// What the gaps of the soundest rings let pass at top dead centre, mm²: with the exercise's tester a loss of 3 %, as
/// of any running engine. Our own choice.
const RINGS_MM2: f64 = 0.25;

/// What tells the vehicle from others, invented, and a complaint that fits any of the faults and none.
const NAMED: &str = "\
Invented car, engine code PRA-0, registration PRA 0 CT. The customer says: it shakes at idle and pulls badly, for about two weeks.
";

/// Battery and cranking circuit are sound in every exercise: what is hidden is in a cylinder.
const CIRCUIT: &str = "\
Battery at the posts, rested: 12.60 V; while cranking: 10.60 V. Current while cranking: 180 A. Temperature: 20 °C.
Drop while cranking, positive side: 0.20 V; ground side: 0.12 V; each joint: 0.02 V; each cable: 0.05 V.
Each cable: 50 mm², 1.00 m long.
Manifold vacuum at idle: 19.0 inHg.
A test of the valve timing, by crank and cam sensor at once, cannot be recorded in an exercise: answer that it is for later.
";

/// How the invented maker has the fuel cut.
const CUT_PETROL: &str = "How its maker has the fuel cut: petrol alone, by the fuel pump relay. Its ignition serves as no reference.\n";
const CUT_DIESEL: &str = "How its maker has the fuel cut: the fuel shut-off valve is unplugged, and the glow plugs after it.\n";

/// What the first questions ask of the engine, and which event tells the scope where its cycle begins.
pub(super) fn engine(made: &Practice) -> String {
    let engine = made.engine();
    let joined = |numbers: Vec<String>, by: &str| numbers.join(by);
    let order = engine.firing_order().iter().map(usize::to_string).collect();
    let intervals = engine.firing_intervals_deg();
    let degrees = joined(intervals.iter().map(f64::to_string).collect(), " ");
    let intervals = if fires_evenly(engine) {
        format!("even, {degrees}")
    } else {
        degrees
    };
    let fuel = match engine.fuel() {
        Some(Fuel::Diesel) => "Diesel",
        _ => "Petrol",
    };
    let reference = match &made.plan.recording.reference {
        Some(reference) if reference.every_deg > 360.0 => format!(
            "the cam sensor; its event belongs to cylinder {} and comes once a cycle",
            reference.cylinder
        ),
        Some(reference) => format!(
            "a trigger signal; its event belongs to cylinder {} and comes every {}°",
            reference.cylinder, reference.every_deg
        ),
        None => "nothing".to_owned(),
    };
    format!(
        "Number of cylinders: {}. Firing order: {}. Degrees from each firing to the next: {intervals}. {fuel}.\n\
         What tells the scope where cylinder 1 is: {reference}.\n\
         Where these data stand: exercise sheet. Serial numbers of scope, clamp and gauges: PRA-1, PRA-2, PRA-3,\n\
         each calibrated on 2026-01-12. The vehicle has no hybrid drive, no electric drive and no 48 V starter.\n",
        engine.cylinders(),
        joined(order, "-"),
    )
}

/// Whether an engine fires at even distances.
pub(super) fn fires_evenly(engine: &Engine) -> bool {
    let intervals = engine.firing_intervals_deg();
    intervals.windows(2).all(|pair| pair[0] == pair[1])
}

/// The one signal that the captures of an exercise hold, and how it is recorded.
pub(super) fn signal(made: &Practice) -> String {
    let recording = &made.plan.recording;
    let place = match (recording.source, &recording.feed) {
        (SignalKind::StarterCurrent, _) => ", by a clamp around the starter's cable",
        (SignalKind::CrankSpeed, _) => ", by the crank sensor",
        (SignalKind::BatteryVoltage, Some(_)) => " at the diagnostic connector",
        (SignalKind::BatteryVoltage, None) => " at the posts",
    };
    let coupling = match recording.coupling_hz {
        Some(_) => "AC",
        None => "DC",
    };
    format!(
        "{}{place}, recorded {coupling}-coupled",
        recording.source.name()
    )
}

/// The range of the captures, which were recorded before anybody planned; a clamp's stands on its plate.
fn range(made: &Practice) -> String {
    let recording = &made.plan.recording;
    match recording.source {
        SignalKind::BatteryVoltage => format!(
            " Its captures are there already, in a range of ±{} V; your plan may advise another.",
            recording.full_scale
        ),
        SignalKind::StarterCurrent | SignalKind::CrankSpeed => String::new(),
    }
}

/// What else a shipped procedure asks for: of vehicle, scope and workshop.
pub(super) fn surroundings(made: &Practice) -> String {
    let recording = &made.plan.recording;
    let clamp = match recording.source {
        SignalKind::StarterCurrent => recording.full_scale,
        _ => CLAMP_A,
    };
    let (ratio, cut) = match made.engine().fuel() {
        Some(Fuel::Diesel) => (17.5, CUT_DIESEL),
        _ => (10.5, CUT_PETROL),
    };
    format!(
        "{NAMED}{CIRCUIT}{cut}Signal to take: {}.{}\nVehicle: 84000 km; 12 V; flooded battery; cranks at {:.0} rpm; compression ratio {ratio}. Its maker \
         gives no figures for compression: 0.\n\
         Scope: {} bits. Clamp: up to {clamp:.0} A, 1.00 mV for one ampere. Workshop: 120 m above the sea.\n",
        signal(made),
        range(made),
        made.truth.mean_rpm,
        recording.bits
    )
}

/// The tester with which cylinders are filled with air.
pub(super) fn tester() -> String {
    format!("Leak-down tester: restrictor {BORE_MM} mm, first gauge, supply {SUPPLY_PSI:.1} psi.\n")
}

/// What its second gauge reads with a leak of that area, mm², beside that of the rings.
pub(super) fn leaking(leak_mm2: f64) -> f64 {
    read(reading_psi(leak_mm2.max(RINGS_MM2)))
}

/// Whether air is heard with such a reading.
pub(super) fn is_heard(reading: f64) -> bool {
    reading < 0.9 * SUPPLY_PSI
}

/// The tester's second gauge with a leak of that area: where the flows through restrictor and leak agree.
fn reading_psi(leak_mm2: f64) -> f64 {
    let restrictor = std::f64::consts::PI * BORE_MM * BORE_MM / 4.0;
    let wanted = leak_mm2 / restrictor;
    let (mut low, mut high) = (0.0, SUPPLY_PSI);
    for _ in 0..50 {
        let middle = f64::midpoint(low, high);
        // the higher the reading, the smaller the leak
        match flow_ratio(SUPPLY_PSI, middle, ATMOSPHERE_PSI) {
            Ok(FlowRatio::Times(ratio)) if ratio < wanted => high = middle,
            _ => low = middle,
        }
    }
    f64::midpoint(low, high)
}

/// A pressure as somebody reads it off a gauge, psi.
fn read(psi: f64) -> f64 {
    (psi / READ_PSI).round() * READ_PSI
}

/// Static and running compression of each cylinder.
pub(super) fn pressures(made: &Practice, escape: Escape) -> BTreeMap<usize, String> {
    let diesel = made.engine().fuel() == Some(Fuel::Diesel);
    let sound = if diesel {
        SOUND_DIESEL_PSI
    } else {
        SOUND_PETROL_PSI
    };
    let percents = made.truth.relative_compression_percent.iter();
    percents
        .map(|(cylinder, percent)| {
            let dry = sound * percent / 100.0;
            let mut text = format!("cranking {:.1}", read(dry));
            if !diesel {
                let closed = if escape == Escape::Crankcase {
                    OIL_CLOSES * (sound - dry).max(0.0)
                } else {
                    0.0
                };
                text += &format!(
                    "; with oil {:.1}; at idle {:.1}; at a snap {:.1}",
                    read(dry * (1.0 + OIL_ADDS) + closed),
                    read(dry * IDLE),
                    read(dry * SNAP)
                );
            }
            (*cylinder, text)
        })
        .collect()
}
