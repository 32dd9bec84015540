//! What a set-up may say about how its capture is to be read: the table's form where that is in doubt,
//! time without a column of seconds, and how the channels' numbers become volts and amperes.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::clamps::Clamp;
use crate::capture::unit::{self, Dimension, Factor};

/// Everything about reading that a set-up says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Keys {
    /// The form of the table.
    pub table: TableKeys,
    /// Unit of the time column: a unit of time, or a clock's hours, minutes and seconds.
    pub time_unit: Option<TimeUnit>,
    /// Rows a second, where the time column counts rows or there is none.
    pub rate_hz: Option<f64>,
    /// Channels whose numbers are scaled, by name.
    pub scaling: BTreeMap<&'static str, Scaling>,
}

/// The form of a table.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TableKeys {
    /// What stands between cells.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub delimiter: Option<Delimiter>,
    /// Sign before decimals.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub decimal: Option<Decimal>,
    /// Line that holds the columns' headings.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub header_line: Option<u64>,
    /// Names of the columns from the left, where the file has no headings.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub columns: Option<Vec<String>>,
    /// Which of several recordings in one file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub segment: Option<Segment>,
}

/// What stands between cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Delimiter {
    /// A comma.
    Comma,
    /// A semicolon.
    Semicolon,
    /// A tab.
    Tab,
    /// An upright bar.
    Bar,
    /// Blanks or tabs, one or more.
    Blank,
}

impl Delimiter {
    /// All, in the order in which they are tried.
    pub const ALL: [Self; 5] = [
        Self::Comma,
        Self::Semicolon,
        Self::Tab,
        Self::Bar,
        Self::Blank,
    ];

    /// Its byte; for blanks the usual one.
    #[must_use]
    pub fn byte(self) -> u8 {
        match self {
            Self::Comma => b',',
            Self::Semicolon => b';',
            Self::Tab => b'\t',
            Self::Bar => b'|',
            Self::Blank => b' ',
        }
    }

    /// Its name, as set-ups write it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Comma => "comma",
            Self::Semicolon => "semicolon",
            Self::Tab => "tab",
            Self::Bar => "bar",
            Self::Blank => "blank",
        }
    }
}

/// Sign before decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Decimal {
    /// A point.
    Point,
    /// A comma.
    Comma,
}

impl Decimal {
    /// Its byte.
    #[must_use]
    pub fn byte(self) -> u8 {
        match self {
            Self::Point => b'.',
            Self::Comma => b',',
        }
    }

    /// Its name, as set-ups write it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Point => "point",
            Self::Comma => "comma",
        }
    }
}

/// Which of several recordings in one file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Segment {
    /// The first is 1.
    Number(u64),
    /// All, where their time goes on.
    Named(AllSegments),
}

/// The word for all segments.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AllSegments {
    /// All.
    All,
}

/// Units of a time column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum TimeUnit {
    /// Seconds.
    #[serde(rename = "s")]
    Seconds,
    /// Milliseconds.
    #[serde(rename = "ms")]
    Milliseconds,
    /// Microseconds.
    #[serde(rename = "us", alias = "µs")]
    Microseconds,
    /// Nanoseconds.
    #[serde(rename = "ns")]
    Nanoseconds,
    /// Hours, minutes and seconds.
    #[serde(rename = "clock")]
    Clock,
}

impl TimeUnit {
    /// Its sign.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Seconds => "s",
            Self::Milliseconds => "ms",
            Self::Microseconds => "us",
            Self::Nanoseconds => "ns",
            Self::Clock => "clock",
        }
    }
}

/// How a channel's numbers become volts or amperes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Scaling {
    /// Unit of the numbers, where the file does not say it or says it wrongly.
    pub unit: Option<String>,
    /// Factor of an attenuator, of counts, or of a sound file's full swing.
    pub scale: Option<f64>,
    /// What a current clamp puts out.
    pub millivolt_per_ampere: Option<f64>,
    /// Which of the shop's clamps measured.
    pub clamp: Option<String>,
    /// That clamp, as the shop's list has it.
    pub listed: Option<Clamp>,
}

impl Scaling {
    /// Nothing is said.
    #[must_use]
    pub fn is_none(&self) -> bool {
        *self == Self::default()
    }

