//! Which units a shop reads its gauges in. A bare number means the shop's unit; whatever unit is typed with
//! it counts before that. Gauge stays gauge, absolute stays absolute.

use serde::{Deserialize, Serialize};

use super::{Quantity, Unit};

/// A shop's choice of units; where it chose none, the sheet's unit is meant.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct UnitChoice {
    /// Psi, kilopascal or bar, for gauge pressures; absolute ones are read in the same, absolute.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pressure: Option<Unit>,
    /// Celsius or Fahrenheit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature: Option<Unit>,
}

impl UnitChoice {
    /// What a pressure may be read in.
    pub const PRESSURES: [Unit; 3] = [Unit::Psi, Unit::Kilopascal, Unit::Bar];

    /// What a temperature may be read in.
    pub const TEMPERATURES: [Unit; 2] = [Unit::Celsius, Unit::Fahrenheit];

    /// The unit that a bare number is read in where a sheet asks in `unit`.
    #[must_use]
    pub fn meant(self, unit: Unit) -> Unit {
        let chosen = match unit.quantity() {
            Quantity::GaugePressure => self.pressure,
            Quantity::AbsolutePressure => self.pressure.and_then(absolute),
            Quantity::Temperature => self.temperature,
            _ => None,
        };
        chosen.unwrap_or(unit)
    }
}

fn absolute(gauge: Unit) -> Option<Unit> {
    match gauge {
        Unit::Psi => Some(Unit::PsiAbsolute),
        Unit::Kilopascal => Some(Unit::KilopascalAbsolute),
        Unit::Bar => Some(Unit::BarAbsolute),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_meant_is_always_the_same_quantity() {
        let choices = UnitChoice::PRESSURES.into_iter().flat_map(|pressure| {
            UnitChoice::TEMPERATURES.map(|temperature| UnitChoice {
                pressure: Some(pressure),
                temperature: Some(temperature),
            })
        });
        for choice in choices.chain([UnitChoice::default()]) {
            for unit in Unit::all() {
                assert_eq!(choice.meant(unit).quantity(), unit.quantity(), "{unit:?}");
            }
            assert_eq!(choice.meant(Unit::InchMercury), Unit::InchMercury);
        }
    }
}
