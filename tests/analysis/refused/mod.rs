//! Input that cannot be read: what, where, how to mend it, a status other than 0 and nothing on standard
//! output.

mod setups;
mod tables;

use super::fixture::Bench;

const SETUP: &str = "engine: {cylinders: 4, firing_order: [1, 3, 4, 2]}
channels:
  battery_voltage:
    column: volts
";

const TABLE: &str = "time_s,volts\n0.0,12.0\n0.1,11.0\n0.2,12.0\n";

/// What is written, and how the error begins and what it holds.
struct Case {
    name: &'static str,
    table: Vec<u8>,
    setup: String,
    place: &'static str,
    says: &'static str,
}

#[test]
fn each_fault_is_told_with_place_and_remedy() {
    let mut wrong = Vec::new();
    for case in tables::cases().into_iter().chain(setups::cases()) {
        let bench = Bench::new();
        bench.put("c.csv", &case.table);
        bench.put("c.setup.yaml", &case.setup);
        let ran = bench.run(&["analyse", "c.csv", "--format", "json"]);
        let lines: Vec<&str> = ran.err.lines().collect();
        let remedy = lines
            .last()
            .is_some_and(|line| line.starts_with("  ") && line.trim().len() > 10);
        let good = if case.place.is_empty() {
            ran.status == 0
        } else {
            ran.status != 0
                && ran.out.is_empty()
                && ran.err.starts_with(case.place)
                && ran.err.contains(case.says)
                && remedy
                && ran.err.len() < 2000
                && !ran.err.contains("panicked")
                && !ran.err.contains(|c: char| c.is_control() && c != '\n')
        };
        if !good {
            let said: String = ran.err.chars().take(400).collect();
            wrong.push(format!("{}: status {}, {:?}", case.name, ran.status, said));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn what_is_not_there_is_told() {
    let bench = Bench::new();
    bench.put("c.csv", TABLE);
    bench.put("d.setup.yaml", SETUP);
    std::fs::create_dir(bench.path("empty")).unwrap();
    std::fs::create_dir(bench.path("c.setup.yaml")).unwrap();
    for (arguments, place) in [
        (
            vec!["analyse", "none.csv", "--setup", "d.setup.yaml"],
            "none.csv: ",
        ),
        (vec!["analyse", "d.csv"], "d.csv: "),
        (
            vec!["analyse", "c.csv", "--setup", "none.yaml"],
            "none.yaml: ",
        ),
        (vec!["analyse", "c.csv"], "c.setup.yaml: "),
        (vec!["analyse", "empty"], "empty: "),
        (vec!["analyse", "none"], "none"),
    ] {
        let ran = bench.run(&arguments);
        assert_ne!(ran.status, 0, "{arguments:?}");
        assert!(ran.out.is_empty(), "{arguments:?}: {}", ran.out);
        assert!(ran.err.starts_with(place), "{arguments:?}: {}", ran.err);
    }
}

/// A byte-order mark, carriage returns, blanks about the cells, a missing last line end and columns that
/// nobody asked for do no harm.
#[test]
fn harmless_habits_of_other_programs_are_read() {
    let plain = "time_s,volts\n0,1\n1,2\n2,3\n";
    let read_bytes = |text: &[u8], set: &str| {
        let setup = evenfire::capture::setup::read(set, "s").unwrap();
        evenfire::capture::read(text, "c", &setup).unwrap()
    };
    let read = |text: &str, set: &str| read_bytes(text.as_bytes(), set);
    let expected = read(plain, SETUP);
    assert_eq!(expected.time, [0.0, 1.0, 2.0]);
    assert_eq!(expected.columns["volts"], [1.0, 2.0, 3.0]);
    for text in [
        format!("\u{feff}{plain}"),
        plain.replace('\n', "\r\n"),
        plain.replace(',', " ,\t "),
        plain.trim_end().to_owned(),
        plain.replace('\n', "\n\n"),
        "time_s,note,volts\n0,a,1\n1,,2\n2,\"b,\nc\",3\n".to_owned(),
        "\"time_s\",\"volts\"\n\"0\",\"1\"\n1e0,+2\n2,3.\n".to_owned(),
    ] {
        assert_eq!(read(&text, SETUP), expected, "{text:?}");
    }
    let wide: Vec<u8> = plain.bytes().flat_map(|byte| [byte, 0]).collect();
    assert_eq!(read_bytes(&wide, SETUP), expected);
    let marked = format!("\u{feff}{}", SETUP.replace('\n', "\r\n"));
    assert_eq!(read(plain, &marked), expected);
    let named = format!("{SETUP}time: {{column: t}}\n");
    assert_eq!(read("volts,t\n1,0\n2,1\n3,2\n", &named), expected);
}
