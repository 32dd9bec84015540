//! The leak-down (differential pressure) test: air at a known pressure goes through a restrictor into
//! a cylinder at top dead centre; what does not arrive leaks. The percentage uses gauge pressures, the
//! flow ratio absolute ones. Percentages of testers with different restrictors do not compare, so bore
//! and supply belong in the record.

use std::collections::BTreeMap;

use rust_decimal::prelude::ToPrimitive;
use rust_decimal::{Decimal, RoundingStrategy};
use thiserror::Error;

use super::bands::{Band, Bands};
use super::orifices::{self, ATMOSPHERE_PSI, FlowRatio, OrificeError};
use crate::quantity::{Measured, QuantityError, Unit};

/// Decimal places of the loss in percent. The loss is put on this grid first, and decided and shown
/// from there, so that no report shows a number that contradicts its band. Gauges are read in steps of some 0.5 % of
/// the supply: more places would show what nobody read.
pub const LOSS_PLACES: u32 = 1;

/// Decimal places to which a converted pressure is trusted; no gauge resolves as much.
const ROUNDING_PLACES: u32 = 9;

/// Least loss in percent that is believed: less is less than gauges show, and an engine's rings always
/// leak more. Common practice, no source; the number is our own choice.
const LEAST_LOSS: Decimal = Decimal::from_parts(5, 0, 0, false, 1);

/// Why a leak-down test gives no result.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum LeakDownError {
    /// No supply pressure.
    #[error(
        "the supply pressure is {0}: it must be above zero. Raise the regulator, then read both gauges again"
    )]
    SupplyNotPositive(Measured),
    /// The cylinder seems to hold more than is supplied.
    #[error(
        "the cylinder reads {reading}, more than the supply of {supply}. Set the supply at the regulator with the cylinder connected, check that both gauges show zero when vented, and read again"
    )]
    ReadingAboveSupply {
        /// Pressure behind the restrictor.
        reading: Measured,
        /// Pressure before it.
        supply: Measured,
    },
    /// As good as nothing is lost.
    #[error(
        "the cylinder reads {reading} of a supply of {supply}, so as good as nothing is lost. Some air always passes the rings, so a hose is blocked, a gauge does not move, or one gauge was read twice. Regulator to zero first, and wait until both gauges show nothing. Then go back to the step where the air goes on (:b and its number, r has it), so that what protects you is asked anew; before you answer it, take the hose off, see that air comes out of it, hand away from the hole, and that both gauges follow the regulator"
    )]
    NothingLost {
        /// Pressure behind the restrictor.
        reading: Measured,
        /// Pressure before it.
        supply: Measured,
    },
    /// A gauge below its zero.
    #[error(
        "the cylinder reads {0}, below zero. Vent the tester, set the gauge's zero, and read again"
    )]
    ReadingNegative(Measured),
    /// A restrictor without a hole.
    #[error(
        "the restrictor's bore is {0}: it must be above zero. It is stamped on the tester or stands in its instructions"
    )]
    BoreNotPositive(Measured),
    /// A unit of another quantity.
    #[error(transparent)]
    Unit(#[from] QuantityError),
    /// The flow cannot be computed.
    #[error(transparent)]
    Orifices(#[from] OrificeError),
}

/// Loss in percent of the supply, on the grid of [`LOSS_PLACES`].
///
/// # Errors
/// Where the supply is not above zero, or the reading is below zero or above the supply, or a unit is
/// none of gauge pressure.
pub fn loss_percent(supply: Measured, reading: Measured) -> Result<Decimal, LeakDownError> {
    supply.convert(Unit::Psi)?;
    let arrived = reading.convert(supply.unit)?.value;
    if supply.value <= Decimal::ZERO {
        return Err(LeakDownError::SupplyNotPositive(readable(supply)));
    }
    if reading.value < Decimal::ZERO {
        return Err(LeakDownError::ReadingNegative(readable(reading)));
    }
    // units that differ leave rounding in the last digits; it is no reading above the supply
    if arrived.round_dp(ROUNDING_PLACES) > supply.value.round_dp(ROUNDING_PLACES) {
        return Err(LeakDownError::ReadingAboveSupply {
            reading: readable(reading),
            supply: readable(supply),
        });
    }
    let loss = (supply.value - arrived).max(Decimal::ZERO) * Decimal::ONE_HUNDRED / supply.value;
    let mut on_grid =
        loss.round_dp_with_strategy(LOSS_PLACES, RoundingStrategy::MidpointAwayFromZero);
    on_grid.rescale(LOSS_PLACES);
    Ok(on_grid)
}

/// Result of a leak-down test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeakDown {
    /// Loss in percent of the supply.
    pub loss: Decimal,
    /// How good that is.
    pub band: Band,
    /// Area of the leaks over area of the restrictor.
    pub flow_ratio: FlowRatio,
    /// Bore of one round hole that leaks as much, mm; none where the tester cannot measure it.
    pub leak_bore_mm: Option<f64>,
}

