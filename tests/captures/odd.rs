//! Odd files that must be read: each holds the same small recording, so each must come out the same.

use std::collections::BTreeSet;

use super::fixture::{TIME, VOLTS, by, gzip, read, wide};

struct Odd {
    name: &'static str,
    keys: &'static str,
    bytes: Vec<u8>,
}

fn odd(name: &'static str, bytes: impl Into<Vec<u8>>) -> Odd {
    told(name, "", bytes)
}

fn told(name: &'static str, keys: &'static str, bytes: impl Into<Vec<u8>>) -> Odd {
    Odd {
        name,
        keys,
        bytes: bytes.into(),
    }
}

const PLAIN: &str = "time,volts\n0,12.5\n0.001,11.25\n0.002,10.75\n0.003,-0.5\n";
const COMMAS: &str = "time;volts\n0;12,5\n0,001;11,25\n0,002;10,75\n0,003;-0,5\n";

fn delimiters() -> Vec<Odd> {
    vec![
        odd("comma", PLAIN),
        odd("semicolon and decimal point", PLAIN.replace(',', ";")),
        odd("semicolon and decimal comma", COMMAS),
        odd("tab and decimal comma", COMMAS.replace(';', "\t")),
        odd("tab and decimal point", PLAIN.replace(',', "\t")),
        odd("upright bars", PLAIN.replace(',', " | ")),
        odd("single blanks", PLAIN.replace(',', " ")),
        odd(
            "columns filled up with blanks",
            PLAIN.replace(',', "        ").replace('\n', "  \n   "),
        ),
        odd("blanks and decimal comma", COMMAS.replace(';', "   ")),
        odd(
            "delimiter at the end of each row",
            PLAIN.replace('\n', ",\n"),
        ),
        odd("blanks about commas", PLAIN.replace(',', "  ,  ")),
        odd(
            "all cells quoted",
            "\"time\",\"volts\"\n\"0\",\"12.5\"\n\"0.001\",\"11.25\"\n\"0.002\",\"10.75\"\n\"0.003\",\"-0.5\"\n",
        ),
        told(
            "quoted decimal commas between commas",
            "table: {decimal: comma}",
            "time,volts\n0,\"12,5\"\n\"0,001\",\"11,25\"\n\"0,002\",\"10,75\"\n\"0,003\",\"-0,5\"\n",
        ),
        odd(
            "a quoted note with delimiters and line ends",
            PLAIN
                .replace('\n', ",\"a,\n\"\"b\"\"\"\n")
                .replacen(",\"a,\n\"\"b\"\"\"", ",note", 1),
        ),
        odd(
            "quotes only far down",
            format!(
                "time,volts,note\n0,12.5,\n0.001,11.25,\n{}",
                "0.002,10.75,\"x\"\n0.003,-0.5,\n"
            ),
        ),
    ]
}

fn encodings() -> Vec<Odd> {
    let marked = format!("\u{feff}{PLAIN}");
    let degrees = PLAIN
        .replace("volts", "volts,oil °C")
        .replace('\n', ",20\n")
        .replacen(",20\n", "\n", 1);
    let latin: Vec<u8> = degrees.chars().map(|c| c as u8).collect();
    vec![
        odd("byte-order mark", marked.as_str()),
        odd("UTF-16 least byte first", wide(&marked, false)),
        odd("UTF-16 greatest byte first", wide(&marked, true)),
        odd("UTF-16 without a mark", wide(PLAIN, false)),
        odd(
            "UTF-16 with carriage returns",
            wide(&marked.replace('\n', "\r\n"), false),
        ),
        odd("ISO 8859-1 heading", latin),
        odd("UTF-8 heading", degrees),
        odd("gzip", gzip(PLAIN.as_bytes())),
        odd(
            "gzip of two members",
            [gzip(&PLAIN.as_bytes()[..20]), gzip(&PLAIN.as_bytes()[20..])].concat(),
        ),
        odd("gzip of UTF-16", gzip(&wide(&marked, true))),
    ]
}

