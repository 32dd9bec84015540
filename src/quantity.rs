//! Numbers with units. Exact decimals, because limits and resolutions are decided exactly; gauge and
//! absolute pressures are different quantities and never convert into each other.

pub mod choice;
mod words;

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use self::words::{WORDS, listed, of_one_ampere};

/// What is measured. Two units convert into each other only within one quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Quantity {
    /// Electric potential difference.
    Voltage,
    /// Electric current.
    Current,
    /// Pressure above the surrounding atmosphere.
    GaugePressure,
    /// Pressure above vacuum.
    AbsolutePressure,
    /// Rotational speed.
    Speed,
    /// Temperature.
    Temperature,
    /// A share of a hundred.
    Percent,
    /// A length in the workshop's range.
    Length,
    /// A distance driven.
    Distance,
    /// A time span.
    Duration,
    /// A plain number of things.
    Count,
    /// An angle.
    Angle,
    /// How far below the surrounding atmosphere a pressure lies; a quantity of its own, so that its
    /// sign is never guessed.
    Vacuum,
    /// Electric resistance.
    Resistance,
}

/// A unit as a technician writes it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Unit {
    /// Volt.
    #[serde(rename = "V")]
    Volt,
    /// Millivolt.
    #[serde(rename = "mV")]
    Millivolt,
    /// Ampere.
    #[serde(rename = "A")]
    Ampere,
    /// Milliampere.
    #[serde(rename = "mA")]
    Milliampere,
    /// Pounds per square inch, gauge.
    #[serde(rename = "psi")]
    Psi,
    /// Kilopascal, gauge.
    #[serde(rename = "kPa")]
    Kilopascal,
    /// Bar, gauge.
    #[serde(rename = "bar")]
    Bar,
    /// Pounds per square inch, absolute.
    #[serde(rename = "psi abs")]
    PsiAbsolute,
    /// Kilopascal, absolute.
    #[serde(rename = "kPa abs")]
    KilopascalAbsolute,
    /// Bar, absolute.
    #[serde(rename = "bar abs")]
    BarAbsolute,
    /// Revolutions per minute.
    #[serde(rename = "rpm")]
    Rpm,
    /// Degree Celsius.
    #[serde(rename = "°C")]
    Celsius,
    /// Degree Fahrenheit.
    #[serde(rename = "°F")]
    Fahrenheit,
    /// Percent.
    #[serde(rename = "%")]
    Percent,
    /// Inch.
    #[serde(rename = "in")]
    Inch,
    /// Millimetre.
    #[serde(rename = "mm")]
    Millimetre,
    /// Kilometre.
    #[serde(rename = "km")]
    Kilometre,
    /// Mile.
    #[serde(rename = "mi")]
    Mile,
    /// Second.
    #[serde(rename = "s")]
    Second,
    /// Minute.
    #[serde(rename = "min")]
    Minute,
    /// No unit: a number of things.
    #[serde(rename = "count")]
    Count,
    /// Metre.
    #[serde(rename = "m")]
    Metre,
    /// Foot.
    #[serde(rename = "ft")]
    Foot,
    /// Degree of an angle.
    #[serde(rename = "deg")]
    Degree,
    /// Inches of mercury below the atmosphere.
    #[serde(rename = "inHg")]
    InchMercury,
    /// Kilopascal below the atmosphere.
    #[serde(rename = "kPa vac")]
    KilopascalVacuum,
    /// Ohm.
    #[serde(rename = "ohm")]
    Ohm,
    /// Milliohm.
    #[serde(rename = "mohm")]
    Milliohm,
    /// Kilohm.
    #[serde(rename = "kohm")]
    Kilohm,
}

/// Why a text is no number with a unit.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum QuantityError {
    /// The unit is not one of ours.
    #[error("{found:?} is no unit that is known here; write {known}")]
    UnknownUnit {
        /// What was typed.
        found: String,
        /// The units that can stand there.
        known: String,
    },
    /// The number cannot be read.
    #[error("{0:?} is no number; write digits with a point, for example 12.4")]
    NotANumber(String),
    /// A unit of another quantity.
    #[error("{found} cannot stand where {wanted} is asked for; write {known}")]
    OtherQuantity {
        /// The unit that was typed.
        found: &'static str,
        /// The unit that was asked for.
        wanted: &'static str,
        /// The units that can stand there.
        known: String,
    },
}

