//! The closed range of a measurement, and what is wrong with a text that is none.

use rust_decimal::Decimal;

use crate::procedure::load::Reading;
use crate::procedure::model::{Interval, UnaryTest, UnaryTests};
use crate::procedure::unary;
use crate::procedure::written::tree::{Content, Node};

/// Read a range both of whose ends belong to it.
pub(super) fn interval(node: &Node, reading: &mut Reading) -> Option<Interval> {
    let remedy = "Write a closed range in quotes: \"[0..20]\".";
    let Content::Scalar(found) = &node.content else {
        let message = format!("a range wants one text, here stands {}", node.kind());
        let why = "Without quotes, YAML takes the brackets for a list.";
        let findings = &mut reading.findings;
        findings.doubt(&node.position, message, why, remedy.to_owned());
        return None;
    };
    let read = unary::parse(&found.value);
    if let Ok(UnaryTests::Any(tests)) = &read
        && let [
            UnaryTest::Range {
                low: Some((least, true)),
                high: Some((greatest, true)),
            },
        ] = tests[..]
        && least < greatest
    {
        return Some(Interval { least, greatest });
    }
    let slip = slip(&found.value, read.err());
    let meant = meant(&found.value);
    let remedy = meant.map_or(remedy.to_owned(), |meant| format!("Write \"{meant}\"."));
    let message = format!("`{}` is no closed range: {slip}", found.value);
    reading.findings.doubt(&node.position, message, "", remedy);
    None
}

/// What is wrong with it, `told` being what the reader of tests says.
fn slip(written: &str, told: Option<String>) -> String {
    let text = written.trim();
    let begins = text.starts_with(['[', '(', ']']);
    let ends = text.ends_with([']', ')', '[']);
    let numbers = numbers(text);
    let said = match &numbers[..] {
        _ if text.contains(['“', '”', '„', '‘', '’']) => "quotes must be straight ones",
        _ if text.starts_with(['<', '>', '=', '≤', '≥']) => "it has only one end",
        [_] => "one number is no range",
        _ if told
            .as_ref()
            .is_some_and(|told| told.contains("point: write")) =>
        {
            ""
        }
        [_, _] if !begins && !ends => "it has no brackets",
        [_, _] if !begins || !ends => "a bracket is missing",
        [_, _] if text.contains('…') => "it has three points in one sign",
        [_, _] if !text.contains("..") => "two points stand between the ends",
        [low, high] if low > high => "the higher end stands first",
        [low, high] if low == high => "both ends are the same",
        [_, _] if told.is_none() => "round or outward brackets leave an end out",
        _ => "",
    };
    match told {
        Some(told) if said.is_empty() => told,
        None if said.is_empty() => "two ends stand in square brackets".to_owned(),
        _ => said.to_owned(),
    }
}

/// The numbers in a text; a point that another follows belongs to none.
fn numbers(text: &str) -> Vec<Decimal> {
    let parted = text
        .replace("...", " ")
        .replace("..", " ")
        .replace('…', " ");
    let parts = parted.split(|c: char| !c.is_ascii_digit() && c != '.' && c != '-');
    let parts = parts.flat_map(|part| {
        // a hyphen between two numbers parts them, before one it is its sign
        let (first, rest) = part.split_at(usize::from(part.starts_with('-')));
        let mut pieces: Vec<String> = rest.split('-').map(str::to_owned).collect();
        pieces[0].insert_str(0, first);
        pieces
    });
    parts.filter_map(|part| unary::number(&part).ok()).collect()
}

/// The range that was probably meant.
fn meant(written: &str) -> Option<String> {
    match numbers(written)[..] {
        [one, other] if one != other => Some(format!("[{}..{}]", one.min(other), one.max(other))),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_slip_is_named_with_what_was_meant() {
        let cases = [
            ("0..20", "no brackets", Some("[0..20]")),
            ("0-20", "no brackets", Some("[0..20]")),
            ("-5..20", "no brackets", Some("[-5..20]")),
            ("0 to 20", "no brackets", Some("[0..20]")),
            ("[0..20", "a bracket is missing", Some("[0..20]")),
            ("[20..0]", "higher end stands first", Some("[0..20]")),
            ("(0..20)", "leave an end out", Some("[0..20]")),
            ("]0..20]", "leave an end out", Some("[0..20]")),
            ("[0, 20]", "two points", Some("[0..20]")),
            ("[0-20]", "two points", Some("[0..20]")),
            ("[0…20]", "three points", Some("[0..20]")),
            ("[0...20]", "not three", Some("[0..20]")),
            ("[0.20]", "one number", None),
            ("[5..5]", "both ends are the same", None),
            ("< 20", "only one end", None),
            ("“[0..20]”", "straight", Some("[0..20]")),
            ("[0..20 V]", "leave the unit out", Some("[0..20]")),
            ("[0,5..20]", "write 0.5", None),
            ("wide", "square brackets", None),
        ];
        for (text, said, wanted) in cases {
            let told = slip(text, unary::parse(text).err());
            assert!(told.contains(said), "{text}: {told}");
            if let Some(wanted) = wanted {
                assert_eq!(meant(text).as_deref(), Some(wanted), "{text}");
            }
        }
    }
}
