//! One cell: a number, a mark that the instrument's range was left, nothing, or something else. Numbers
//! come out exactly as the standard library reads them, only sooner.

/// Greatest magnitude that is read: no instrument of a workshop records a million million of anything, and
/// squares of what is larger leave the range of numbers.
pub const GREATEST: f64 = 1e12;

/// Powers of ten that a double holds exactly.
const TENS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
];

/// Integers up to this are doubles exactly; times or over an exact power of ten they are rounded once, as
/// they should be.
const EXACT: u64 = 1 << 53;

/// Digits that are gathered without looking for overflow.
const MOST_DIGITS: usize = 19;

/// Longest word that can be a mark.
const MOST_MARK: usize = 16;

/// A cell's meaning.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cell {
    /// A number that an instrument can have shown.
    Number(f64),
    /// The upper end of the range was left.
    Over,
    /// The lower end of the range was left.
    Under,
    /// The range was left; which end is not said.
    Beyond,
    /// Nothing stands there.
    Nothing,
    /// Something else.
    Else,
}

/// Read a cell. `point` is the decimal sign.
#[must_use]
pub fn read(cell: &[u8], point: u8) -> Cell {
    let cell = cell.trim_ascii();
    if cell.is_empty() {
        return Cell::Nothing;
    }
    let mut at = 0;
    if let Some(number) = plain(cell, &mut at, point)
        && at == cell.len()
    {
        return within(number);
    }
    if let Some(mark) = mark(cell) {
        return mark;
    }
    let first = cell[0];
    if !(first.is_ascii_digit() || [b'+', b'-', point].contains(&first)) {
        // the standard library reads words such as "nan"
        return Cell::Else;
    }
    let mut text = match std::str::from_utf8(cell) {
        Ok(text) => text.to_owned(),
        Err(_) => return Cell::Else,
    };
    if point != b'.' {
        if text.contains('.') {
            return Cell::Else;
        }
        text = text.replace(char::from(point), ".");
    }
    let digits = text.trim_start_matches(['+', '-']);
    if !digits.starts_with(|c: char| c.is_ascii_digit() || c == '.') {
        return Cell::Else;
    }
    text.parse().map_or(Cell::Else, within)
}

fn within(number: f64) -> Cell {
    if number.abs() <= GREATEST {
        Cell::Number(number)
    } else {
        Cell::Else
    }
}

/// Marks that instruments write where a value left the range (common practice, no source): signs of
/// infinity, "OL" for overload, dashes.
fn mark(cell: &[u8]) -> Option<Cell> {
    let text = std::str::from_utf8(cell).ok()?;
    if text.len() > MOST_MARK {
        return None;
    }
    if text.len() >= 2 && text.bytes().all(|byte| byte == b'-') {
        return Some(Cell::Beyond);
    }
    let (sign, word) = match text.as_bytes()[0] {
        b'-' => (Cell::Under, &text[1..]),
        b'+' => (Cell::Over, &text[1..]),
        _ => (Cell::Over, text),
    };
    let word = word.trim().to_ascii_lowercase();
    let signed = matches!(text.as_bytes()[0], b'+' | b'-');
    match word.as_str() {
        "∞" | "inf" | "infinity" => Some(sign),
        // a bare overload does not say which end was left
        "ol" | "o.l" | "o.l." | "overload" | "overrange" | "ovr" | "ovfl" if signed => Some(sign),
        "ol" | "o.l" | "o.l." | "overload" | "overrange" | "ovr" | "ovfl" => Some(Cell::Beyond),
        _ => None,
    }
}

/// A number in plain digits that begins at `at`, which is moved behind it. None where a double would have
/// to be rounded twice; then the standard library has to read it.
#[inline(always)]
pub fn plain(text: &[u8], at: &mut usize, point: u8) -> Option<f64> {
    let first = *text.get(*at)?;
    let negative = first == b'-';
    let start = *at + usize::from(negative || first == b'+');
    let window = text.get(start..).and_then(|text| text.first_chunk());
    let quick = window.and_then(|window| at_once(window, point));
    let (mantissa, decimals, length) = match quick {
        Some(read) => read,
        None => digit_by_digit(text, start, point)?,
    };
    *at = start + length;
    let value = mantissa as f64 / TENS[decimals];
    // signs of a ripple come as they like: a branch would be guessed wrong every other time
    let sign = u64::from(negative) << 63;
    Some(f64::from_bits(value.to_bits() ^ sign))
}

/// Bytes that are looked at together: eight, and the one that may go on with the number.
const WINDOW: usize = 9;

/// The same byte eight times.
const fn each(byte: u8) -> u64 {
    u64::from_le_bytes([byte; 8])
}

/// Mantissa, decimals and length of a number, its bytes told apart together, the point closed up, and digits
/// joined in pairs, fours and eights. None where it has more than eight bytes, or no digits.
#[inline(always)]
fn at_once(window: &[u8; WINDOW], point: u8) -> Option<(u64, usize, usize)> {
    let [a, b, c, d, e, f, g, h, next] = *window;
    let digits = u64::from_le_bytes([a, b, c, d, e, f, g, h]) ^ each(b'0');
    let mut others = (((digits & each(0x7f)) + each(0x76)) | digits) & each(0x80);
    let whole = (others.trailing_zeros() / 8) as usize;
    if whole == 8 {
        return None;
    }
    if window[whole] != point {
        return (whole > 0).then(|| (joined(digits << (64 - 8 * whole)), 0, whole));
    }
    others &= others - 1;
    let length = (others.trailing_zeros() / 8) as usize;
    let count = length - 1;
    if count == 0 || (length == 8 && next.is_ascii_digit()) {
        return None;
    }
    let before = (1 << (8 * whole)) - 1;
    let closed = (digits & before) | ((digits >> 8) & !before);
    Some((joined(closed << (64 - 8 * count)), count - whole, length))
}