    /// Volts to amperes by the clamp, where there is one.
    #[must_use]
    pub fn clamped(&self) -> Option<Factor> {
        let given = self.millivolt_per_ampere.map(|mv| Factor {
            times: 1000.0,
            over: mv,
        });
        self.listed.as_ref().map(Clamp::factor).or(given)
    }

    /// The factor that a channel's numbers are taken by; `stated` is the unit that the file states, None a
    /// column without. Err: what does not fit.
    ///
    /// # Errors
    /// A sentence, and what to do, where the unit is not one of the channel's.
    pub fn factor(
        &self,
        wanted: Dimension,
        stated: Option<&str>,
    ) -> Result<Factor, (String, String)> {
        let scale = Factor {
            times: self.scale.unwrap_or(1.0),
            over: 1.0,
        };
        let clamp = self.clamped();
        let written = self.unit.as_deref().or(stated);
        let Some(written) = written else {
            return Ok(clamp.map_or(scale, |clamp| scale.and(clamp)));
        };
        let Some(unit) = unit::parse(written) else {
            let message = format!("its unit is {written:?}, not one of {}", wanted.base());
            let remedy = format!(
                "Name the right column, or give the channel's unit in the set-up, as in unit: {}",
                wanted.base()
            );
            return Err((message, remedy));
        };
        let scaled = scale.and(unit.factor);
        match (unit.dimension == wanted, clamp) {
            (true, None) => Ok(scaled),
            (false, Some(clamp)) if unit.dimension == Dimension::Voltage => Ok(scaled.and(clamp)),
            (true, Some(_)) => Err((
                format!("it is in {written} already; a clamp's factor would turn volts into it"),
                "Leave clamp or millivolt_per_ampere out, or correct the unit.".to_owned(),
            )),
            _ if wanted == Dimension::Current && unit.dimension == Dimension::Voltage => Err((
                format!("it is in {written}, and a starter current is in A"),
                "Name the shop's clamp, as in clamp: big, or give what it puts out, as in \
                 millivolt_per_ampere: 1, or unit: A if the numbers are amperes all the same."
                    .to_owned(),
            )),
            _ => Err((
                format!(
                    "it is in {written}, and the channel is in {}",
                    wanted.base()
                ),
                format!(
                    "Name the right column, or give the channel's unit in the set-up, as in unit: {}",
                    wanted.base()
                ),
            )),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_scaled_by_unit_attenuator_and_clamp() {
        let plain = Scaling::default();
        let of = |scaling: &Scaling, wanted, stated, number| {
            scaling
                .factor(wanted, stated)
                .map(|factor| factor.of(number))
        };
        assert_eq!(of(&plain, Dimension::Voltage, None, 12.5), Ok(12.5));
        assert_eq!(
            of(&plain, Dimension::Voltage, Some("mV"), 12_500.0),
            Ok(12.5)
        );
        let probe = Scaling {
            scale: Some(10.0),
            ..Scaling::default()
        };
        assert_eq!(of(&probe, Dimension::Voltage, Some("mV"), 1250.0), Ok(12.5));
        // 10 mV/A: 2.5 V are 250 A
        let clamp = Scaling {
            millivolt_per_ampere: Some(10.0),
            ..Scaling::default()
        };
        for (stated, number) in [(Some("V"), 2.5), (None, 2.5), (Some("mV"), 2500.0)] {
            assert_eq!(of(&clamp, Dimension::Current, stated, number), Ok(250.0));
        }
        let told = Scaling {
            unit: Some("A".into()),
            ..Scaling::default()
        };
        assert_eq!(of(&told, Dimension::Current, Some("V"), 250.0), Ok(250.0));
    }

    #[test]
    fn units_that_do_not_fit_are_doubted() {
        let plain = Scaling::default();
        let clamp = Scaling {
            millivolt_per_ampere: Some(1.0),
            ..Scaling::default()
        };
        for (scaling, wanted, stated) in [
            (&plain, Dimension::Current, "V"),
            (&plain, Dimension::Voltage, "A"),
            (&plain, Dimension::Voltage, "bar"),
            (&clamp, Dimension::Current, "A"),
            (&clamp, Dimension::Current, "s"),
        ] {
            let (message, remedy) = scaling.factor(wanted, Some(stated)).unwrap_err();
            assert!(message.contains(stated) && !remedy.is_empty(), "{message}");
        }
    }
}
