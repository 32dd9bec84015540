//! A column's heading: its words, and the unit that stands with them, in brackets, behind a slash, as an
//! ending after an underscore, or in a row of its own.

use crate::capture::unit;

/// A column's heading.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Heading {
    /// As it stands in the file.
    pub text: String,
    /// Without the unit's brackets.
    pub name: String,
    /// The unit, as written.
    pub unit: Option<String>,
    /// Whether the unit is stated beyond doubt; an ending may be part of a name.
    pub stated: bool,
}

/// What inputs are called, in several languages. From memory.
const INPUTS: [&str; 9] = [
    "ch", "chan", "channel", "kanal", "canal", "canale", "input", "in", "probe",
];

impl Heading {
    /// Read a heading.
    #[must_use]
    pub fn of(text: &str) -> Self {
        let text = text.trim();
        if let Some((name, unit)) = bracketed(text).or_else(|| slashed(text)) {
            return Self {
                text: text.to_owned(),
                name: name.to_owned(),
                unit: Some(unit.to_owned()),
                stated: true,
            };
        }
        // the ending of an input's own name tells inputs apart: `CH_A`
        let ending = text
            .rsplit_once('_')
            .filter(|(name, _)| !INPUTS.contains(&name.to_lowercase().as_str()))
            .map(|(_, ending)| ending);
        Self {
            text: text.to_owned(),
            name: text.to_owned(),
            unit: ending
                .filter(|ending| unit::parse(ending).is_some())
                .map(str::to_owned),
            stated: false,
        }
    }

    /// Take over what a unit row says.
    pub fn state(&mut self, unit: &str) {
        self.unit = Some(unit.to_owned());
        self.stated = true;
    }

    /// Whether a set-up means this one.
    #[must_use]
    pub fn is(&self, wanted: &str) -> bool {
        let wanted = wanted.trim();
        self.text == wanted || self.name == wanted
    }
}

/// A unit as a unit row writes it, brackets taken off.
#[must_use]
pub fn bare_unit(cell: &str) -> &str {
    let cell = cell.trim();
    match bracketed(cell) {
        Some(("", unit)) => unit,
        _ => cell,
    }
}

fn bracketed(text: &str) -> Option<(&str, &str)> {
    let (open, inside) = match text.strip_suffix(')') {
        Some(inside) => ('(', inside),
        None => ('[', text.strip_suffix(']')?),
    };
    let (name, unit) = inside.rsplit_once(open)?;
    let unit = unit.trim();
    // "battery (left)" says something else; units are short and without blanks
    let short = !unit.is_empty() && unit.chars().count() <= 8 && !unit.contains(' ');
    let known = unit::parse(unit).is_some();
    let like_a_unit = known || open == '[' || unit.chars().count() <= 3;
    (short && like_a_unit).then_some((name.trim_end(), unit))
}

/// "t / ms", as ISO 80000-1 writes quantity over unit.
fn slashed(text: &str) -> Option<(&str, &str)> {
    let (name, unit) = text.rsplit_once('/')?;
    unit::parse(unit)?;
    Some((name.trim_end(), unit.trim()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_found_where_people_write_them() {
        for (text, name, unit, stated) in [
            ("Battery (mV)", "Battery", Some("mV"), true),
            ("Time[s]", "Time", Some("s"), true),
            ("t / ms", "t", Some("ms"), true),
            ("rail [bar]", "rail", Some("bar"), true),
            ("battery_voltage_V", "battery_voltage_V", Some("V"), false),
            ("time_us", "time_us", Some("us"), false),
            ("battery (left)", "battery (left)", None, false),
            ("crank_sensor", "crank_sensor", None, false),
            ("CH_A", "CH_A", None, false),
            ("Kanal_V", "Kanal_V", None, false),
            ("A/B", "A/B", None, false),
            ("", "", None, false),
            (")", ")", None, false),
        ] {
            let heading = Heading::of(text);
            assert_eq!(
                (
                    heading.name.as_str(),
                    heading.unit.as_deref(),
                    heading.stated
                ),
                (name, unit, stated),
                "{text}"
            );
            assert!(heading.is(text) && heading.is(name));
        }
        assert_eq!(bare_unit(" (ms)"), "ms");
        assert_eq!(bare_unit("ms"), "ms");
    }
}
