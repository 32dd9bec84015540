//! The sentences of an answer: why the verdict is what it is, what to do, and what else a person should
//! know. One decision is made elsewhere; here it is only said.

use super::answer::{Check, CylinderRow, Finding, Identified, SignalKind, VerdictKind};
use super::attempt::Attempt;

/// Swing from the mean to the top over the mean level that a sealing engine of few cylinders shows at
/// least; far below it all cylinders may be low. Common practice, no source.
const SEALING_SWING: [(usize, f64); 4] = [(2, 0.25), (4, 0.12), (6, 0.05), (8, 0.025)];

/// Cranking speeds that makers specify: 80 to 250 rpm (common practice; a marine training text gives 80
/// to 225).
const SLOW_RPM: f64 = 80.0;

/// The verdict's sentence.
#[must_use]
pub fn why(
    kind: VerdictKind,
    named: &[String],
    failed: Option<&Check>,
    source: Option<SignalKind>,
    undecided: usize,
) -> String {
    let channel = source.map_or("the capture", SignalKind::name);
    match (kind, failed) {
        (_, Some(check)) => format!(
            "No verdict from {channel}: the check \"{}\" failed. {}",
            label(check),
            check.advice
        ),
        (VerdictKind::Low, None) if named.len() == 1 => {
            format!("{} compresses less than the others.", named[0])
        }
        (VerdictKind::Low, None) => format!("{} compress less than the others.", listed(named)),
        (VerdictKind::Even, None) => {
            "All cylinders compress alike; a loss common to all cannot be seen this way.".to_owned()
        }
        (VerdictKind::Inconclusive, None) => format!(
            "{undecided} of the cylinders cannot be told from the limit: capture again with more cycles, \
             or from a stronger signal."
        ),
    }
}

fn label(check: &Check) -> String {
    serde_json::to_value(check.check)
        .ok()
        .and_then(|value| value.as_str().map(|text| text.replace('_', " ")))
        .unwrap_or_default()
}

fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {}", most.join(", "), last.to_lowercase()),
    }
}

/// What else a person should know.
#[must_use]
pub fn remarks(attempt: &Attempt, rows: &[CylinderRow], kind: VerdictKind) -> Vec<String> {
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
    let firings = rows.len();
    if let Some(level) = found.level {
        let share = std::f64::consts::SQRT_2 * found.cycle.swing() / level;
        let expected = SEALING_SWING
            .iter()
            .rev()
            .find(|(from, _)| firings >= *from)
            .map_or(0.0, |(_, share)| *share);
        if share < 0.5 * expected {
            remarks.push(format!(
                "The swing is {:.0} % of the mean, far less than sealing cylinders give: are the plugs out, \
                 or is compression low in all of them?",
                100.0 * share
            ));
        }
    } else if attempt.kind == SignalKind::BatteryVoltage {
        remarks.push(
            "The mean load is not known from this channel, so a loss common to all cylinders could not be \
             noticed even roughly."
                .to_owned(),
        );
    }
    let rpm = 120.0 * window.cycles / (window.end - window.start);
    if rpm < SLOW_RPM {
        remarks.push(format!(
            "The engine cranks at {rpm:.0} rpm; makers specify 80 to 250: check battery, cables and starter."
        ));
    }
    if rows.iter().any(|row| row.finding == Finding::Low) {
        remarks.push(
            "Leak and lost charge look much alike while cranking: leak-down tells them apart."
                .to_owned(),
        );
    }
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
