//! What a person typed, judged: numbers by unit, grid and range, texts by their form.

mod lines;
mod marks;

use chrono::NaiveDate;
use rust_decimal::{Decimal, RoundingStrategy};

use crate::procedure::model::{NumberForm, TextForm};
use crate::quantity::{Measured, QuantityError, Unit};
use crate::run::event::Answer;
use crate::run::refusal::Refusal;
use crate::run::vehicle::{self, Lines};
use crate::text::steers;

pub use lines::of_line;
pub use marks::is_read_otherwise;

/// Length of a calendar date as "2026-03-02".
const DATE_LENGTH: usize = 10;

/// No reading in a workshop is greater, in any unit; beyond it exact arithmetic could overflow.
const GREATEST: i64 = 1_000_000_000;

/// A typed number in the step's unit and on its grid. `before` is the value that was just asked about
/// because it is not expected.
///
/// # Errors
/// Where it is no number, off the grid, impossible, or unexpected for the first time.
pub fn number(typed: &str, form: &NumberForm, before: Option<Decimal>) -> Result<Answer, Refusal> {
    let read = read(typed, form)?;
    if read.value.abs() > Decimal::from(GREATEST) {
        return Err(QuantityError::NotANumber(typed.trim().to_owned()).into());
    }
    marks::two_ways(typed, read, form)?;
    let value = if read.unit == form.unit {
        if on_grid(read.value, form.resolution) != read.value {
            return Err(Refusal::OffGrid {
                typed: typed.trim().to_owned(),
                resolution: form.resolution,
                unit: form.unit.symbol(),
            });
        }
        read.value
    } else {
        on_grid(read.convert(form.unit)?.value, form.resolution)
    };
    let mut value = value;
    value.rescale(form.resolution.scale());
    let unit = form.unit;
    let shown = Measured { value, unit }.to_string();
    let outside = |least: Decimal, greatest: Decimal| value < least || value > greatest;
    if !is_possible(value, form) {
        let value = match read.unit == unit {
            true => shown,
            false => format!("{} is {shown}, which", typed.trim()),
        };
        return Err(Refusal::Impossible {
            value,
            least: form.possible.least,
            greatest: form.possible.greatest,
        });
    }
    let unexpected = form
        .expected
        .filter(|range| outside(range.least, range.greatest));
    if let Some(range) = unexpected.filter(|_| before != Some(value)) {
        return Err(Refusal::Unexpected {
            value,
            shown,
            least: range.least,
            greatest: range.greatest,
        });
    }
    Ok(Answer::Number {
        typed: as_typed(typed.trim(), form),
        value,
        unit,
        resolution: form.resolution,
        unexpected: unexpected.is_some(),
    })
}

/// A number with the unit that was typed or is meant. What a clamp puts out for one ampere is asked for in mV; some
/// are labelled the other way round.
fn read(typed: &str, form: &NumberForm) -> Result<Measured, Refusal> {
    let turned = typed.trim().strip_suffix(marks::TURNED_ROUND);
    if let Some(turned) = turned.filter(|_| form.unit == Unit::Millivolt) {
        let amperes = Measured::parse(turned, Unit::Count)?.value;
        let value = Decimal::from(1000).checked_div(amperes);
        let value = value.map(|value| value.round_dp(form.resolution.scale()));
        let unit = Unit::Millivolt;
        return match value {
            Some(value) => Ok(Measured { value, unit }),
            None => Err(QuantityError::NotANumber(typed.trim().to_owned()).into()),
        };
    }
    Measured::parse(typed, form.meant).map_err(|error| match error {
        QuantityError::NotANumber(typed) => Refusal::NoNumber {
            told: match typed.is_empty() {
                true => "an answer is needed".to_owned(),
                false => format!("{typed:?} is no number; write digits"),
            },
            example: example(form),
        },
        error => error.into(),
    })
}

/// A number that would be taken: from the middle of what is expected, or else possible.
fn example(form: &NumberForm) -> Decimal {
    let range = form.expected.unwrap_or(form.possible);
    let middle = on_grid(
        (range.least + range.greatest) / Decimal::TWO,
        form.resolution,
    );
    middle.normalize()
}