fn lines() -> Vec<Odd> {
    let rows = &PLAIN[11..];
    vec![
        odd(
            "carriage returns and line feeds",
            PLAIN.replace('\n', "\r\n"),
        ),
        odd("carriage returns alone", PLAIN.replace('\n', "\r")),
        odd("no line end at the end", PLAIN.trim_end()),
        odd("blank lines between rows", PLAIN.replace('\n', "\n\n")),
        odd("lines of blanks", PLAIN.replace('\n', "\n   \n")),
        odd("blank lines first", format!("\n\n\r\n{PLAIN}")),
        odd("comments between rows", PLAIN.replace('\n', "\n# pause\n")),
        odd(
            "preamble of keys and values",
            format!("Instrument,nine\nRate,1000\nDate,2026-03-02\n\n{PLAIN}"),
        ),
        odd(
            "preamble that mentions a column",
            format!("volts were measured, at the posts\n{PLAIN}"),
        ),
        odd(
            "preamble of numbers alone",
            format!("3\n1,2,3,4,5\n{PLAIN}"),
        ),
        odd("headings behind a comment sign", format!("# {PLAIN}")),
        odd("last row cut off within a number", format!("{PLAIN}0.0")),
        odd("last row cut off before a cell", format!("{PLAIN}0.004")),
        odd("last row cut off after a sign", format!("{PLAIN}0.004,-")),
        told("no headings", "table: {columns: [time, volts]}", rows),
        told(
            "no headings behind a preamble",
            "table: {columns: [time, volts]}",
            format!("bay two\n{rows}"),
        ),
        told(
            "two lines of headings",
            "table: {header_line: 2}",
            format!("time,clamp\n{PLAIN}"),
        ),
    ]
}

fn units() -> Vec<Odd> {
    let milli = "0,12500\n1,11250\n2,10750\n3,-500\n";
    vec![
        odd(
            "units in brackets",
            format!("time (ms),volts (mV)\n{milli}"),
        ),
        odd(
            "units in square brackets",
            format!("time [ms],volts [mV]\n{milli}"),
        ),
        odd(
            "units behind a slash",
            format!("time / ms,volts / mV\n{milli}"),
        ),
        odd(
            "units in a row of their own",
            format!("time,volts\nms,mV\n{milli}"),
        ),
        odd(
            "units in a row, in brackets",
            format!("time,volts\n(ms),(mV)\n{milli}"),
        ),
        odd(
            "a blank line between headings and units",
            format!("time,volts\n\nms,mV\n{milli}"),
        ),
        odd(
            "unit of one column only",
            "time,volts\n,mV\n0,12500\n0.001,11250\n0.002,10750\n0.003,-500\n",
        ),
        odd(
            "microseconds with the micro sign",
            "time (µs),volts\n0,12.5\n1000,11.25\n2000,10.75\n3000,-0.5\n",
        ),
        odd(
            "microseconds in ISO 8859-1",
            b"time (\xb5s),volts\n0,12.5\n1000,11.25\n2000,10.75\n3000,-0.5\n".to_vec(),
        ),
        odd(
            "kilovolts",
            "time,volts (kV)\n0,0.0125\n0.001,0.01125\n0.002,0.01075\n0.003,-0.0005\n",
        ),
        odd(
            "exponents",
            "time,volts\n0e0,1.25E+1\n1e-3,1125e-2\n2E-3,10.75\n.003,-.5\n",
        ),
        odd(
            "signs before all numbers",
            "time,volts\n+0,+12.5\n+0.001,+11.25\n+0.002,+10.75\n+0.003,-0.5\n",
        ),
        told(
            "milliseconds that only the set-up knows",
            "time: {column: time, unit: ms}",
            "time,volts\n0,12.5\n1,11.25\n2,10.75\n3,-0.5\n",
        ),
    ]
}