const SYMBOLS: [(Unit, &str, Quantity); 29] = [
    (Unit::Volt, "V", Quantity::Voltage),
    (Unit::Millivolt, "mV", Quantity::Voltage),
    (Unit::Ampere, "A", Quantity::Current),
    (Unit::Milliampere, "mA", Quantity::Current),
    (Unit::Psi, "psi", Quantity::GaugePressure),
    (Unit::Kilopascal, "kPa", Quantity::GaugePressure),
    (Unit::Bar, "bar", Quantity::GaugePressure),
    (Unit::PsiAbsolute, "psi abs", Quantity::AbsolutePressure),
    (
        Unit::KilopascalAbsolute,
        "kPa abs",
        Quantity::AbsolutePressure,
    ),
    (Unit::BarAbsolute, "bar abs", Quantity::AbsolutePressure),
    (Unit::Rpm, "rpm", Quantity::Speed),
    (Unit::Celsius, "°C", Quantity::Temperature),
    (Unit::Fahrenheit, "°F", Quantity::Temperature),
    (Unit::Percent, "%", Quantity::Percent),
    (Unit::Inch, "in", Quantity::Length),
    (Unit::Millimetre, "mm", Quantity::Length),
    (Unit::Kilometre, "km", Quantity::Distance),
    (Unit::Mile, "mi", Quantity::Distance),
    (Unit::Second, "s", Quantity::Duration),
    (Unit::Minute, "min", Quantity::Duration),
    (Unit::Count, "count", Quantity::Count),
    (Unit::Metre, "m", Quantity::Length),
    (Unit::Foot, "ft", Quantity::Length),
    (Unit::Degree, "deg", Quantity::Angle),
    (Unit::InchMercury, "inHg", Quantity::Vacuum),
    (Unit::KilopascalVacuum, "kPa vac", Quantity::Vacuum),
    (Unit::Ohm, "ohm", Quantity::Resistance),
    (Unit::Milliohm, "mohm", Quantity::Resistance),
    (Unit::Kilohm, "kohm", Quantity::Resistance),
];

/// Other ways of writing a unit that a procedure may use as well.
const SIGNS: [(&str, Unit); 3] = [
    ("Ω", Unit::Ohm),
    ("mΩ", Unit::Milliohm),
    ("kΩ", Unit::Kilohm),
];

impl Unit {
    /// All units.
    pub fn all() -> impl Iterator<Item = Unit> {
        SYMBOLS.iter().map(|(unit, ..)| *unit)
    }

    /// As written: "V", "psi", "kPa abs".
    #[must_use]
    pub fn symbol(self) -> &'static str {
        self.row().1
    }

    /// All units of a procedure file as they may be written there, signs as "Ω" among them.
    pub fn spellings() -> impl Iterator<Item = (&'static str, Unit)> {
        let symbols = SYMBOLS.iter().map(|(unit, symbol, _)| (*symbol, *unit));
        symbols.chain(SIGNS)
    }

    /// What it measures.
    #[must_use]
    pub fn quantity(self) -> Quantity {
        self.row().2
    }

    /// The unit of a written symbol or word; capitals do not matter, "C" and "F" stand for °C and °F,
    /// "°" for deg, "Ω" for ohm, "miles" for mi. "Mohm" is refused: that is a thousand million of the
    /// unit "mohm".
    ///
    /// # Errors
    /// Where no unit has that symbol.
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        let wanted = text.trim();
        let typed = wanted.to_lowercase();
        let word = WORDS.iter().find(|(word, _)| *word == typed);
        // the ohm sign (U+2126) and the Greek letter have the same small letter
        let small = word.map_or(typed, |(_, symbol)| symbol.to_lowercase());
        Self::spellings()
            .find(|(written, _)| written.to_lowercase() == small)
            .map(|(_, unit)| unit)
            .filter(|unit| *unit != Unit::Milliohm || !wanted.starts_with('M'))
            .ok_or_else(|| QuantityError::UnknownUnit {
                found: wanted.to_owned(),
                known: listed(Unit::all()),
            })
    }

    fn must_be_like(self, wanted: Unit) -> Result<(), QuantityError> {
        if self.quantity() == wanted.quantity() {
            return Ok(());
        }
        Err(QuantityError::OtherQuantity {
            found: self.symbol(),
            wanted: wanted.symbol(),
            known: wanted.alike(),
        })
    }

    /// The units of what this one measures, for a sentence.
    fn alike(self) -> String {
        match self {
            Unit::Count => "the number alone".to_owned(),
            _ => listed(Unit::all().filter(|unit| unit.quantity() == self.quantity())),
        }
    }

    /// Factor and offset to the quantity's base unit: base = value × factor + offset.
    /// Pounds, inches, feet and miles by their definitions (1 psi = 6.894757 kPa); an inch of mercury
    /// at 0 °C is 3.386389 kPa (NIST SP 811, from memory).
    fn to_base(self) -> (Decimal, Decimal) {
        let factor = match self {
            Unit::Millivolt | Unit::Milliampere | Unit::Milliohm => Decimal::new(1, 3),
            Unit::Psi | Unit::PsiAbsolute => Decimal::new(6_894_757, 6),
            Unit::Bar | Unit::BarAbsolute => Decimal::new(100, 0),
            Unit::Inch => Decimal::new(254, 1),
            Unit::Mile => Decimal::new(1_609_344, 6),
            Unit::Minute => Decimal::new(60, 0),
            Unit::Fahrenheit => Decimal::new(5, 0) / Decimal::new(9, 0),
            Unit::Metre | Unit::Kilohm => Decimal::new(1000, 0),
            Unit::Foot => Decimal::new(3048, 1),
            Unit::InchMercury => Decimal::new(3_386_389, 6),
            _ => Decimal::ONE,
        };
        let offset = match self {
            Unit::Fahrenheit => Decimal::new(-160, 0) / Decimal::new(9, 0),
            _ => Decimal::ZERO,
        };
        (factor, offset)
    }

    fn row(self) -> &'static (Unit, &'static str, Quantity) {
        &SYMBOLS[self as usize]
    }
}

