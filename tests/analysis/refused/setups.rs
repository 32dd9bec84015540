//! Set-ups that cannot be read or do not fit an engine.

use super::{Case, SETUP, TABLE};

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

pub fn cases() -> Vec<Case> {
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