/// Judge a leak-down test: gauge pressures before and behind the restrictor, its bore, the bands, and
/// the atmosphere in psi absolute.
///
/// # Errors
/// As [`loss_percent`], where as good as nothing is lost, and where the bore is not above zero.
pub fn judge(
    supply: Measured,
    reading: Measured,
    restrictor_bore: Measured,
    bands: &Bands,
    atmosphere_psi: f64,
) -> Result<LeakDown, LeakDownError> {
    let loss = loss_percent(supply, reading)?;
    if loss < LEAST_LOSS {
        return Err(LeakDownError::NothingLost {
            reading: readable(reading),
            supply: readable(supply),
        });
    }
    let bore = restrictor_bore.convert(Unit::Millimetre)?.value;
    if bore <= Decimal::ZERO {
        return Err(LeakDownError::BoreNotPositive(restrictor_bore));
    }
    let before = float(supply.convert(Unit::Psi)?.value);
    let behind = float(reading.convert(Unit::Psi)?.value).min(before);
    let flow_ratio = orifices::flow_ratio(before, behind, atmosphere_psi)?;
    let leak_bore_mm = match flow_ratio {
        FlowRatio::Times(ratio) => Some(orifices::equivalent_bore(ratio, float(bore))?),
        FlowRatio::Beyond => None,
    };
    Ok(LeakDown {
        loss,
        band: bands.of(loss),
        flow_ratio,
        leak_bore_mm,
    })
}

/// The facts of computation "leak-down" as shown, in the standard atmosphere; which cylinder was tested is
/// kept as it was given.
///
/// # Errors
/// As [`judge`].
pub fn facts(
    cylinder: &str,
    supply: Measured,
    reading: Measured,
    restrictor_bore: Measured,
    bands: &Bands,
) -> Result<BTreeMap<String, String>, LeakDownError> {
    let result = judge(supply, reading, restrictor_bore, bands, ATMOSPHERE_PSI)?;
    let ratio = match result.flow_ratio {
        FlowRatio::Times(ratio) => format!("{ratio:.2}"),
        FlowRatio::Beyond => "beyond what this restrictor can measure".to_owned(),
    };
    let hole = match result.leak_bore_mm {
        Some(bore) => format!("all leaks together are as one round hole of {bore:.2} mm"),
        None => "no pressure builds up, the leak is too large to measure".to_owned(),
    };
    let meaning = format!(
        "{} % of the air is lost: {}; {hole}",
        result.loss,
        result.band.meaning()
    );
    let named = [
        ("cylinder", cylinder.to_owned()),
        ("loss", format!("{} %", result.loss)),
        ("band", result.band.name().to_owned()),
        ("flow ratio", ratio),
        ("meaning", meaning),
    ];
    Ok(named
        .into_iter()
        .map(|(name, value)| (name.to_owned(), value))
        .collect())
}

/// Without the long tail of digits that converting units leaves.
fn readable(measured: Measured) -> Measured {
    Measured {
        value: measured.value.round_dp(ROUNDING_PLACES).normalize(),
        ..measured
    }
}

