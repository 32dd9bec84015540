//! Whatever can be recorded, written in any dialect, reads back equal: number by number, bit by bit where
//! the unit is the base unit.

use std::fmt::Write;

use evenfire::capture::setup;
use evenfire::capture::{self, take};
use evenfire::simulate::draw::Wish;
use evenfire::simulate::practice::practice;
use proptest::prelude::*;

use super::fixture::{gzip, wide, with};

#[derive(Debug, Clone)]
struct Dialect {
    delimiter: &'static str,
    comma: bool,
    quoted: bool,
    line_end: &'static str,
    preamble: bool,
    units: Units,
    encoding: Encoding,
    packed: bool,
    last_line_end: bool,
    other_columns: bool,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Units {
    None,
    Brackets,
    Row,
    Milli,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Encoding {
    Plain,
    Marked,
    Utf16Le,
    Utf16Be,
}

fn dialects() -> impl Strategy<Value = Dialect> {
    let delimiter = prop_oneof![Just(","), Just(";"), Just("\t"), Just("|"), Just("   ")];
    let line_end = prop_oneof![Just("\n"), Just("\r\n"), Just("\r")];
    let units = prop_oneof![
        Just(Units::None),
        Just(Units::Brackets),
        Just(Units::Row),
        Just(Units::Milli)
    ];
    let encoding = prop_oneof![
        Just(Encoding::Plain),
        Just(Encoding::Marked),
        Just(Encoding::Utf16Le),
        Just(Encoding::Utf16Be)
    ];
    (
        delimiter,
        any::<bool>(),
        any::<bool>(),
        line_end,
        any::<bool>(),
        units,
        encoding,
        any::<[bool; 3]>(),
    )
        .prop_map(
            |(
                delimiter,
                comma,
                quoted,
                line_end,
                preamble,
                units,
                encoding,
                [packed, last_line_end, other_columns],
            )| Dialect {
                delimiter,
                // a comma cannot be both
                comma: comma && delimiter != ",",
                quoted,
                line_end,
                preamble,
                units,
                encoding,
                packed,
                last_line_end,
                other_columns,
            },
        )
}

impl Dialect {
    fn write(&self, rows: &[(f64, f64)]) -> Vec<u8> {
        let mut text = String::new();
        if self.preamble {
            text.push_str("Bay two\nTaken on a Monday\n\n");
        }
        let names = match self.units {
            Units::None | Units::Row => ["time", "volts"],
            Units::Brackets => ["time (s)", "volts [V]"],
            Units::Milli => ["time (ms)", "volts [mV]"],
        };
        let name = |text: &str| {
            let word = if self.delimiter == "   " {
                text.replace(' ', "")
            } else {
                text.to_owned()
            };
            if self.quoted {
                format!("\"{word}\"")
            } else {
                word
            }
        };
        self.row(&mut text, &name(names[0]), &name(names[1]), &name("note"));
        if self.units == Units::Row {
            self.row(&mut text, "s", "V", "-");
        }
        for (time, volts) in rows {
            let (time, volts) = match self.units {
                Units::Milli => (time * 1000.0, volts * 1000.0),
                _ => (*time, *volts),
            };
            let cell = |number: f64| {
                let digits = if self.comma {
                    number.to_string().replace('.', ",")
                } else {
                    number.to_string()
                };
                if self.quoted {
                    format!("\"{digits}\"")
                } else {
                    digits
                }
            };
            self.row(&mut text, &cell(time), &cell(volts), "x");
        }
        if !self.last_line_end {
            text.pop();
        }
        let text = text.replace('\n', self.line_end);
        let bytes = match self.encoding {
            Encoding::Plain => text.into_bytes(),
            Encoding::Marked => format!("\u{feff}{text}").into_bytes(),
            Encoding::Utf16Le => wide(&format!("\u{feff}{text}"), false),
            Encoding::Utf16Be => wide(&format!("\u{feff}{text}"), true),
        };
        if self.packed { gzip(&bytes) } else { bytes }
    }

    fn row(&self, text: &mut String, time: &str, volts: &str, note: &str) {
        let between = self.delimiter;
        text.push_str(time);
        if self.other_columns {
            write!(text, "{between}{note}").unwrap();
        }
        writeln!(text, "{between}{volts}").unwrap();
    }
}

/// Rows whose time rises; one value has decimals at least, so that the decimal sign shows.
fn rows() -> impl Strategy<Value = Vec<(f64, f64)>> {
    let number = prop_oneof![
        -20.0..20.0f64,
        (-4000..4000i32).prop_map(|n| f64::from(n) / 100.0),
        (-5..5i32).prop_map(f64::from),
    ];
    (
        0.0..1e4f64,
        proptest::collection::vec((1u32..100_000, number), 2..60),
    )
        .prop_map(|(start, steps)| {
            let mut time = (start * 1e4).round() / 1e4;
            let mut rows: Vec<(f64, f64)> = Vec::new();
            for (step, value) in steps {
                time = ((time + f64::from(step) * 1e-4) * 1e4).round() / 1e4;
                rows.push((time, value));
            }
            // in thousandths too
            rows[0].1 = 0.250_25;
            rows
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_dialect_reads_back_equal(rows in rows(), dialect in dialects()) {
        let bytes = dialect.write(&rows);
        let setup = with("time: {column: time}\nchannels: {battery_voltage: {column: volts}}\n");
        let recording = take(bytes.as_slice(), "c", &setup)
            .map_err(|error| TestCaseError::fail(format!("{error}\n{:?}", String::from_utf8_lossy(&bytes))))?;
        let time = &recording.capture.time;
        let volts = &recording.capture.columns["volts"];
        prop_assert_eq!(time.len(), rows.len());
        for (row, (t, u)) in rows.iter().enumerate() {
            if dialect.units == Units::Milli {
                prop_assert!((time[row] - t).abs() <= 1e-12 * t.abs().max(1.0));
                prop_assert!((volts[row] - u).abs() <= 1e-12);
            } else {
                prop_assert_eq!((time[row].to_bits(), volts[row].to_bits()), (t.to_bits(), u.to_bits()));
            }
        }
        prop_assert_eq!(recording.understood.rows, rows.len() as u64);
    }
}

/// The simulator's own captures, in dialects that change every character, give the same analysis.
#[test]
fn simulated_captures_analyse_alike_in_every_dialect() {
    for seed in 20..24 {
        let made = practice(seed, &Wish::anything()).unwrap();
        let plain = made.csv();
        let setup = made.setup();
        let expected = capture::read(plain.as_bytes(), "c", &setup).unwrap();
        let answer = evenfire::cranking::analyse(&expected, &setup);
        let commas = plain
            .replace(',', ";")
            .replace('.', ",")
            .replace('\n', "\r\n");
        let dialects = [
            commas.clone().into_bytes(),
            gzip(commas.as_bytes()),
            wide(&format!("\u{feff}{}", plain.replace(',', "\t")), true),
            plain.replace(',', "    ").into_bytes(),
            format!("Bay two\n\n{}", plain.replace('\n', ",\"a, b\"\n")).into_bytes(),
        ];
        for bytes in dialects {
            let recording = take(bytes.as_slice(), "c", &setup).unwrap();
            assert_eq!(recording.capture, expected);
            assert_eq!(
                evenfire::cranking::analyse(&recording.capture, &recording.setup),
                answer
            );
        }
        assert_eq!(setup::read(&setup::write(&setup), "s").unwrap(), setup);
    }
}
