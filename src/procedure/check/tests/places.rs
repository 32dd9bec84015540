//! What is wrong with a value in a text is told at its brace, not where the text begins.

use super::{broken, problems};

#[test]
fn a_brace_is_pointed_at() {
    let cases = [
        ("{rest-reading}", "{rest reading}", "31:37: "),
        ("{rest-reading}", "{rest-readng}", "31:37: "),
        ("{rest-reading}", "{rest-reading", "31:37: "),
        (
            "{rest-reading} V.",
            "{rest-reading} V, {judge.why}.",
            "31:55: step `cut-fuel` uses `judge.why`",
        ),
        // over several lines, behind one that is right
        (
            "do: Pull the fuel pump relay at {rest-reading} V.",
            "do: >-\n      Pull the relay at {rest-reading} V,\n      not at {reading}.",
            "33:14: `reading` is neither a step nor an input",
        ),
        // into which nothing is put
        (
            "The relay is out.",
            "The relay is out at {rest-reading}.",
            "35:34: a value in braces stands in `confirm`",
        ),
    ];
    for (from, to, told) in cases {
        let found = problems(&broken(from, to));
        assert!(
            found.len() == 1 && found[0].starts_with(told),
            "{to}: {found:#?}"
        );
    }
}
