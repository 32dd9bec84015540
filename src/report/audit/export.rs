//! The flat line of each job for other programs: newline-delimited JSON, CSV and JSON. Texts come from
//! bundles, so nothing in them may steer a terminal, end a cell, or be taken for a formula.

use std::collections::BTreeMap;
use std::io::{self, Write};
use std::sync::Arc;

use serde::Serialize;
use serde_json::Value;

use crate::record::audit::Audit;
use crate::record::audit::figures::Figures;
use crate::record::audit::line::JobLine;
use crate::text::{clean, steers};

/// Value of `schema` of the JSON form.
pub const SCHEMA: &str = "evenfire.audit/1";

/// Characters with which a spreadsheet takes a cell for a formula or for a command (OWASP, CSV
/// Injection, from memory); full-width forms are read alike by some.
const FORMULA: [char; 12] = [
    '=', '+', '-', '@', '|', '%', '\t', '\r', '＝', '＋', '－', '＠',
];

/// One JSON object a line.
///
/// # Errors
/// Where it cannot be written.
pub fn ndjson(audit: &Audit, out: &mut dyn Write) -> io::Result<()> {
    for line in &audit.lines {
        writeln!(out, "{}", tame(&serde_json::to_string(line)?))?;
    }
    Ok(())
}

/// One object with the figures and all lines.
///
/// # Errors
/// Where it cannot be written.
pub fn json(audit: &Audit, out: &mut dyn Write) -> io::Result<()> {
    #[derive(Serialize)]
    struct Wrong<'a> {
        job: &'a str,
        what: &'a str,
    }
    #[derive(Serialize)]
    struct Whole<'a> {
        schema: &'static str,
        read: u64,
        believed: u64,
        figures: &'a Figures,
        wrong: Vec<Wrong<'a>>,
        done_again: &'a BTreeMap<String, String>,
        remarks: &'a [String],
        jobs: &'a [Arc<JobLine>],
    }
    let wrong = audit.wrong.iter();
    let whole = Whole {
        schema: SCHEMA,
        read: audit.read,
        believed: audit.believed,
        figures: &audit.figures,
        wrong: wrong.map(|(job, what)| Wrong { job, what }).collect(),
        done_again: &audit.done_again,
        remarks: &audit.remarks,
        jobs: &audit.lines,
    };
    writeln!(out, "{}", tame(&serde_json::to_string(&whole)?))
}

/// Comma-separated as RFC 4180 has it, a heading line first. Texts that a spreadsheet would take for a
/// formula get an apostrophe before them.
///
/// # Errors
/// Where it cannot be written.
pub fn csv(audit: &Audit, out: &mut dyn Write) -> io::Result<()> {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(out);
    // the names also where there is no job
    let names = cells(&JobLine::default())?
        .into_iter()
        .map(|(name, _)| name);
    writer.write_record(names).map_err(bare)?;
    for line in &audit.lines {
        let cells = cells(line)?.into_iter().map(|(_, cell)| cell);
        writer.write_record(cells).map_err(bare)?;
    }
    writer.flush()
}

/// The system's own error where there is one: wrapped, its kind would be lost, and that a reader went away is
/// told by the kind.
fn bare(error: csv::Error) -> io::Error {
    match error.into_kind() {
        csv::ErrorKind::Io(own) => own,
        other => io::Error::other(format!("{other:?}")),
    }
}

fn cells(line: &JobLine) -> io::Result<Vec<(String, String)>> {
    // in the order in which the fields stand, as `serde_json` is built here
    let text = serde_json::to_string(line)?;
    let fields: Fields = serde_json::from_str(&text)?;
    Ok(fields
        .0
        .into_iter()
        .map(|(name, value)| (name, cell(value)))
        .collect())
}

fn cell(value: Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => harmless(&clean(&text)),
        // more says nothing: an interval is points wide
        Value::Number(number) if number.is_f64() => {
            let value = number.as_f64().unwrap_or(f64::NAN);
            ((value * 1000.0).round() / 1000.0).to_string()
        }
        other => other.to_string(),
    }
}

