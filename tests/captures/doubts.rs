//! Files that are in doubt or broken: an error with place, what was found and expected, and what to do;
//! where there are choices, the choices.

use super::fixture::{by, gzip, read, wide, with};

/// Name, keys of the set-up, file, line and column, and words of the message and of the remedy.
type Doubt = (
    &'static str,
    &'static str,
    Vec<u8>,
    (u64, u64),
    &'static str,
    &'static str,
);

fn doubt(
    name: &'static str,
    keys: &'static str,
    bytes: impl Into<Vec<u8>>,
    place: (u64, u64),
    says: &'static str,
    remedy: &'static str,
) -> Doubt {
    (name, keys, bytes.into(), place, says, remedy)
}

fn forms() -> Vec<Doubt> {
    vec![
        doubt(
            "thousands or decimals",
            "",
            "time;volts\n1;1,234\n2;2,345\n",
            (2, 2),
            "thousands",
            "decimal: comma",
        ),
        doubt(
            "points and commas",
            "",
            "time;volts\n0.1;1,5\n0.2;2,5\n",
            (2, 2),
            "has a point",
            "decimal: point",
        ),
        doubt(
            "decimal commas between commas",
            "",
            "time,volts\n0,1,2,5\n0,2,3,5\n",
            (1, 0),
            "twice as many cells",
            "semicolons",
        ),
        doubt(
            "decimal comma only far down",
            "",
            format!(
                "time;volts\n{}9999;2,5\n",
                (0..2000).map(|i| format!("{i};1\n")).collect::<String>()
            ),
            (2002, 2),
            "\"2,5\" stands there",
            "decimal: comma",
        ),
        doubt(
            "one column or two",
            "time: {rate_hz: 50}",
            "volts\n0,5\n0,6\n",
            (1, 0),
            "different numbers",
            "delimiter:",
        ),
        doubt(
            "headings twice",
            "",
            "time,volts\n0,1\n1,2\ntime,volts\n0,1\n1,2\n",
            (4, 0),
            "several segments",
            "segment: 1",
        ),
        doubt(
            "time begins again",
            "",
            "time,volts\n0,1\n1,2\n0,1\n1,2\n",
            (4, 1),
            "time goes from 1 to 0",
            "segment: 1",
        ),
        doubt(
            "segment that is not there",
            "table: {segment: 3}",
            "time,volts\n0,1\n1,2\n0,1\n1,2\n",
            (0, 0),
            "the file has 2",
            "the first is 1",
        ),
        doubt(
            "header line beyond the file",
            "table: {header_line: 7}",
            "time,volts\n0,1\n1,2\n",
            (7, 0),
            "nothing stands there",
            "header_line",
        ),
        doubt(
            "more names than columns",
            "table: {columns: [time, volts, mark]}",
            "0,1\n1,2\n",
            (0, 0),
            "3 columns",
            "Name as many columns",
        ),
        doubt(
            "a quote that is never closed",
            "",
            "time,volts\n0,1\n1,\"2\n2,3\n3,4\n",
            (3, 2),
            "stands there",
            "Mend",
        ),
        doubt(
            "cut off in the first row",
            "",
            "time,volts\n0",
            (2, 2),
            "the row ends before it",
            "Mend",
        ),
        doubt(
            "word in the last row",
            "",
            "time,volts\n0,1\n1,2\n2,x",
            (4, 2),
            "\"x\" stands there",
            "Mend",
        ),
        doubt(
            "words for a number",
            "",
            "time,volts\n0,1\n1,NaN\n",
            (3, 2),
            "\"NaN\" stands there",
            "Mend",
        ),
        doubt(
            "thousands set apart",
            "",
            "time,volts\n0,1\n1,1 000\n",
            (3, 2),
            "\"1 000\" stands there",
            "Mend",
        ),
    ]
}

fn times() -> Vec<Doubt> {
    vec![
        doubt(
            "no time column",
            "",
            "volts,mark\n1,2\n2,3\n",
            (1, 1),
            "no time column is named",
            "rate_hz: 1000",
        ),
        doubt(
            "a voltage for time",
            "",
            "other (V),volts\n1,2\n2,3\n",
            (1, 1),
            "its unit is \"V\"",
            "time: {column:",
        ),
        doubt(
            "a voltage for time, another column is time",
            "",
            "other (V),volts,t (ms)\n1,2,3\n2,3,4\n",
            (1, 1),
            "its unit is \"V\"",
            "column: \"t (ms)\"",
        ),
        doubt(
            "sample numbers without a rate",
            "",
            "sample,volts\n1,2\n2,3\n",
            (1, 1),
            "may count rows",
            "rate_hz: 1000",
        ),
        doubt(
            "a clock without fractions",
            "",
            "time,volts\n10:00:00,1\n10:00:00,2\n",
            (3, 1),
            "time goes from",
            "rate_hz",
        ),
        doubt(
            "hours and minutes or minutes and seconds",
            "",
            "time,volts\n10:00,1\n10:01,2\n10:02,3\n",
            (2, 1),
            "\"10:00\" stands there",
            "14:03:07.250",
        ),
        doubt(
            "time too coarse",
            "",
            "time,volts\n0.00,1\n0.00,2\n0.01,3\n",
            (3, 1),
            "it must rise",
            "more decimals",
        ),
        doubt(
            "time beyond the range",
            "",
            "time,volts\n0,1\n∞,2\n",
            (3, 1),
            "\"∞\" stands there",
            "Mend",
        ),
        doubt(
            "a clock that goes back",
            "",
            "time,volts\n10:00:01.0,1\n10:00:00.0,2\n",
            (3, 1),
            "it must rise",
            "segment",
        ),
    ]
}

