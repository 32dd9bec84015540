//! The sentences of an answer: why the verdict is what it is, what to do, and what else a person should
//! know. One decision is made elsewhere; here it is only said.

use super::uncertainty::kind_of_loss;
use crate::capture::setup::{Coupling, Setup};
use crate::cranking::answer::{Check, CylinderRow, Finding, Identified, SignalKind, VerdictKind};
use crate::cranking::attempt::{Attempt, Found};
use crate::cranking::fitting::polarity::HEAVY_V;
use crate::engine::Engine;
use crate::engine::Loss;
use crate::text::list;

/// Swing over the mean below which all cylinders may be low, by number of cylinders: of current or of the drop
/// of voltage, and of speed. Under what nearly all sound simulated engines show; no published figure is known.
const LEAST_SWING: [(usize, f64, f64); 5] = [
    (2, 0.20, 0.06),
    (4, 0.08, 0.02),
    (5, 0.05, 0.012),
    (6, 0.03, 0.008),
    (8, 0.012, 0.003),
];

/// Cranking speeds that makers specify: 80 to 250 rpm (a marine training text gives 80 to 225).
const SLOW_RPM: f64 = 80.0;
const FAST_RPM: f64 = 250.0;

/// Least voltage while cranking at 20 °C; 9.1 V at -1 and 8.5 V at -18 (a workshop manual's table).
const LEAST_V: f64 = 9.6;

/// What remarks are known by; the accuracy report counts how often each is right.
pub const SMALL_SWING: &str = "far less than sealing cylinders give";
/// Of a channel that does not tell the mean load.
pub const MEAN_UNKNOWN: &str = "The mean load is not known from this channel";
/// Of a cranking speed outside what makers specify.
pub const SPEED_OUT: &str = "makers specify 80 to 250";
/// Of a voltage below what a battery must keep.
pub const LOW_VOLTAGE: &str = "The voltage while cranking is";
/// Of a loss that is more leak than poor filling.
pub const LEAKS: &str = "rather leaks than traps too little air";
/// Of a loss that is more poor filling than leak.
pub const LACKS: &str = "rather traps too little air than leaks";

/// The verdict's sentence.
#[must_use]
pub fn why(
    kind: VerdictKind,
    named: &[String],
    failed: Option<&Check>,
    source: Option<SignalKind>,
    (undecided, limit): (usize, f64),
) -> String {
    let channel = source.map_or("the capture", SignalKind::name);
    match (kind, failed) {
        (_, Some(check)) => format!(
            "No verdict from {channel}: the check \"{}\" failed. {}",
            check.check.words(),
            check.advice
        ),
        (VerdictKind::Low, None) if named.len() == 1 => {
            format!("{} compresses less than the others.", named[0])
        }
        (VerdictKind::Low, None) => format!("{} compress less than the others.", listed(named)),
        (VerdictKind::Even, None) => format!(
            "No cylinder is under the limit of {limit} %; a loss common to all cannot be seen this way."
        ),
        (VerdictKind::Inconclusive, None) => format!(
            "{undecided} of the cylinders cannot be told from the limit: capture again with more cycles, \
             or from a stronger signal."
        ),
    }
}

/// Names at the beginning of a sentence: "Cylinder 1, cylinder 3 and cylinder 5".
fn listed(names: &[String]) -> String {
    let mut names = names.to_vec();
    for name in names.iter_mut().skip(1) {
        *name = name.to_lowercase();
    }
    list(&names)
}

/// What else a person should know.
#[must_use]
pub fn remarks(
    attempt: &Attempt,
    setup: &Setup,
    rows: &[CylinderRow],
    kind: VerdictKind,
) -> Vec<String> {
    let mut remarks = Vec::new();
    if kind == VerdictKind::Even {
        remarks.push(
            "Even does not mean good: worn rings or wrong cam timing in all cylinders alike leave them even."
                .to_owned(),
        );
    }
    let (Some(found), Some(window)) = (&attempt.found, &attempt.window) else {
        return remarks;
    };
    let rpm = 120.0 * window.cycles / (window.end - window.start);
    remarks.extend(swing(attempt, found, rows.len()));
    remarks.extend(speed(rpm));
    remarks.extend(voltage(attempt, setup, found));
    if kind == VerdictKind::Low {
        remarks.extend(kinds_of_loss(found, &setup.engine, rows));
    }
    let reference = setup.channels.reference.as_ref();
    let by_reference = reference.filter(|_| found.identified != Identified::PositionOnly);
    remarks.extend(by_reference.map(|reference| {
        format!(
            "Cylinders are named by the reference as it was told: {}. If that is not true of this engine, the wrong cylinder is named.",
            reference.line()
        )
    }));
    match found.identified {
        Identified::Cylinder => {}
        Identified::OneOfPair => remarks.push(
            "The reference comes once per turn: each low cylinder may be its companion instead.".to_owned(),
        ),
        Identified::PositionOnly => remarks.push(
            "Without a reference event only positions in the firing sequence are known, not cylinders."
                .to_owned(),
        ),
    }
    remarks
}

