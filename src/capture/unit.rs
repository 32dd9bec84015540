//! Units as headers, unit rows and set-ups write them: seconds, volts and amperes with their prefixes.
//! Other units are kept as text; nothing is scaled by them.

/// What a unit measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dimension {
    /// Seconds.
    Time,
    /// Volts.
    Voltage,
    /// Amperes.
    Current,
}

impl Dimension {
    /// Its base unit.
    #[must_use]
    pub fn base(self) -> &'static str {
        match self {
            Dimension::Time => "s",
            Dimension::Voltage => "V",
            Dimension::Current => "A",
        }
    }
}

/// How numbers become others: times one factor, over another. Two, because a thousandth is no binary
/// number: 1500 / 1000 is exact, 1500 × 0.001 is not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Factor {
    /// Multiplied with.
    pub times: f64,
    /// Divided by.
    pub over: f64,
}

impl Factor {
    /// Numbers stay as they are.
    pub const ONE: Self = Self {
        times: 1.0,
        over: 1.0,
    };

    /// One number made another.
    #[must_use]
    pub fn of(self, number: f64) -> f64 {
        number * self.times / self.over
    }

    /// Both, one after the other.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self {
            times: self.times * other.times,
            over: self.over * other.over,
        }
    }
}

/// A unit that numbers can be scaled by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// What it measures.
    pub dimension: Dimension,
    /// From numbers in it to numbers in the base unit.
    pub factor: Factor,
}

const TIMES: [&str; 5] = ["s", "sec", "secs", "second", "seconds"];
const VOLTAGES: [&str; 4] = ["V", "volt", "volts", "Volts"];
const CURRENTS: [&str; 6] = ["A", "amp", "amps", "ampere", "amperes", "Amps"];

/// Read a unit: `s`, `ms`, `µs`, `mV`, `kA`, `volts`. None where it is none of seconds, volts or amperes.
#[must_use]
pub fn parse(text: &str) -> Option<Unit> {
    let text = text.trim();
    let words = [
        (Dimension::Time, &TIMES[..]),
        (Dimension::Voltage, &VOLTAGES[..]),
        (Dimension::Current, &CURRENTS[..]),
    ];
    words.into_iter().find_map(|(dimension, words)| {
        words.iter().find_map(|word| {
            let prefix = strip_word(text, word)?;
            let factor = prefixed(prefix)?;
            Some(Unit { dimension, factor })
        })
    })
}

/// What stands before a unit's word. Short words are symbols, where capitals mean something; long ones are
/// language.
fn strip_word<'t>(text: &'t str, word: &str) -> Option<&'t str> {
    let at = text.len().checked_sub(word.len())?;
    let (before, end) = (text.get(..at)?, text.get(at..)?);
    let same = end == word || (word.len() > 1 && end.eq_ignore_ascii_case(word));
    same.then_some(before)
}

fn prefixed(prefix: &str) -> Option<Factor> {
    let (times, over) = match prefix {
        "" => (1.0, 1.0),
        "n" | "nano" => (1.0, 1e9),
        // the micro sign and the Greek letter look alike and are two characters
        "u" | "µ" | "μ" | "micro" => (1.0, 1e6),
        "m" | "milli" => (1.0, 1e3),
        "k" | "kilo" => (1e3, 1.0),
        _ => return None,
    };
    Some(Factor { times, over })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Prefixes of the International System of Units (SI brochure, table 7).
    #[test]
    fn prefixes_scale_and_words_are_read() {
        for (text, dimension, number, becomes) in [
            ("s", Dimension::Time, 1.5, 1.5),
            ("ms", Dimension::Time, 1500.0, 1.5),
            ("µs", Dimension::Time, 1.0, 1e-6),
            ("μs", Dimension::Time, 1.0, 1e-6),
            ("us", Dimension::Time, 1.0, 1e-6),
            ("ns", Dimension::Time, 1.0, 1e-9),
            ("Seconds", Dimension::Time, 2.0, 2.0),
            ("msec", Dimension::Time, 3.0, 0.003),
            ("mV", Dimension::Voltage, 12_600.0, 12.6),
            ("Volts", Dimension::Voltage, 12.6, 12.6),
            ("kA", Dimension::Current, 0.3, 300.0),
            ("A", Dimension::Current, -7.0, -7.0),
        ] {
            let unit = parse(text).unwrap();
            assert_eq!(unit.dimension, dimension, "{text}");
            assert_eq!(unit.factor.of(number), becomes, "{text}");
        }
        for text in [
            "", "S", "v", "a", "%", "°C", "rpm", "bar", "MS", "kOhm", "Hz", "data",
        ] {
            assert_eq!(parse(text), None, "{text}");
        }
    }
}
