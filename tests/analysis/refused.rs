//! Input that cannot be read: what, where, how to mend it, a status other than 0 and nothing on standard
//! output.

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

fn table(
    name: &'static str,
    table: impl Into<Vec<u8>>,
    place: &'static str,
    says: &'static str,
) -> Case {
    Case {
        name,
        table: table.into(),
        setup: SETUP.to_owned(),
        place,
        says,
    }
}

fn setup(
    name: &'static str,
    setup: impl Into<String>,
    place: &'static str,
    says: &'static str,
) -> Case {
    Case {
        name,
        table: TABLE.into(),
        setup: setup.into(),
        place,
        says,
    }
}

fn tables() -> Vec<Case> {
    vec![
        table("empty", "", "c.csv: ", "the capture is empty"),
        table(
            "only line ends",
            "\n\n\n",
            "c.csv: ",
            "the capture is empty",
        ),
        table("header only", "time_s,volts\n", "c.csv: ", "0 rows"),
        table("one row", "time_s,volts\n0,1\n", "c.csv: ", "1 row"),
        table(
            "no header",
            "0.0,12.0\n0.1,11.0\n",
            "c.csv:1: ",
            "first line holds numbers",
        ),
        table(
            "unknown column",
            "time_s,voltage\n0,1\n1,2\n",
            "c.csv:1: ",
            "no column is headed \"volts\"",
        ),
        table(
            "header twice",
            "time_s,volts,volts\n0,1,2\n1,2,3\n",
            "c.csv:1:3: ",
            "both headed \"volts\"",
        ),
        table(
            "text",
            "time_s,volts\n0,1\n1,high\n2,3\n",
            "c.csv:3:2: ",
            "\"high\" stands there",
        ),
        table(
            "text as time",
            "time_s,volts\n0,1\nlater,2\n",
            "c.csv:3:1: ",
            "\"later\" stands there",
        ),
        table(
            "empty cell",
            "time_s,volts\n0,1\n1,\n2,3\n",
            "c.csv:3:2: ",
            "nothing stands there",
        ),
        table(
            "short row",
            "time_s,volts\n0,1\n1\n2,3\n",
            "c.csv:3:2: ",
            "the row ends before it",
        ),
        table(
            "not a number",
            "time_s,volts\n0,1\n1,NaN\n2,3\n",
            "c.csv:3:2: ",
            "\"NaN\" stands there",
        ),
        table(
            "endless time",
            "time_s,volts\n0,1\n1,2\ninf,3\n",
            "c.csv:4:1: ",
            "\"inf\" stands there",
        ),
        table(
            "overflow",
            "time_s,volts\n0,1\n1,2\n2,1e400\n",
            "c.csv:4:2: ",
            "\"1e400\" stands there",
        ),
        table(
            "decimal comma",
            "time_s,volts\n0,1\n1,\"2,5\"\n",
            "c.csv:3:2: ",
            "\"2,5\" stands there",
        ),
        table(
            "backwards",
            "time_s,volts\n0,1\n1,2\n0.5,3\n",
            "c.csv:4:1: ",
            "time goes from 1 to 0.5",
        ),
        table(
            "equal times",
            "time_s,volts\n0,1\n1,2\n1,3\n",
            "c.csv:4:1: ",
            "it must rise",
        ),
        table(
            "after blank lines",
            "time_s,volts\n0,1\n\n\n1,x\n",
            "c.csv:5:2: ",
            "\"x\" stands there",
        ),
        table(
            "carriage returns",
            "time_s,volts\r\n0,1\r\n1,x\r\n",
            "c.csv:3:2: ",
            "\"x\" stands there",
        ),
        table(
            "after a quoted line end",
            "time_s,volts,note\n0,1,\"a\nb\"\n1,x,\n",
            "c.csv:4:2: ",
            "\"x\" stands there",
        ),
        table(
            "binary",
            (0..=255u8).cycle().take(4000).collect::<Vec<u8>>(),
            "c.csv:1: ",
            "no column is headed",
        ),
        table("zeros", vec![0u8; 4000], "c.csv:1: ", "no column is headed"),
    ]
}

