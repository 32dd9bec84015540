//! Tables that cannot be read as a recording.

use super::{Case, SETUP};

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

pub fn cases() -> Vec<Case> {
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