/// The swing as a share of the mean, where it is far less than sealing gives.
fn swing(attempt: &Attempt, found: &Found, firings: usize) -> Option<String> {
    let Some(level) = found.level else {
        return (attempt.kind == SignalKind::BatteryVoltage).then(|| {
            format!(
                "{MEAN_UNKNOWN}, so a loss common to all cylinders could not be noticed even roughly."
            )
        });
    };
    let share = std::f64::consts::SQRT_2 * found.cycle.swing() / level;
    let least = LEAST_SWING
        .iter()
        .rev()
        .find(|(from, _, _)| firings >= *from)
        .map_or(0.0, |(_, of_load, of_speed)| {
            if attempt.kind == SignalKind::CrankSpeed {
                *of_speed
            } else {
                *of_load
            }
        });
    (share < least).then(|| {
        format!(
            "The swing is {:.1} % of the mean, {SMALL_SWING}: are the plugs out, or is \
             compression low in all of them?",
            100.0 * share
        )
    })
}

fn speed(rpm: f64) -> Option<String> {
    if rpm < SLOW_RPM {
        Some(format!(
            "The engine cranks at {rpm:.0} rpm; {SPEED_OUT}: check battery, cables and starter."
        ))
    } else if rpm > FAST_RPM {
        Some(format!(
            "The engine cranks at {rpm:.0} rpm; {SPEED_OUT}: it turns easily, as with plugs out or \
             compression low in all cylinders."
        ))
    } else {
        None
    }
}

/// The voltage while cranking, where a direct channel shows it too low.
fn voltage(attempt: &Attempt, setup: &Setup, found: &Found) -> Option<String> {
    let channel = setup.channels.battery_voltage.as_ref()?;
    if attempt.kind != SignalKind::BatteryVoltage || channel.coupling == Coupling::Ac {
        return None;
    }
    let volts = found.cycle.mean.abs();
    let systems = if volts > HEAVY_V { 2.0 } else { 1.0 };
    (volts < systems * LEAST_V).then(|| {
        format!(
            "{LOW_VOLTAGE} {volts:.1} V on the average; the trade allows no less than \
             {:.1} V at 20 °C, {:.1} at -1, {:.1} at -18: check battery and cables before the engine.",
            systems * LEAST_V,
            systems * 9.1,
            systems * 8.5
        )
    })
}

/// Of each low cylinder: leak or poor filling, where the data tell.
fn kinds_of_loss(found: &Found, engine: &Engine, rows: &[CylinderRow]) -> Vec<String> {
    let by_position = found.identified == Identified::PositionOnly;
    let mut said = Vec::new();
    let mut untold = false;
    for row in rows.iter().filter(|row| row.finding == Finding::Low) {
        let (name, place) = if by_position {
            ("Position", row.cylinder - 1)
        } else {
            ("Cylinder", engine.place_of(row.cylinder).unwrap_or(0))
        };
        let number = row.cylinder;
        match kind_of_loss(&found.explained, place) {
            Some(Loss::Leak) => said.push(format!(
                "{name} {number} {LEAKS}: it gives back less after top dead \
                 centre than it takes before. Leak-down shows where."
            )),
            Some(Loss::Filling) => said.push(format!(
                "{name} {number} {LACKS}: look at valve lift and timing if \
                 leak-down finds nothing."
            )),
            None => untold = true,
        }
    }
    if untold {
        said.push(
            "A leak and poor filling look much alike while cranking: leak-down tells them apart."
                .to_owned(),
        );
    }
    said
}
