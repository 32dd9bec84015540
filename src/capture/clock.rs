//! Times of day in cells: `14:03:07.250`, with a date before them, with AM or PM, or minutes and seconds
//! with a fraction. What they make is seconds of the day; midnight is the time axis' business.

/// Seconds of a day.
pub const DAY_S: f64 = 86_400.0;

/// Read a time of day, seconds from midnight (or from the hour, where no hours are written). `point` is the
/// decimal sign; a point is taken for one too where it stands in a clock time's seconds.
#[must_use]
pub fn read(cell: &[u8], point: u8) -> Option<f64> {
    let text = std::str::from_utf8(cell).ok()?.trim();
    if text.len() > 40 || !text.contains(':') {
        return None;
    }
    let text = text.strip_suffix('Z').unwrap_or(text);
    let (text, half) = halves(text);
    // a date before the time, split off by a blank or as ISO 8601 has it
    let time = match text.rfind([' ', 'T']) {
        Some(at) if is_date(&text[..at]) => &text[at + 1..],
        Some(_) => return None,
        None => text,
    };
    let parts: Vec<&str> = time.split(':').collect();
    let seconds = seconds(parts.last()?, point)?;
    let whole = |text: &str, below: u32| {
        let sound = (1..=2).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
        text.parse::<u32>().ok().filter(|n| sound && *n < below)
    };
    match (parts.as_slice(), half) {
        // without a fraction these may be hours and minutes
        ([minutes, last], None) if last.contains(['.', char::from(point)]) => {
            Some(f64::from(whole(minutes, 60)?) * 60.0 + seconds)
        }
        ([hours, minutes, _], half) => {
            let hours = match half {
                None => whole(hours, 24)?,
                Some(afternoon) => whole(hours, 13)?.checked_rem(12)? + 12 * u32::from(afternoon),
            };
            let minutes = f64::from(whole(minutes, 60)?);
            Some(f64::from(hours) * 3600.0 + minutes * 60.0 + seconds)
        }
        _ => None,
    }
}

fn halves(text: &str) -> (&str, Option<bool>) {
    let Some(at) = text
        .len()
        .checked_sub(2)
        .filter(|at| text.is_char_boundary(*at))
    else {
        return (text, None);
    };
    match &text[at..] {
        end if end.eq_ignore_ascii_case("am") => (text[..at].trim_end(), Some(false)),
        end if end.eq_ignore_ascii_case("pm") => (text[..at].trim_end(), Some(true)),
        _ => (text, None),
    }
}

fn is_date(text: &str) -> bool {
    text.bytes().filter(u8::is_ascii_digit).count() >= 4
        && text
            .bytes()
            .all(|byte| byte.is_ascii_digit() || matches!(byte, b'-' | b'/' | b'.'))
}

fn seconds(text: &str, point: u8) -> Option<f64> {
    let text = text.replace(char::from(point), ".");
    let (whole, _) = text.split_once('.').unwrap_or((&text, ""));
    let digits = text
        .bytes()
        .all(|byte| byte.is_ascii_digit() || byte == b'.');
    let value: f64 = text.parse().ok()?;
    // 60: a leap second
    (digits && (1..=2).contains(&whole.len()) && value < 61.0).then_some(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clock_times_are_seconds_of_the_day() {
        for (text, expected) in [
            ("00:00:00", Some(0.0)),
            ("14:03:07.250", Some(50_587.25)),
            ("14:03:07,250", Some(50_587.25)),
            ("2026-11-25 14:03:07.250", Some(50_587.25)),
            ("2026-11-25T14:03:07Z", Some(50_587.0)),
            ("25.11.2026 14:03:07", Some(50_587.0)),
            ("11/25/2026 02:03:07.5 PM", Some(50_587.5)),
            ("12:00:00 AM", Some(0.0)),
            ("12:30:00pm", Some(45_000.0)),
            ("03:07.5", Some(187.5)),
            ("03:07", None),
            ("25:00:00", None),
            ("13:00:00 PM", None),
            ("1:2:3:4", None),
            ("soon 14:03:07", None),
            ("14:61:00", None),
            ("14:03:99", None),
            ("::", None),
            ("12.5", None),
        ] {
            assert_eq!(read(text.as_bytes(), b','), expected, "{text}");
        }
        assert_eq!(read(b"14:03:07.250", b'.'), Some(50_587.25));
    }
}
