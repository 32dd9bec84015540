//! What was understood of a capture, as it is shown before use and kept in the record.

use serde::{Deserialize, Serialize};

use crate::capture::setup::{Edge, Reference};

/// Name and version of the machine format.
pub const SCHEMA: &str = "evenfire.capture/1";

/// What was understood.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Understood {
    /// "text" or "wave".
    pub form: String,
    /// Whether it was packed by gzip.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub gzip: bool,
    /// How text is encoded.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub encoding: Option<String>,
    /// What stands between cells.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub delimiter: Option<String>,
    /// Sign before decimals.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub decimal: Option<String>,
    /// Line of the headings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub header_line: Option<u64>,
    /// Line of the units.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit_line: Option<u64>,
    /// Rows of the file.
    pub rows: u64,
    /// How many rows were made one; 1 where all were kept.
    pub rows_made_one: u64,
    /// Where time comes from.
    pub time: String,
    /// First and last time, seconds.
    pub span_s: (f64, f64),
    /// Rows a second, on average.
    pub rate_hz: f64,
    /// The columns that were read.
    pub columns: Vec<Column>,
    /// What else is worth knowing.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub remarks: Vec<String>,
}

/// One column.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Column {
    /// Its number, from 1.
    pub number: u64,
    /// Its heading.
    pub heading: String,
    /// Its unit, as the file has it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// The channels that it is, as the set-up has it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub channels: Vec<String>,
    /// What its numbers are multiplied by.
    pub factor: f64,
    /// Least number, scaled.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least: Option<f64>,
    /// Greatest number, scaled.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub greatest: Option<f64>,
    /// Upper end of the scope's ± range, scaled, where the set-up tells it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub range: Option<f64>,
    /// Samples beyond the range.
    pub over_range: u64,
}

impl Understood {
    /// All of it in sentences, for the record.
    #[must_use]
    pub fn lines(&self) -> Vec<String> {
        let mut lines = vec![self.table(), self.time_line()];
        lines.extend(self.columns.iter().map(Column::line));
        lines.extend(self.remarks.iter().cloned());
        lines
    }

    /// What kind of file it is.
    #[must_use]
    pub fn table(&self) -> String {
        let mut parts = Vec::new();
        if self.gzip {
            parts.push("packed by gzip".to_owned());
        }
        parts.push(if self.form == "wave" {
            "a sound file".to_owned()
        } else {
            "text".to_owned()
        });
        parts.extend(self.encoding.clone());
        let delimiter = self.delimiter.as_ref();
        parts.extend(delimiter.map(|delimiter| format!("separated by {delimiter}")));
        let decimal = self.decimal.as_ref();
        parts.extend(decimal.map(|decimal| format!("decimal {decimal}")));
        parts.extend(
            self.header_line
                .map(|line| format!("headings in line {line}")),
        );
        parts.extend(self.unit_line.map(|line| format!("units in line {line}")));
        parts.join(", ")
    }

    /// The time axis and the rows on it.
    #[must_use]
    pub fn time_line(&self) -> String {
        let (from, to) = self.span_s;
        format!(
            "time: {}; {} to {} s, {} rows, {} a second",
            self.time,
            short(from),
            short(to),
            self.rows,
            short(self.rate_hz)
        )
    }
}

impl Column {
    /// Current and voltage come out in amperes and volts, other columns as the file has them.
    fn shown_unit(&self) -> Option<&str> {
        let is = |name: &str| self.channels.iter().any(|channel| channel == name);
        if is("starter_current") {
            return Some("A");
        }
        if is("battery_voltage") {
            return Some("V");
        }
        self.unit.as_deref().filter(|_| self.factor == 1.0)
    }

    fn line(&self) -> String {
        let mut line = format!("column {}, {:?}", self.number, self.heading);
        if !self.channels.is_empty() {
            line.push_str(&format!(": {}", self.channels.join(" and ")));
        }
        if self.factor != 1.0 {
            line.push_str(&format!(", numbers times {}", short(self.factor)));
        }
        if let (Some(least), Some(greatest)) = (self.least, self.greatest) {
            let unit = self
                .shown_unit()
                .map_or(String::new(), |unit| format!(" {unit}"));
            line.push_str(&format!(", {} to {}{unit}", short(least), short(greatest)));
            if let Some(range) = self.range {
                line.push_str(&format!(", in a range of ±{}{unit}", short(range)));
            }
        }
        if self.over_range > 0 {
            line.push_str(&format!(", {} samples beyond the range", self.over_range));
        }
        line
    }
}

impl Reference {
    /// What it says of the engine, for whoever names cylinders by it.
    #[must_use]
    pub fn line(&self) -> String {
        let turns = if self.every_deg == 720.0 {
            "two turns"
        } else {
            "every turn"
        };
        let edge = match self.edge {
            Edge::Rising => "where it rises",
            Edge::Falling => "where it falls",
            Edge::Peak => "at its peak",
        };
        let (degrees, side) = (
            self.before_tdc_deg.abs(),
            if self.before_tdc_deg < 0.0 {
                "after"
            } else {
                "before"
            },
        );
        format!(
            "column {:?}: event of cylinder {}, {degrees}° {side} its firing top dead centre, {edge}, once in {turns}",
            self.column, self.cylinder
        )
    }
}

/// Six significant digits, without zeros that say nothing.
#[must_use]
pub fn short(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return value.to_string();
    }
    let digits = (5 - value.abs().log10().floor() as i32).clamp(0, 12) as usize;
    let text = format!("{value:.digits$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_column_tells_its_unit_and_the_range_that_was_set() {
        let column = Column {
            number: 2,
            heading: "posts".to_owned(),
            unit: Some("mV".to_owned()),
            channels: vec!["battery_voltage".to_owned()],
            factor: 1e-3,
            least: Some(-0.31),
            greatest: Some(0.28),
            range: Some(2.0),
            over_range: 0,
        };
        assert_eq!(
            column.line(),
            "column 2, \"posts\": battery_voltage, numbers times 0.001, -0.31 to 0.28 V, in a range of ±2 V"
        );
        let reference = Column {
            unit: None,
            channels: vec!["reference".to_owned()],
            range: None,
            ..column
        };
        assert!(
            reference.line().ends_with("-0.31 to 0.28"),
            "{}",
            reference.line()
        );
    }

    #[test]
    fn numbers_are_short() {
        for (value, text) in [
            (0.0, "0"),
            (12.5, "12.5"),
            (1000.0, "1000"),
            (8.123_456_78, "8.12346"),
            (-0.001, "-0.001"),
            (1_234_567.0, "1234567"),
        ] {
            assert_eq!(short(value), text);
        }
    }
}
