//! The marks and blanks in a typed number: where they can be read in two ways, and where the number was read otherwise
//! than it stands there.

use rust_decimal::Decimal;

use super::is_possible;
use crate::procedure::model::NumberForm;
use crate::quantity::{Measured, Unit};
use crate::run::refusal::Refusal;

/// Most digits between two marks that part thousands.
const LONGEST_GROUP: usize = 3;

/// Where decimals say nothing, three digits after one comma or point can be thousands: 84,000 km is then no 84 km.
/// A reading in another unit is one of two only where both are possible here, as 1.034 bar for a pressure in psi is
/// not.
pub(super) fn two_ways(typed: &str, read: Measured, form: &NumberForm) -> Result<(), Refusal> {
    let typed = typed.trim();
    let number: String = typed
        .chars()
        .take_while(|c| c.is_ascii_digit() || matches!(c, '.' | ','))
        .collect();
    let Some((before, after)) = number.split_once(['.', ',']) else {
        return Ok(());
    };
    let thousands = (1..=LONGEST_GROUP).contains(&before.len())
        && before.bytes().any(|digit| digit != b'0')
        && after.len() == LONGEST_GROUP
        && after.bytes().all(|digit| digit.is_ascii_digit());
    let Ok(whole) = format!("{before}{after}").parse::<Decimal>() else {
        return Ok(());
    };
    let ambiguous = if read.unit == form.unit {
        form.resolution.fract().is_zero()
    } else {
        let possible = |value| {
            let unit = read.unit;
            let here = Measured { value, unit }.convert(form.unit);
            here.is_ok_and(|here| is_possible(here.value, form))
        };
        possible(read.value) && possible(whole)
    };
    if thousands && ambiguous {
        return Err(Refusal::TwoWays {
            typed: typed.to_owned(),
            parted: read.value.normalize(),
            whole,
        });
    }
    Ok(())
}

/// How a clamp is labelled that tells amperes for a volt.
pub(super) const TURNED_ROUND: &str = "A/V";

/// Whether what was typed shows another number or unit than what was taken, as with blanks between thousands or a
/// decimal comma.
#[must_use]
pub fn is_read_otherwise(typed: &str, unit: Unit) -> bool {
    if typed.trim().ends_with(TURNED_ROUND) {
        return true;
    }
    let own_unit = Measured::parse(typed, unit).is_ok_and(|number| number.unit == unit);
    let begun = typed.trim().chars();
    let of_number = |c: &char| c.is_ascii_digit() || c.is_whitespace() || ".,+-".contains(*c);
    let number: String = begun.take_while(of_number).collect();
    !own_unit || number.contains(',') || number.trim().contains(char::is_whitespace)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::typed::number;
    use crate::run::typed::tests::{form, value};

    #[test]
    fn thousands_are_not_taken_for_decimals_where_none_are_read() {
        let distance = form(Unit::Kilometre, "1", (0, 3_000_000), (1, 600_000));
        let km = |text| number(text, &distance, None).map(value);
        for typed in ["84,000 km", "84.000 km", "84,000", "52,195 miles", "1.250"] {
            assert!(matches!(km(typed), Err(Refusal::TwoWays { .. })), "{typed}");
        }
        assert_eq!(
            km("84,000 km").unwrap_err().to_string(),
            "84,000 km: 84 or 84000? Type it without comma or point"
        );
        for (typed, kept) in [
            ("84000 km", "84000"),
            ("84 000 km", "84000"),
            ("84", "84"),
            ("52195 miles", "84000"),
        ] {
            assert_eq!(km(typed), Ok((kept.to_owned(), false)), "{typed}");
        }
        let psi = form(Unit::Psi, "1", (0, 500), (0, 500));
        assert_eq!(value(number("1.034 bar", &psi, None).unwrap()).0, "15");
        let volts = form(Unit::Volt, "0.01", (0, 20), (0, 20));
        assert_eq!(value(number("0,450 V", &volts, None).unwrap()).0, "0.45");
        assert!(number("12,450 mV", &volts, None).is_err());
    }

    #[test]
    fn a_number_that_reads_otherwise_than_it_was_typed_is_known() {
        for typed in ["84 000 km", "12,4", "52195 miles", "5 (meant in bar)"] {
            assert!(is_read_otherwise(typed, Unit::Kilometre), "{typed}");
        }
        assert!(!is_read_otherwise("12 °C", Unit::Celsius));
        for typed in ["84000", "84000 km", " 84000km ", "12.4"] {
            assert!(!is_read_otherwise(typed, Unit::Kilometre), "{typed}");
        }
    }
}
