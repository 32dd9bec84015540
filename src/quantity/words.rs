//! Units as people write them, and lists of them.

use super::Unit;
use crate::text::one_of;

/// Words for units, beside their symbols. "mV/A" and "V/A" are no units of their own: see [`super::Measured::parse`].
pub(super) const WORDS: [(&str, &str); 29] = [
    ("c", "°C"),
    ("f", "°F"),
    ("°", "deg"),
    ("degrees", "deg"),
    ("volt", "V"),
    ("volts", "V"),
    ("millivolt", "mV"),
    ("millivolts", "mV"),
    ("amp", "A"),
    ("amps", "A"),
    ("ampere", "A"),
    ("amperes", "A"),
    ("milliamp", "mA"),
    ("milliamps", "mA"),
    ("percent", "%"),
    ("mile", "mi"),
    ("miles", "mi"),
    ("kilometre", "km"),
    ("kilometres", "km"),
    ("kilometer", "km"),
    ("kilometers", "km"),
    ("inch", "in"),
    ("inches", "in"),
    ("feet", "ft"),
    ("ohms", "ohm"),
    ("sec", "s"),
    ("cyl", "count"),
    ("cylinder", "count"),
    ("cylinders", "count"),
];

/// The symbol without "/A" after it.
pub(super) fn of_one_ampere(symbol: &str) -> &str {
    let per = symbol.strip_suffix(['A', 'a']).map(str::trim_end);
    let per = per.and_then(|rest| rest.strip_suffix('/'));
    per.map_or(symbol, str::trim_end)
}

/// Symbols for a sentence: "km or mi".
pub(super) fn listed(units: impl Iterator<Item = Unit>) -> String {
    let symbols: Vec<&str> = units.map(Unit::symbol).collect();
    one_of(&symbols)
}
