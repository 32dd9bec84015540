//! The wet test: a spoon of oil seals the rings for some strokes. What rises was lost past the piston; what
//! stays was lost elsewhere. Petrol engines only: oil in a diesel's small chamber locks or bends what moves.
//! 15 ml as in US Army TM 5-4210-230-14&P-1. What it means is common practice of the trade.

use std::collections::BTreeMap;

/// Rise from which the rings are suspected, percent of the dry reading. Common practice, no source: even a
/// sound cylinder rises by a few percent.
pub const RISEN_PERCENT: f64 = 10.0;

/// By how much a wet reading stands over the dry one, percent of it.
#[must_use]
pub fn gain_percent(dry: f64, wet: f64) -> f64 {
    (wet - dry) / dry * 100.0
}

/// The facts of computation "wet gain".
///
/// # Errors
/// Where the dry reading is not above zero.
pub fn facts(dry: f64, wet: f64) -> Result<BTreeMap<String, String>, String> {
    if dry <= 0.0 || dry.is_nan() {
        return Err(
            "the dry reading is zero: a gain cannot be reckoned from nothing; leak-down shows where the air goes"
                .to_owned(),
        );
    }
    let gain = gain_percent(dry, wet);
    let (change, meaning) = if gain >= RISEN_PERCENT {
        (
            "risen",
            "The oil sealed what leaks, so rings, piston or bore are suspected. It says little on an engine whose cylinders lie flat.",
        )
    } else {
        (
            "same",
            "The oil changed nothing worth speaking of, so valves, seats or gasket are suspected rather than rings.",
        )
    };
    Ok([
        ("change", change.to_owned()),
        ("gain", format!("{gain:.1} %")),
        (
            "meaning",
            format!("{meaning} Common practice of the trade."),
        ),
    ]
    .map(|(name, value)| (name.to_owned(), value))
    .into())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Common practice, no source: a marked rise with oil points at the rings.
    #[test]
    fn a_marked_rise_points_at_the_rings() {
        let change = |dry, wet| facts(dry, wet).unwrap()["change"].clone();
        assert_eq!(change(90.0, 130.0), "risen");
        assert_eq!(change(90.0, 99.0), "risen");
        assert_eq!(change(90.0, 98.0), "same");
        assert_eq!(change(90.0, 85.0), "same");
        assert_eq!(facts(90.0, 130.0).unwrap()["gain"], "44.4 %");
        assert!(facts(0.0, 20.0).unwrap_err().contains("leak-down"));
    }
}