/// Eight digits, the first in the least byte, as a number.
#[inline(always)]
fn joined(digits: u64) -> u64 {
    let pairs = (digits * 10 + (digits >> 8)) & 0x00ff_00ff_00ff_00ff;
    let fours = (pairs * 100 + (pairs >> 16)) & 0x0000_ffff_0000_ffff;
    (fours * 10_000 + (fours >> 32)) & 0xffff_ffff
}

/// The same for numbers that are longer or stand at the end of the text.
fn digit_by_digit(text: &[u8], first: usize, point: u8) -> Option<(u64, usize, usize)> {
    let digit_at = |place: usize| {
        let byte = text.get(place).map_or(255, |byte| byte.wrapping_sub(b'0'));
        (byte < 10).then_some(u64::from(byte))
    };
    let mut place = first;
    let mut mantissa = 0u64;
    while let Some(digit) = digit_at(place) {
        mantissa = mantissa.wrapping_mul(10).wrapping_add(digit);
        place += 1;
    }
    let mut digits = place - first;
    let mut decimals = 0;
    if text.get(place) == Some(&point) {
        place += 1;
        let from = place;
        while let Some(digit) = digit_at(place) {
            mantissa = mantissa.wrapping_mul(10).wrapping_add(digit);
            place += 1;
        }
        decimals = place - from;
        digits += decimals;
    }
    if digits == 0 || digits > MOST_DIGITS || mantissa > EXACT || decimals >= TENS.len() {
        return None;
    }
    Some((mantissa, decimals, place - first))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn marks_are_told_from_numbers_and_text() {
        for (text, expected) in [
            ("∞", Cell::Over),
            ("-∞", Cell::Under),
            ("+Inf", Cell::Over),
            ("-Infinity", Cell::Under),
            ("OL", Cell::Beyond),
            ("-OL", Cell::Under),
            ("O.L", Cell::Beyond),
            ("---", Cell::Beyond),
            ("- - -", Cell::Else),
            ("-", Cell::Else),
            ("NaN", Cell::Else),
            ("", Cell::Nothing),
            (" \t", Cell::Nothing),
            ("12.5", Cell::Number(12.5)),
            ("+2", Cell::Number(2.0)),
            (".5", Cell::Number(0.5)),
            ("3.", Cell::Number(3.0)),
            ("1e3", Cell::Number(1000.0)),
            ("-1.5E-3", Cell::Number(-0.0015)),
            ("1e13", Cell::Else),
            ("1e400", Cell::Else),
            ("0x10", Cell::Else),
            ("1 000", Cell::Else),
            ("1,5", Cell::Else),
            ("+-2", Cell::Else),
            ("--2", Cell::Else),
        ] {
            assert_eq!(read(text.as_bytes(), b'.'), expected, "{text:?}");
        }
        assert_eq!(read(b"-12,5", b','), Cell::Number(-12.5));
        assert_eq!(read(b"1,5e-2", b','), Cell::Number(0.015));
        assert_eq!(read(b"12.5", b','), Cell::Else);
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 4000, failure_persistence: None, ..ProptestConfig::default() })]

        /// The standard library's reading is the judge.
        #[test]
        fn numbers_come_out_as_the_standard_library_reads_them(
            text in "[+-]?[0-9]{0,22}(\\.[0-9]{0,24})?([eE][+-]?[0-9]{1,2})?"
        ) {
            let judge = text.parse::<f64>().ok().filter(|v| v.abs() <= GREATEST);
            match read(text.as_bytes(), b'.') {
                Cell::Number(number) => prop_assert_eq!(Some(number.to_bits()), judge.map(f64::to_bits)),
                _ => prop_assert_eq!(judge, None),
            }
        }

        /// However long a number is, and whatever follows it, all of it is read and nothing else.
        #[test]
        fn a_number_ends_where_its_digits_do(
            text in "[+-]?([0-9]{0,9}|[0-9]{0,20})(\\.([0-9]{0,9}|[0-9]{0,20}))?", after in "[^0-9.+-][ -~]{0,12}|"
        ) {
            let whole = format!("{text}{after}");
            let mut at = 0;
            if let Some(number) = plain(whole.as_bytes(), &mut at, b'.') {
                prop_assert_eq!(&whole[..at], text.as_str());
                prop_assert_eq!(Ok(number.to_bits()), text.parse().map(f64::to_bits));
            } else {
                prop_assert!(text.parse::<f64>().is_err() || text.len() > 15, "{whole:?}");
            }
        }

        #[test]
        fn shortest_digits_of_any_number_come_back(number in -1e12..1e12f64) {
            let text = number.to_string();
            prop_assert_eq!(read(text.as_bytes(), b'.'), Cell::Number(number));
            prop_assert_eq!(read(text.replace('.', ",").as_bytes(), b','), Cell::Number(number));
        }
    }
}
