//! Range and bits as people type them: "2 12", "20V 14", "±20 V, 14 bits".

use super::asking::Unread;
use crate::capture::understood::short;
use crate::capture::unit;

/// Bits of the converters that scopes have, with room to both sides.
const BITS: std::ops::RangeInclusive<u32> = 6..=24;

/// Upper end of the range in the column's unit, and the bits. `unit` is the column's, where the file says it.
pub(super) fn range_and_bits(text: &str, unit: Option<&str>) -> Result<(f64, u32), Unread> {
    let numbers = numbers(text);
    if let [(alone, _)] = numbers.as_slice() {
        return Err(Unread(Some(format!("Read as one number, {alone}."))));
    }
    let [(range, its_unit), (bits, of_bits)] = numbers.as_slice() else {
        return Err(Unread(None));
    };
    let asked_for = |of: &str| matches!(of.to_lowercase().as_str(), "" | "bit" | "bits");
    let (Some(range), Some(bits), true) = (positive(range), positive(bits), asked_for(of_bits))
    else {
        return Err(Unread(None));
    };
    let as_read = format!("Read as a range of ±{} {its_unit}", short(range));
    let as_read = as_read.trim_end();
    if bits.fract() != 0.0 || !BITS.contains(&(bits as u32)) {
        let (least, most) = (BITS.start(), BITS.end());
        return Err(Unread(Some(format!(
            "{as_read} and {} bits; a scope's converter has {least} to {most}.",
            short(bits)
        ))));
    }
    let Some(factor) = in_unit(its_unit, unit) else {
        return Err(Unread(Some(format!(
            "{as_read}, and the column is in {}.",
            unit.unwrap_or("another unit")
        ))));
    };
    Ok((range * factor, bits as u32))
}

/// What makes numbers in one unit numbers in the column's; none where that cannot be done.
fn in_unit(typed: &str, column: Option<&str>) -> Option<f64> {
    let Some(column) = column.filter(|column| !typed.is_empty() && *column != typed) else {
        return Some(1.0);
    };
    let (from, to) = (unit::parse(typed)?, unit::parse(column)?);
    let one = from.factor.of(1.0) / to.factor.of(1.0);
    (from.dimension == to.dimension).then_some(one)
}

/// The numbers of a text, each with the letters behind it.
fn numbers(text: &str) -> Vec<(String, String)> {
    let text = text.replace(['±', ';', '/'], " ").replace("+-", " ");
    let mut found: Vec<(String, String)> = Vec::new();
    let mut inside = false;
    for letter in text.chars() {
        let of_number = letter.is_ascii_digit() || (inside && matches!(letter, '.' | ','));
        match found.last_mut() {
            _ if of_number && !inside => found.push((letter.to_string(), String::new())),
            Some((number, _)) if of_number => number.push(letter),
            Some((_, unit)) => unit.push(letter),
            None if letter.is_whitespace() => {}
            // what stands before any number is none of it
            None => return Vec::new(),
        }
        inside = of_number;
    }
    for (number, unit) in &mut found {
        // a comma behind a number divides; one within it is a decimal sign
        *number = number.trim_end_matches([',', '.']).replace(',', ".");
        *unit = unit.trim_matches([' ', '\t', ',']).to_owned();
    }
    found
}

fn positive(text: &str) -> Option<f64> {
    text.parse()
        .ok()
        .filter(|n: &f64| n.is_finite() && *n > 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn range_and_bits_are_read_as_people_type_them() {
        for text in [
            "20 14",
            "20V 14",
            "20, 14",
            "±20 V, 14 bit",
            "+-20V/14",
            "20; 14",
        ] {
            let read = range_and_bits(text, Some("V"));
            assert_eq!(read, Ok((20.0, 14)), "{text}");
        }
        assert_eq!(range_and_bits("0,5 12", None), Ok((0.5, 12)));
        assert_eq!(range_and_bits("2.5V 8", None), Ok((2.5, 8)));
        assert_eq!(range_and_bits("500mV 12", Some("V")), Ok((0.5, 12)));
        assert_eq!(range_and_bits("2 V 12", Some("mV")), Ok((2000.0, 12)));
    }

    #[test]
    fn what_cannot_be_meant_is_said_as_it_was_read() {
        let why = |text| range_and_bits(text, Some("V")).unwrap_err().0;
        for text in [
            "", "V 20 14", "14 20V", "20 14 3", "-2 12", "20 14 V", "0 12",
        ] {
            assert_eq!(why(text), None, "{text}");
        }
        assert_eq!(why("20,14").unwrap(), "Read as one number, 20.14.");
        let bits = why("20 140").unwrap();
        assert!(
            bits.contains("±20 and 140 bits; a scope's converter has 6 to 24"),
            "{bits}"
        );
        let unit = why("600A 12").unwrap();
        assert_eq!(unit, "Read as a range of ±600 A, and the column is in V.");
    }
}