/// Every decimal has a nearest double, so nothing is ever missing here.
fn float(value: Decimal) -> f64 {
    value.to_f64().unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::procedure::computation::{Computation, Domain};

    fn gauge(text: &str) -> Measured {
        Measured::parse(text, Unit::Psi).unwrap()
    }

    fn bore(text: &str) -> Measured {
        Measured::parse(text, Unit::Millimetre).unwrap()
    }

    fn loss(supply: &str, reading: &str) -> String {
        loss_percent(gauge(supply), gauge(reading))
            .unwrap()
            .to_string()
    }

    /// FAA AC 43.13-1B (1998) par. 8-14: a loss in excess of 25 % of 80 psi is suspect, that is under
    /// 60/80 on a hot engine. The other pairs are computed.
    #[test]
    fn an_aircraft_cylinders_limit_is_exactly_a_quarter() {
        let pairs = [
            ("80", "60", "25.0"),
            ("80", "59", "26.3"),
            ("552 kPa", "414 kPa", "25.0"),
            ("100", "75", "25.0"),
        ];
        for (supply, reading, percent) in pairs {
            assert_eq!(loss(supply, reading), percent, "{supply}/{reading}");
        }
    }

    /// Converting between psi and kPa leaves rounding in the last digits; it must not move a loss over
    /// a limit.
    #[test]
    fn units_do_not_move_a_loss_over_a_limit() {
        let kilopascals = |text: &str| gauge(text).convert(Unit::Psi).unwrap();
        let converted = loss_percent(kilopascals("600 kPa"), kilopascals("540 kPa")).unwrap();
        assert_eq!(converted.to_string(), "10.0");
        assert_eq!(Bands::default().of(converted), Band::Acceptable);
        assert_eq!(loss("6 bar", "420 kPa"), "30.0");
        assert_eq!(loss("100", "689.4757 kPa"), "0.0");
    }

    #[test]
    fn impossible_readings_are_refused_with_a_remedy() {
        let says = |supply: &str, reading: &str, hole: &str| {
            facts(
                "3",
                gauge(supply),
                gauge(reading),
                bore(hole),
                &Bands::default(),
            )
            .unwrap_err()
            .to_string()
        };
        assert!(says("80", "81", "1").contains("check that both gauges show zero"));
        let nothing = says("6.5 bar", "6.5 bar", "1");
        assert!(
            nothing.contains("6.5 bar of a supply of 6.5 bar") && nothing.contains("read twice")
        );
        assert!(says("100", "99.6", "1").contains("as good as nothing"));
        let tight = facts(
            "3",
            gauge("100"),
            gauge("99.5"),
            bore("1"),
            &Bands::default(),
        );
        assert_eq!(tight.unwrap()["band"], "good");
        assert!(says("0", "0", "1").contains("Raise the regulator"));
        assert!(says("80", "-1", "1").contains("set the gauge's zero"));
        assert!(says("80", "60", "0").contains("stamped on the tester"));
        let absolute = Measured::parse("80 psi abs", Unit::PsiAbsolute).unwrap();
        assert!(loss_percent(absolute, gauge("60")).is_err());
        assert!(loss_percent(absolute, absolute).is_err());
    }

    /// Flow ratio 1.05856 at 60/80 is computed apart from this program from two nozzles in series;
    /// restrictor 0.040 in as in FAA AC 43.13-1B Change 1 (2001).
    #[test]
    fn facts_of_a_quarter_lost() {
        let facts = facts(
            "3 or 2",
            gauge("80"),
            gauge("60"),
            bore("0.040 in"),
            &Bands::default(),
        )
        .unwrap();
        assert_eq!(facts["cylinder"], "3 or 2");
        assert_eq!(facts["loss"], "25.0 %");
        assert_eq!(facts["band"], "poor");
        assert_eq!(facts["flow ratio"], "1.06");
        assert_eq!(
            facts["meaning"],
            "25.0 % of the air is lost: the cylinder is worn; find where the air escapes; all leaks together are as one round hole of 1.05 mm"
        );
    }

    #[test]
    fn a_cylinder_that_holds_nothing_still_has_facts() {
        let facts = facts("3", gauge("80"), gauge("0"), bore("1"), &Bands::default()).unwrap();
        assert_eq!(facts["loss"], "100.0 %");
        assert_eq!(facts["band"], "fault");
        assert!(facts["flow ratio"].starts_with("beyond"));
    }

    /// What procedures are proved against must be what comes out.
    #[test]
    fn facts_are_those_that_procedures_are_proved_against() {
        let facts = facts("3", gauge("80"), gauge("71"), bore("1"), &Bands::default()).unwrap();
        let declared = Computation::LeakDown.facts();
        assert_eq!(facts.len(), declared.len());
        for fact in declared {
            let value = &facts[fact.name];
            match fact.domain {
                Domain::Choice(names) => assert!(names.contains(value)),
                Domain::Number { unit, .. } => {
                    let read = Measured::parse(value, unit).unwrap();
                    assert_eq!(read.unit, unit);
                }
                Domain::Text => assert!(!value.is_empty()),
            }
        }
    }
}