fn is_possible(value: Decimal, form: &NumberForm) -> bool {
    value >= form.possible.least && value <= form.possible.greatest
}

/// What was typed; where the shop's unit was meant, that is added, or the record could not be read alone.
fn as_typed(typed: &str, form: &NumberForm) -> String {
    let bare = !typed
        .chars()
        .any(|c| c.is_alphabetic() || matches!(c, '°' | '%'));
    if bare && form.meant != form.unit {
        return format!("{typed} (meant in {})", form.meant.symbol());
    }
    typed.to_owned()
}

fn on_grid(value: Decimal, resolution: Decimal) -> Decimal {
    if resolution.is_zero() {
        return value;
    }
    let steps =
        (value / resolution).round_dp_with_strategy(0, RoundingStrategy::MidpointAwayFromZero);
    steps * resolution
}

/// A typed text of the asked form.
///
/// # Errors
/// Where it is not of that form.
pub fn text(typed: &str, form: TextForm, lines: &Lines) -> Result<Answer, Refusal> {
    let text = typed.trim();
    if text.contains(steers) {
        return Err(Refusal::ControlCharacter);
    }
    if text.is_empty() && form != TextForm::Optional {
        return Err(Refusal::Empty);
    }
    match form {
        TextForm::Text | TextForm::Optional => {}
        TextForm::FiringOrder => {
            let order = vehicle::order(text).map_err(|part| Refusal::NotNumbers {
                part,
                remedy: "write the firing order as in 1-3-4-2",
            })?;
            vehicle::judge_order(&order, lines)?;
            if !text.contains(|c: char| !c.is_ascii_digit()) {
                // run together it is read by the program, not by whoever reads the record
                let apart: Vec<String> = order.iter().map(usize::to_string).collect();
                let text = apart.join("-");
                return Ok(Answer::Text { text });
            }
        }
        TextForm::FiringIntervals => {
            let intervals = vehicle::intervals(text).map_err(|part| Refusal::NotNumbers {
                part,
                remedy: "write the degrees from each firing to the next, or \"even\"",
            })?;
            if let Some(intervals) = intervals {
                vehicle::judge_intervals(&intervals, lines)?;
            }
        }
        TextForm::Date => {
            let date = NaiveDate::parse_from_str(text, "%Y-%m-%d");
            if date.is_err() || text.len() != DATE_LENGTH {
                return Err(Refusal::NoDate(text.to_owned()));
            }
        }
    }
    Ok(Answer::Text {
        text: text.to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::procedure::model::Interval;

    pub(super) fn form(
        unit: Unit,
        resolution: &str,
        possible: (i64, i64),
        expected: (i64, i64),
    ) -> NumberForm {
        let interval = |(least, greatest)| Interval {
            least: Decimal::from(least),
            greatest: Decimal::from(greatest),
        };
        NumberForm {
            unit,
            meant: unit,
            resolution: resolution.parse().unwrap(),
            possible: interval(possible),
            expected: Some(interval(expected)),
        }
    }

    pub(super) fn value(answer: Answer) -> (String, bool) {
        match answer {
            Answer::Number {
                value, unexpected, ..
            } => (value.to_string(), unexpected),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn numbers_lie_on_the_grid_and_carry_its_resolution() {
        let volts = form(Unit::Volt, "0.01", (0, 20), (11, 13));
        let read = |text| number(text, &volts, None).map(value);
        assert_eq!(read("12.4"), Ok(("12.40".to_owned(), false)));
        assert_eq!(read(" 12,45 V"), Ok(("12.45".to_owned(), false)));
        assert_eq!(read("12450 mV"), Ok(("12.45".to_owned(), false)));
        assert!(matches!(read("12.405"), Err(Refusal::OffGrid { .. })));
        assert_eq!(read("12404.9 mV"), Ok(("12.40".to_owned(), false)));
        assert!(matches!(read("21"), Err(Refusal::Impossible { .. })));
        assert!(matches!(read("-0.01"), Err(Refusal::Impossible { .. })));
        assert!(matches!(
            read("79228162514264337593543950335"),
            Err(Refusal::Number(_))
        ));
        let told = |text| read(text).unwrap_err().to_string();
        assert_eq!(
            told("twelve"),
            "\"twelve\" is no number; write digits, for example 12"
        );
        assert_eq!(told(" "), "an answer is needed, for example 12");
        let clamp = form(Unit::Millivolt, "0.01", (0, 1000), (0, 100));
        let clamp = |text| number(text, &clamp, None).map(value);
        assert_eq!(clamp("100 A/V"), Ok(("10.00".to_owned(), false)));
        assert_eq!(clamp("30A/V"), Ok(("33.33".to_owned(), false)));
        assert!(clamp("0 A/V").is_err());
    }

    /// 552 kPa is 80.06 psi (1 psi = 6.894757 kPa, NIST SP 811, from memory).
    #[test]
    fn other_units_are_converted_and_rounded_to_the_grid() {
        let psi = form(Unit::Psi, "0.5", (0, 150), (0, 150));
        assert_eq!(value(number("552 kPa", &psi, None).unwrap()).0, "80.0");
        assert_eq!(value(number("5.52bar", &psi, None).unwrap()).0, "80.0");
        assert!(number("80 psi abs", &psi, None).is_err());
    }

    /// 552 kPa is 80.06 psi (1 psi = 6.894757 kPa, NIST SP 811, from memory).
    #[test]
    fn bare_numbers_are_meant_in_the_shops_unit_and_both_are_kept() {
        let mut psi = form(Unit::Psi, "0.5", (0, 150), (0, 150));
        psi.meant = Unit::Kilopascal;
        let kept = |text| match number(text, &psi, None).unwrap() {
            Answer::Number {
                typed, value, unit, ..
            } => (typed, value.to_string(), unit),
            other => panic!("{other:?}"),
        };
        let expected = |typed: &str| (typed.to_owned(), "80.0".to_owned(), Unit::Psi);
        assert_eq!(kept("552"), expected("552 (meant in kPa)"));
        assert_eq!(kept("80 PSI"), expected("80 PSI"));
        assert_eq!(kept("5.52bar"), expected("5.52bar"));
        assert!(number("552 kPa abs", &psi, None).is_err());
    }

    #[test]
    fn the_unexpected_is_taken_when_given_twice() {
        let volts = form(Unit::Volt, "0.1", (0, 20), (11, 13));
        let Err(Refusal::Unexpected { value: first, .. }) = number("9.5", &volts, None) else {
            panic!("taken at once");
        };
        assert!(value(number("9.5", &volts, Some(first)).unwrap()).1);
        assert!(number("9.6", &volts, Some(first)).is_err());
    }

    #[test]
    fn texts_must_have_their_form() {
        let none = Lines::new();
        assert_eq!(text("  ", TextForm::Text, &none), Err(Refusal::Empty));
        assert!(text("", TextForm::Optional, &none).is_ok());
        assert!(text("1-3-4-2", TextForm::FiringOrder, &none).is_ok());
        assert!(text("1-3-4-4", TextForm::FiringOrder, &none).is_err());
        let apart = text("1-2-4-3", TextForm::FiringOrder, &none);
        assert_eq!(text("1243", TextForm::FiringOrder, &none), apart);
        for bad in ["1244", "1203", "12345678910"] {
            assert!(text(bad, TextForm::FiringOrder, &none).is_err(), "{bad}");
        }
        assert!(text("even", TextForm::FiringIntervals, &none).is_ok());
        assert!(text("90 150", TextForm::FiringIntervals, &none).is_err());
        assert!(text("2026-03-02", TextForm::Date, &none).is_ok());
        for bad in ["2026-02-30", "2026-3-2", "today"] {
            assert!(text(bad, TextForm::Date, &none).is_err(), "{bad}");
        }
        assert!(text("a\u{1b}[2J", TextForm::Text, &none).is_err());
    }
}