fn harmless(text: &str) -> String {
    if text.trim_start().starts_with(FORMULA) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

/// JSON in which every character that could steer a terminal is written as its number; it reads back
/// as the same text.
fn tame(json: &str) -> String {
    let mut out = String::with_capacity(json.len());
    for c in json.chars() {
        if steers(c) {
            let mut units = [0; 2];
            for unit in c.encode_utf16(&mut units) {
                out.push_str(&format!("\\u{unit:04x}"));
            }
        } else {
            out.push(c);
        }
    }
    out
}

/// The fields of an object in the order in which they stand.
struct Fields(Vec<(String, Value)>);

impl<'de> serde::Deserialize<'de> for Fields {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct InOrder;
        impl<'de> serde::de::Visitor<'de> for InOrder {
            type Value = Fields;
            fn expecting(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                out.write_str("an object")
            }
            fn visit_map<A: serde::de::MapAccess<'de>>(
                self,
                mut map: A,
            ) -> Result<Fields, A::Error> {
                let mut fields = Vec::new();
                while let Some(field) = map.next_entry()? {
                    fields.push(field);
                }
                Ok(Fields(fields))
            }
        }
        from.deserialize_map(InOrder)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A pipe whose reader has gone away.
    struct Gone;

    impl Write for Gone {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(io::ErrorKind::BrokenPipe.into())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn a_reader_that_went_away_is_told_by_the_errors_kind() {
        // more than a writer keeps back
        let lines = (0..400).map(|_| Arc::default()).collect();
        let audit = Audit {
            lines,
            ..Audit::default()
        };
        for write in [csv, ndjson, json] {
            let fault = write(&audit, &mut Gone).unwrap_err();
            assert_eq!(fault.kind(), io::ErrorKind::BrokenPipe, "{fault}");
        }
    }

    fn audit(finding: &str) -> Audit {
        Audit {
            lines: vec![Arc::new(JobLine {
                job: "0001".into(),
                finding: Some(finding.into()),
                lowest_percent: Some(-1.5),
                captures: 2,
                ..JobLine::default()
            })],
            ..Audit::default()
        }
    }

    fn written(how: impl Fn(&Audit, &mut dyn Write) -> io::Result<()>, audit: &Audit) -> String {
        let mut out = Vec::new();
        how(audit, &mut out).unwrap();
        String::from_utf8(out).unwrap()
    }

    /// The cell as a reader of RFC 4180 gets it back.
    fn csv_cell(finding: &str, name: &str) -> String {
        let text = written(csv, &audit(finding));
        let mut reader = ::csv::Reader::from_reader(text.as_bytes());
        let at = reader
            .headers()
            .unwrap()
            .iter()
            .position(|own| own == name)
            .unwrap();
        let row = reader.records().next().unwrap().unwrap();
        row[at].to_owned()
    }

    #[test]
    fn no_text_is_a_formula_in_a_spreadsheet() {
        for text in [
            "=1+1",
            "+1",
            "-1",
            "@SUM(A1)",
            "  =1",
            "\t=1",
            "\r=1",
            "|x",
            "%x",
            "＝1",
            "\u{200b}=1",
        ] {
            let cell = csv_cell(text, "finding");
            assert!(cell.starts_with('\''), "{text:?} became {cell:?}");
        }
        assert_eq!(
            csv_cell("even, \"all\"\r\n=cells", "finding"),
            "even, \"all\"  =cells"
        );
        assert_eq!(csv_cell("Cylinder 3", "finding"), "Cylinder 3");
        // numbers are the program's own and stay numbers
        assert_eq!(csv_cell("", "lowest_percent"), "-1.5");
        assert_eq!(csv_cell("", "captures"), "2");
    }

    #[test]
    fn json_reads_back_and_steers_nothing() {
        let evil = "a\u{1b}[2J\u{9b}2J\u{202e}b\u{e0041}\"\\ Zoë 😀";
        for how in [ndjson, json] {
            let text = written(how, &audit(evil));
            assert!(!text.trim_end().contains(steers), "{text:?}");
        }
        let line = written(ndjson, &audit(evil));
        assert_eq!(line.lines().count(), 1);
        let back: JobLine = serde_json::from_str(&line).unwrap();
        assert_eq!(back.finding.as_deref(), Some(evil));
    }

    #[test]
    fn a_cell_has_no_more_decimals_than_mean_something() {
        let mut audit = audit("x");
        Arc::make_mut(&mut audit.lines[0]).lowest_percent = Some(57.149_859_252_048_57);
        let row = written(csv, &audit);
        assert!(row.contains(",57.15,"), "{row}");
        let line = written(ndjson, &audit);
        assert!(line.contains("57.14985925204857"), "{line}");
    }

    #[test]
    fn an_empty_register_still_names_its_columns() {
        let text = written(csv, &Audit::default());
        assert!(text.starts_with("schema,job,status,findings,shop,"));
        assert_eq!(text.lines().count(), 1);
        assert_eq!(written(ndjson, &Audit::default()), "");
    }

    #[test]
    fn a_cell_names_the_job_that_was_done_again() {
        let mut audit = audit("x");
        Arc::make_mut(&mut audit.lines[0]).done_again_by = Some("0009".into());
        let row = written(csv, &audit);
        assert!(row.trim_end().ends_with(",0009"), "{row}");
    }

    #[test]
    fn every_line_is_flat() {
        let line = written(ndjson, &audit("x"));
        let Value::Object(fields) = serde_json::from_str(&line).unwrap() else {
            panic!("not an object");
        };
        assert!(
            fields
                .values()
                .all(|value| !value.is_object() && !value.is_array())
        );
    }
}