fn setups() -> Vec<Case> {
    let with = |from: &str, to: &str| SETUP.replace(from, to);
    let voltage = |line: &str| format!("{SETUP}    {line}\n");
    let reference =
        |line: &str| format!("{SETUP}  reference: {{column: volts, edge: rising, {line}}}\n");
    vec![
        setup("empty", "", "c.setup.yaml", "engine"),
        setup(
            "no YAML",
            "engine: [1, 2\nchannels: }\n",
            "c.setup.yaml:2:",
            "this is no YAML",
        ),
        setup(
            "a sentence",
            "this is a note about a car\n",
            "c.setup.yaml:1:1: ",
            "struct",
        ),
        setup(
            "unknown key",
            voltage("colour: red"),
            "c.setup.yaml:5:5: ",
            "colour",
        ),
        setup(
            "unknown channel",
            format!("{SETUP}  oil_pressure: {{column: volts}}\n"),
            "c.setup.yaml:5:3: ",
            "oil_pressure",
        ),
        setup(
            "key twice",
            voltage("column: other"),
            "c.setup.yaml:",
            "column",
        ),
        setup(
            "no channels",
            "engine: {cylinders: 4, firing_order: [1, 3, 4, 2]}\n",
            "c.setup.yaml:1:1: ",
            "channels",
        ),
        setup(
            "no column",
            with("    column: volts\n", "    bits: 12\n"),
            "c.setup.yaml:4:5: ",
            "column",
        ),
        setup(
            "number as text",
            voltage("bits: many"),
            "c.setup.yaml:5:11: ",
            "bits",
        ),
        setup(
            "no permutation",
            with("[1, 3, 4, 2]", "[1, 3, 3, 2]"),
            "c.setup.yaml:1:",
            "cylinder 3 stands twice",
        ),
        setup(
            "no such cylinder",
            with("[1, 3, 4, 2]", "[1, 3, 5, 2]"),
            "c.setup.yaml:1:",
            "cylinder 5 does not exist",
        ),
        setup(
            "order too short",
            with("[1, 3, 4, 2]", "[1, 3]"),
            "c.setup.yaml:1:",
            "has 2 of 4 cylinders",
        ),
        setup(
            "no cylinders",
            with(
                "cylinders: 4, firing_order: [1, 3, 4, 2]",
                "cylinders: 0, firing_order: []",
            ),
            "c.setup.yaml:1:",
            "0 cylinders",
        ),
        setup(
            "intervals",
            with("2]}", "2], firing_intervals_deg: [180, 180, 180, 170]}"),
            "c.setup.yaml:1:",
            "sum to 710°",
        ),
        setup(
            "interval below 0",
            with("2]}", "2], firing_intervals_deg: [180, 180, 540, -180]}"),
            "c.setup.yaml:1:",
            "-180 is not a positive",
        ),
        setup(
            "interval no number",
            with("2]}", "2], firing_intervals_deg: [180, 180, 180, .nan]}"),
            "c.setup.yaml:1:",
            "NaN is not a positive",
        ),
        setup(
            "limit",
            format!("{SETUP}limits: {{low_percent: 120}}\n"),
            "c.setup.yaml:5:",
            "120 %",
        ),
        setup(
            "limit no number",
            format!("{SETUP}limits:\n  low_percent: .nan\n"),
            "c.setup.yaml:6:3: ",
            "NaN %",
        ),
        setup(
            "bits",
            voltage("bits: 400"),
            "c.setup.yaml:5:5: ",
            "1 to 32 bits",
        ),
        setup(
            "range",
            voltage("full_scale: 0"),
            "c.setup.yaml:5:5: ",
            "above 0",
        ),
        setup(
            "corner",
            voltage("coupling_corner_hz: -1"),
            "c.setup.yaml:5:5: ",
            "above 0",
        ),
        setup(
            "coupling",
            voltage("coupling: both"),
            "c.setup.yaml:5:15: ",
            "both",
        ),
        setup(
            "reference cylinder",
            reference("cylinder: 7, every_deg: 720"),
            "c.setup.yaml:5:",
            "no cylinder 7",
        ),
        setup(
            "reference angle",
            reference("cylinder: 1, every_deg: 180"),
            "c.setup.yaml:5:",
            "neither 720 nor 360",
        ),
        setup(
            "reference place",
            reference("cylinder: 1, every_deg: 720, before_tdc_deg: 9000"),
            "c.setup.yaml:5:",
            "within one cycle",
        ),
        setup(
            "other engine's line",
            with("engine:", "# cylinders: none\nengine:"),
            "",
            "",
        ),
        setup(
            "two documents",
            format!("{SETUP}---\n{SETUP}"),
            "c.setup.yaml",
            "document",
        ),
        setup(
            "deep",
            format!("engine: {}{}", "[".repeat(100_000), "]".repeat(100_000)),
            "c.setup.yaml",
            "",
        ),
        setup(
            "deep blocks",
            "a:\n".to_owned()
                + &(1..1200)
                    .map(|d| format!("{}a:\n", " ".repeat(d)))
                    .collect::<String>(),
            "c.setup.yaml",
            "",
        ),
        setup(
            "large",
            format!("{SETUP}# {}\n", "x".repeat(2 << 20)),
            "c.setup.yaml: ",
            "at most 1048576 bytes",
        ),
        setup(
            "aliases",
            "a: &a [x,x,x,x,x,x,x,x,x]\nb: &b [*a,*a,*a,*a,*a,*a,*a,*a]\nc: &c [*b,*b,*b,*b,*b,*b,*b,*b]\nd: [*c,*c,*c,*c,*c,*c]\n",
            "c.setup.yaml:1:",
            "",
        ),
    ]
}

#[test]
fn each_fault_is_told_with_place_and_remedy() {
    let mut wrong = Vec::new();
    for case in tables().into_iter().chain(setups()) {
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
