//! A vehicle that is described as having high voltage, and then a yes to having none: asked once more before it is
//! taken.

use crate::procedure::model::RecordLine;
use crate::run::value::Value;
use crate::run::walk::{Astray, Walk};

/// The condition that a step establishes which says that there is no high voltage.
const NO_HIGH_VOLTAGE: &str = "drive checked";

/// Words for a drive with high voltage, or with 48 V, by itself or beside an engine; as people write them, our own
/// list.
const WORDS: [&str; 12] = [
    "hybrid",
    "hybrids",
    "electric",
    "electrified",
    "plugin",
    "hv",
    "ev",
    "bev",
    "hev",
    "phev",
    "mhev",
    "48v",
];

/// Units after the number of a 48 V system, where a blank or hyphen parts the two.
const VOLTS: [&str; 4] = ["v", "volt", "volts", "vdc"];

/// The vehicle's description, where it speaks against a yes at that step.
///
/// # Errors
/// Where there is no such step.
pub(super) fn spoken_against(walk: &Walk<'_>, path: &str) -> Result<Option<String>, Astray> {
    let Some(Value::Text(vehicle)) = walk.lines().get(&RecordLine::Vehicle) else {
        return Ok(None);
    };
    let step = walk.step_at(path)?;
    let asks = step.establishes.iter().any(|c| c.0 == NO_HIGH_VOLTAGE);
    Ok((asks && is_named(vehicle)).then(|| vehicle.clone()))
}

/// Whether a description names high voltage, in whole words.
fn is_named(vehicle: &str) -> bool {
    let vehicle = vehicle.to_lowercase();
    let words = vehicle.split(|c: char| !c.is_alphanumeric());
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    let pair = |pair: &[&str]| match pair {
        ["48", unit] => VOLTS.contains(unit),
        ["plug", "in"] => true,
        _ => false,
    };
    words.iter().any(|word| WORDS.contains(word)) || words.windows(2).any(pair)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn high_voltage_is_named_in_whole_words() {
        for named in [
            "hybrid estate",
            "Estate HYBRID 2019",
            "mild-hybrid, 1.5",
            "Electric van",
            "city car EV",
            "1.5 (48V)",
            "1.5 48 V",
            "1.5 48-volt belt starter",
            "plug-in, 2020",
            "PHEV",
        ] {
            assert!(is_named(named), "{named}");
        }
        for other in [
            "estate 1.4, 2011, K9",
            "Evening 48, 12 V",
            "Hybridge, level 3",
            "148 V8",
            "electrical van conversion",
        ] {
            assert!(!is_named(other), "{other}");
        }
    }
}