/// A number with its unit, exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Measured {
    /// The number.
    pub value: Decimal,
    /// Its unit.
    pub unit: Unit,
}

impl Measured {
    /// Read "12.4", "2.2bar" or "150 PSI"; where no unit is typed, `unit` is meant. A decimal comma is
    /// taken as a point. What a clamp puts out for one ampere is asked for in mV, and "10 mV/A" stands on its
    /// label: where mV are asked for, "/A" is taken.
    ///
    /// # Errors
    /// Where the number or unit cannot be read, or the unit measures something else.
    pub fn parse(text: &str, unit: Unit) -> Result<Self, QuantityError> {
        let joined = joined(text.trim());
        let trimmed = joined.as_str();
        let split = trimmed
            .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+')))
            .unwrap_or(trimmed.len());
        let (number, symbol) = trimmed.split_at(split);
        let value = number
            .replace(',', ".")
            .parse::<Decimal>()
            .map_err(|_| QuantityError::NotANumber(trimmed.to_owned()))?;
        let symbol = symbol.trim();
        let symbol = match unit {
            Unit::Millivolt => of_one_ampere(symbol),
            _ => symbol,
        };
        let typed = if symbol.is_empty() {
            unit
        } else {
            Unit::parse(symbol).map_err(|_| QuantityError::UnknownUnit {
                found: symbol.to_owned(),
                known: unit.alike(),
            })?
        };
        typed.must_be_like(unit)?;
        Ok(Self { value, unit: typed })
    }

    /// The same amount in another unit of the same quantity.
    ///
    /// # Errors
    /// Where the unit measures something else.
    pub fn convert(self, unit: Unit) -> Result<Self, QuantityError> {
        self.unit.must_be_like(unit)?;
        if unit == self.unit {
            return Ok(self);
        }
        let (factor, offset) = self.unit.to_base();
        let base = self.value * factor + offset;
        let (factor, offset) = unit.to_base();
        Ok(Self {
            value: (base - offset) / factor,
            unit,
        })
    }
}

impl std::fmt::Display for Measured {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.unit {
            Unit::Count => write!(f, "{}", self.value),
            unit => write!(f, "{} {}", self.value, unit.symbol()),
        }
    }
}

/// Blanks that people put between groups of three digits, as in 148 200, taken out.
fn joined(text: &str) -> String {
    let digits = |part: &str| part.chars().take_while(char::is_ascii_digit).count();
    let first = digits(text);
    let mut rest = &text[first..];
    let mut number = text[..first].to_owned();
    if (1..=3).contains(&first) {
        while let Some(group) = rest.strip_prefix([' ', '\u{a0}', '\u{202f}']) {
            if digits(group) != 3 {
                break;
            }
            number += &group[..3];
            rest = &group[3..];
        }
    }
    number + rest
}

#[cfg(test)]
mod tests;