fn times() -> Vec<Odd> {
    let counted = "12.5\n11.25\n10.75\n-0.5\n";
    vec![
        odd(
            "time of day",
            "time,volts\n10:00:07.000,12.5\n10:00:07.001,11.25\n10:00:07.002,10.75\n10:00:07.003,-0.5\n",
        ),
        odd(
            "time of day across midnight",
            "time,volts\n23:59:59.998,12.5\n23:59:59.999,11.25\n00:00:00.000,10.75\n00:00:00.001,-0.5\n",
        ),
        odd(
            "date and time of day, decimal comma",
            "time;volts\n02.03.2026 10:00:07,000;12,5\n02.03.2026 10:00:07,001;11,25\n02.03.2026 10:00:07,002;10,75\n02.03.2026 10:00:07,003;-0,5\n",
        ),
        odd(
            "ISO 8601",
            "time,volts\n2026-03-02T10:00:07.000Z,12.5\n2026-03-02T10:00:07.001Z,11.25\n2026-03-02T10:00:07.002Z,10.75\n2026-03-02T10:00:07.003Z,-0.5\n",
        ),
        odd(
            "time of the afternoon",
            "time,volts\n02:00:07.000 PM,12.5\n02:00:07.001 PM,11.25\n02:00:07.002 PM,10.75\n02:00:07.003 PM,-0.5\n",
        ),
        odd(
            "minutes and seconds",
            "time,volts\n00:07.000,12.5\n00:07.001,11.25\n00:07.002,10.75\n00:07.003,-0.5\n",
        ),
        told(
            "sample numbers with a rate",
            "time: {column: sample, rate_hz: 1000}",
            "sample,volts\n0,12.5\n1,11.25\n2,10.75\n3,-0.5\n",
        ),
        told(
            "no time but a rate",
            "time: {rate_hz: 1000}",
            format!("volts\n{counted}"),
        ),
        told(
            "no time but a rate, other columns",
            "time: {rate_hz: 1000}",
            "other,volts\n7,12.5\n7,11.25\n3,10.75\n9,-0.5\n",
        ),
        told(
            "time in the last column",
            "time: {column: time}",
            "volts,note,time\n12.5,a,0\n11.25,,0.001\n10.75,b,0.002\n-0.5,,0.003\n",
        ),
        told(
            "second of two segments",
            "table: {segment: 2}",
            format!("time,volts\n5,1\n6,1\n\n{PLAIN}"),
        ),
        told(
            "first of three segments",
            "table: {segment: 1}",
            format!("{PLAIN}0,1\n1,2\n0,7\n1,8\n"),
        ),
        told(
            "segments with units, each with headings",
            "table: {segment: 2}",
            "time,volts\nms,mV\n0,1\n1,2\ntime,volts\nms,mV\n0,12500\n1,11250\n2,10750\n3,-500\n",
        ),
        told(
            "headings again on each page",
            "table: {segment: all}",
            "time,volts\n0,12.5\n0.001,11.25\ntime,volts\n0.002,10.75\n0.003,-0.5\n",
        ),
    ]
}

fn all() -> Vec<Odd> {
    [delimiters(), encodings(), lines(), units(), times()]
        .into_iter()
        .flatten()
        .collect()
}

#[test]
fn odd_files_come_out_as_the_recording_that_they_hold() {
    let mut wrong = Vec::new();
    for odd in all() {
        match read(&odd.bytes, &by(odd.keys)) {
            Ok(recording) => {
                let volts = &recording.capture.columns["volts"];
                let time = &recording.capture.time;
                let near = |a: &[f64], b: &[f64]| {
                    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-9)
                };
                if !near(time, &TIME) || !near(volts, &VOLTS) {
                    wrong.push(format!("{}: {time:?} {volts:?}", odd.name));
                }
            }
            Err(error) => wrong.push(format!("{}: {error}", odd.name)),
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn at_least_forty_oddities_have_names_of_their_own() {
    let names: BTreeSet<&str> = all().iter().map(|odd| odd.name).collect();
    assert_eq!(names.len(), all().len());
    assert!(names.len() >= 40, "{}", names.len());
}

/// Seeds for the fuzzer: `EVENFIRE_SEEDS=DIR cargo test --test captures seeds -- --ignored`.
#[test]
#[ignore = "writes files; run by hand before fuzzing"]
fn seeds_are_written() {
    let folder = std::env::var("EVENFIRE_SEEDS").expect("EVENFIRE_SEEDS names a folder");
    std::fs::create_dir_all(&folder).unwrap();
    for (number, odd) in all().into_iter().enumerate() {
        // the table target's first byte picks a set-up
        let bytes = [vec![number as u8 % 8], odd.bytes].concat();
        std::fs::write(format!("{folder}/{number:03}"), bytes).unwrap();
    }
}