fn strangers() -> Vec<Doubt> {
    let packed = gzip("time,volts\n0,1\n1,2\n".repeat(500).as_bytes());
    vec![
        doubt(
            "a spreadsheet",
            "",
            b"PK\x03\x04\x14\0\x06\0".to_vec(),
            (0, 0),
            "spreadsheet",
            "as CSV",
        ),
        doubt(
            "an old spreadsheet",
            "",
            b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1".to_vec(),
            (0, 0),
            "spreadsheet",
            "as CSV",
        ),
        doubt("a document", "", "%PDF-1.7\n", (0, 0), "PDF", "as CSV"),
        doubt(
            "a picture",
            "",
            b"\x89PNG\r\n\x1a\n".to_vec(),
            (0, 0),
            "picture",
            "as CSV",
        ),
        doubt(
            "gzip that ends early",
            "",
            packed[..packed.len() / 2].to_vec(),
            (0, 0),
            "gzip file is damaged",
            "Copy the file again",
        ),
        doubt(
            "gzip twice",
            "",
            gzip(&packed),
            (0, 0),
            "packed by gzip twice",
            "Unpack",
        ),
        doubt(
            "UTF-16 with nothing in it",
            "",
            wide("\u{feff}", false),
            (0, 0),
            "empty",
            "Save",
        ),
        doubt(
            "a web page",
            "",
            "<!DOCTYPE html>\n<html><body>Log in</body></html>\n",
            (1, 0),
            "no column is headed",
            "header",
        ),
        doubt(
            "one long line",
            "",
            "x".repeat(3_000_000),
            (1, 0),
            "no column is headed",
            "header",
        ),
    ]
}

#[test]
fn doubts_and_faults_name_place_choice_and_remedy() {
    let mut wrong = Vec::new();
    for (name, keys, bytes, place, says, remedy) in
        forms().into_iter().chain(times()).chain(strangers())
    {
        match read(&bytes, &by(keys)) {
            Ok(recording) => wrong.push(format!("{name}: read {:?}", recording.understood)),
            Err(error) => {
                let good = (error.line, error.column) == place
                    && error.message.contains(says)
                    && error.remedy.contains(remedy)
                    && error.to_string().len() < 2000;
                if !good {
                    let (line, column) = (error.line, error.column);
                    wrong.push(format!(
                        "{name}: {line}:{column} {} / {}",
                        error.message, error.remedy
                    ));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn units_that_contradict_the_channel_are_doubted() {
    for (channel, heading, says) in [
        (
            "starter_current: {column: clamp}",
            "clamp (V)",
            "millivolt_per_ampere",
        ),
        ("battery_voltage: {column: clamp}", "clamp (A)", "unit: V"),
        ("battery_voltage: {column: clamp}", "clamp (bar)", "unit: V"),
        (
            "starter_current: {column: clamp, millivolt_per_ampere: 1}",
            "clamp (A)",
            "millivolt_per_ampere",
        ),
    ] {
        let setup = with(&format!("channels: {{{channel}}}\n"));
        let text = format!("time,{heading}\n0,1\n1,2\n");
        let error = read(text.as_bytes(), &setup).unwrap_err();
        assert_eq!((error.line, error.column), (1, 2), "{error}");
        assert!(error.to_string().contains(says), "{error}");
    }
}

/// A clamp of 10 mV/A that reads 2.5 V sees 250 A; an attenuator of ten makes 1.25 V into 12.5 V.
#[test]
fn clamps_and_attenuators_scale_and_the_range_goes_with_them() {
    for (channel, text, expected, range) in [
        (
            "starter_current: {column: x, millivolt_per_ampere: 10, full_scale: 5}",
            "time,x (V)\n0,2.5\n1,-1\n",
            [250.0, -100.0],
            500.0,
        ),
        (
            "battery_voltage: {column: x, scale: 10, full_scale: 2}",
            "time,x\n0,1.25\n1,1\n",
            [12.5, 10.0],
            20.0,
        ),
        (
            "battery_voltage: {column: x, full_scale: 20000}",
            "time,x_mV\n0,12500\n1,-0\n",
            [12.5, 0.0],
            20.0,
        ),
        (
            "starter_current: {column: x, unit: kA, full_scale: 1}",
            "time,x\n0,0.25\n1,0.5\n",
            [250.0, 500.0],
            1000.0,
        ),
    ] {
        let channel = channel.replace(
            "column: x, full_scale: 20000",
            "column: x_mV, full_scale: 20000",
        );
        let setup = with(&format!("channels: {{{channel}}}\n"));
        let recording = read(text.as_bytes(), &setup).unwrap();
        let values = recording.capture.columns.values().next().unwrap();
        assert_eq!(values, &expected, "{text}");
        let channels = recording.setup.channels;
        let found = channels
            .starter_current
            .or(channels.battery_voltage)
            .unwrap();
        assert_eq!(found.full_scale, Some(range), "{text}");
    }
}
