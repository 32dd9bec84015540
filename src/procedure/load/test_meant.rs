//! What was probably meant by a text after `when` that is no test.

use crate::procedure::model::{UnaryTest, UnaryTests};
use crate::procedure::names::is_kebab;
use crate::procedure::nearest::distance;
use crate::procedure::unary;
use crate::procedure::written::tree::{Content, Node};

/// Signs and words in place of those that a test is written with.
const SIGNS: [(&str, &str); 18] = [
    ("≤", "<="),
    ("≥", ">="),
    ("=<", "<="),
    ("=>", ">="),
    ("at least ", ">= "),
    ("at most ", "<= "),
    ("less than ", "< "),
    ("more than ", "> "),
    ("below ", "< "),
    ("under ", "< "),
    ("above ", "> "),
    ("over ", "> "),
    ("...", ".."),
    ("“", ""),
    ("”", ""),
    ("‘", ""),
    ("’", ""),
    (" or ", ", "),
];

/// What mends a text that is no test, where that is plain.
pub(super) fn remedy(written: &str) -> Option<String> {
    let mut text = written.trim().to_owned();
    for (sign, meant) in SIGNS {
        text = text.replace(sign, meant);
    }
    let text = without_units(&with_points(&text));
    let tests = unary::parse(&text).ok().filter(|_| text != written)?;
    if written.contains(" or ") {
        return Some(format!("For or write a comma: \"{text}\"."));
    }
    let exact = matches!(&tests, UnaryTests::Any(tests)
        if matches!(tests[..], [UnaryTest::Range { low: Some((low, _)), high: Some((high, _)) }] if low == high));
    Some(if exact {
        format!(
            "Write \"{text}\" for exactly that, \"< {text}\" or \">= {text}\" for one side of it."
        )
    } else {
        format!("Write \"{text}\".")
    })
}

/// What mends a list after `when`: names or ends that YAML took apart.
pub(super) fn remedy_of_list(node: &Node) -> Option<String> {
    let Content::List(items) = &node.content else {
        return None;
    };
    let words = items.iter().map(|item| match &item.content {
        Content::Scalar(scalar) => Some(scalar.value.trim()),
        _ => None,
    });
    let words: Vec<&str> = words.collect::<Option<_>>()?;
    match words[..] {
        [low, high] if unary::number(low).is_ok() && unary::number(high).is_ok() => Some(format!(
            "Write \"[{low}..{high}]\" for what lies between, both ends with it."
        )),
        [ends] if unary::parse(&format!("[{ends}]")).is_ok() => {
            Some(format!("Write \"[{ends}]\", with quotes round it."))
        }
        [_, ..] if words.iter().all(|word| is_kebab(word)) => {
            Some(format!("Write `{}`, without brackets.", words.join(", ")))
        }
        _ => None,
    }
}

/// Whether a test is a slip of the pen for `otherwise`.
pub(super) fn is_otherwise(tests: &UnaryTests) -> bool {
    const SLIP: usize = 2;
    matches!(tests, UnaryTests::Any(tests)
        if matches!(&tests[..], [UnaryTest::Name(name)] if distance(name, "otherwise") <= SLIP))
}

/// Commas directly between two digits as points.
fn with_points(text: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let digit = |at: Option<usize>| {
        at.and_then(|at| letters.get(at))
            .is_some_and(char::is_ascii_digit)
    };
    let each = letters.iter().enumerate().map(|(at, c)| {
        let between = *c == ',' && digit(at.checked_sub(1)) && digit(Some(at + 1));
        if between { '.' } else { *c }
    });
    each.collect()
}

/// Units behind numbers taken away.
fn without_units(text: &str) -> String {
    let (mut kept, mut behind_digit, mut in_unit) = (String::new(), false, false);
    for c in text.chars() {
        in_unit = (in_unit || behind_digit) && (c.is_alphabetic() || matches!(c, '%' | '°' | '/'));
        if in_unit {
            kept.truncate(kept.trim_end().len());
            continue;
        }
        behind_digit = c.is_ascii_digit() || behind_digit && c == ' ';
        kept.push(c);
    }
    kept.trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_meant_is_written_out() {
        let cases = [
            ("< 0,2", "Write \"< 0.2\"."),
            ("0.2 V", "Write \"0.2\" for exactly that"),
            ("< 12.20 V", "Write \"< 12.20\"."),
            ("[13,8..14,8]", "Write \"[13.8..14.8]\"."),
            ("[8...12.6]", "Write \"[8..12.6]\"."),
            ("[0 V..20 V]", "Write \"[0..20]\"."),
            ("≤ 5", "Write \"<= 5\"."),
            ("less than 5", "Write \"< 5\"."),
            (
                "not-done or unsteady",
                "For or write a comma: \"not-done, unsteady\".",
            ),
        ];
        for (written, wanted) in cases {
            assert!(unary::parse(written).is_err(), "{written}");
            let told = remedy(written).unwrap();
            assert!(told.starts_with(wanted), "{written}: {told}");
        }
        for none in ["", "5 >", "low high", "[0-20"] {
            assert_eq!(remedy(none), None, "{none}");
        }
    }
}
