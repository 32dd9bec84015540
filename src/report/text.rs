//! Numbers and times in one form. Escaping for HTML is the HTML renderer's business.

use crate::record::moment;
use crate::text::clean;

/// A number with that many decimal places, never "-0".
#[must_use]
pub(super) fn number(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
        _ => text,
    }
}

/// A measured number of unknown size, to about three digits, without trailing zeros.
#[must_use]
pub(super) fn measured(value: f64) -> String {
    let places = match value.abs() {
        size if size >= 100.0 => 0,
        size if size >= 10.0 => 1,
        size if size >= 1.0 => 2,
        _ => 3,
    };
    let text = number(value, places);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A time as written in records, "2026-03-02 09:14:05", in UTC; what is no RFC 3339 time is shown as
/// it stands.
#[must_use]
pub(super) fn time(text: &str) -> String {
    match moment::read(text) {
        Some(time) => time.format("%Y-%m-%d %H:%M:%S").to_string(),
        None => clean(text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_read_as_people_write_them() {
        assert_eq!(number(-0.004, 2), "0.00");
        assert_eq!(number(-0.4, 1), "-0.4");
        assert_eq!(measured(0.9), "0.9");
        assert_eq!(measured(187.4), "187");
        assert_eq!(measured(3.0), "3");
        assert_eq!(measured(100.0), "100");
        assert_eq!(measured(0.0), "0");
    }

    #[test]
    fn times_are_utc_whatever_was_written() {
        assert_eq!(time("2026-03-02T10:14:05+01:00"), "2026-03-02 09:14:05");
        assert_eq!(time("yester\u{1b}day"), "yesterday");
    }
}
