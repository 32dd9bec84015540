//! The subset of OMG DMN FEEL's simple unary tests that branches are written in: reading them,
//! deciding whether one holds. Whether a set of branches leaves gaps or overlaps is
//! `check::branches`' business.

use rust_decimal::Decimal;

use super::model::{Branch, UnaryTest, UnaryTests};
use super::names::is_kebab;

/// A value that branches are tested against.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tested<'a> {
    /// A choice, a fact's name, an outcome.
    Name(&'a str),
    /// A number, in the unit in which the branches are written.
    Number(Decimal),
}

/// Read unary tests: `"< 12.2"`, `"[13.8..14.8]"`, `"< 5, > 20"`, `"not([10..20])"`, names,
/// `otherwise`.
///
/// # Errors
/// In words, where the text is none.
pub fn parse(written: &str) -> Result<UnaryTests, String> {
    let text = written.trim();
    if text == "otherwise" {
        return Ok(UnaryTests::Otherwise);
    }
    if let Some(inner) = text.strip_prefix("not").map(str::trim_start)
        && let Some(inner) = inner.strip_prefix('(')
    {
        let inner = inner
            .strip_suffix(')')
            .ok_or_else(|| "`not(` is not closed".to_owned())?;
        return Ok(UnaryTests::Not(list(inner)?));
    }
    Ok(UnaryTests::Any(list(text)?))
}

fn list(text: &str) -> Result<Vec<UnaryTest>, String> {
    if let Some(told) = decimal_comma(text).or_else(|| joined(text)) {
        return Err(told);
    }
    text.split(',').map(|part| single(part.trim())).collect()
}

/// A comma directly between two digits: people who write decimals with a comma mean one number by it.
fn decimal_comma(text: &str) -> Option<String> {
    let parts: Vec<&str> = text.split(',').collect();
    let pair = parts.windows(2).find(|pair| {
        pair[0].ends_with(|c: char| c.is_ascii_digit())
            && pair[1].starts_with(|c: char| c.is_ascii_digit())
    })?;
    let (left, right) = (pair[0].trim(), pair[1].trim());
    let digit = |c: &char| c.is_ascii_digit();
    let behind: String = right.chars().take_while(digit).collect();
    let before = left.trim_end_matches(|c: char| c.is_ascii_digit()).len();
    let before = &left[before..];
    if left.starts_with(['[', '(', ']']) || right.contains("..") {
        return Some(point_meant(before, &behind));
    }
    Some(format!(
        "`{before},{behind}` would be two tests, `{left}` and `{right}`: write {before}.{behind} for one number, or a \
         blank after the comma for two tests"
    ))
}

/// `>= 13.80 and <= 14.80`, `13.80-14.80`, `[13.80–14.80]`: two numbers in one test, with something other than `..` between.
fn joined(text: &str) -> Option<String> {
    let inner = text.trim_matches(['[', ']', '(', ')']);
    let by_word = inner.split_once(" and ");
    let (by_word, pair) = match by_word.or_else(|| inner.split_once(" to ")) {
        Some(pair) => (true, pair),
        None => (false, inner.split_once(['-', '–', '—'])?),
    };
    let end = |text: &str| {
        let text = text.trim();
        let text = if by_word {
            text.trim_start_matches(['<', '>', '=', ' '])
        } else {
            text
        };
        number(text).is_ok().then(|| text.to_owned())
    };
    let (low, high) = (end(pair.0)?, end(pair.1)?);
    Some(format!(
        "for between write `[{low}..{high}]`; a comma between two tests means or"
    ))
}

/// What is said of a number with a comma.
pub(crate) fn point_meant(before: &str, behind: &str) -> String {
    format!("the decimal sign is a point: write {before}.{behind}, not {before},{behind}")
}

fn single(text: &str) -> Result<UnaryTest, String> {
    if text.is_empty() {
        return Err("a test is missing".to_owned());
    }
    let signs: [(&str, bool, bool); 4] = [
        ("<=", false, true),
        (">=", true, true),
        ("<", false, false),
        (">", true, false),
    ];
    for (sign, is_low, included) in signs {
        if let Some(rest) = text.strip_prefix(sign) {
            let end = Some((number(rest.trim())?, included));
            return Ok(if is_low {
                UnaryTest::Range {
                    low: end,
                    high: None,
                }
            } else {
                UnaryTest::Range {
                    low: None,
                    high: end,
                }
            });
        }
    }
    if text.starts_with(['[', '(', ']']) {
        return range(text);
    }
    if is_kebab(text) {
        return Ok(UnaryTest::Name(text.to_owned()));
    }
    let value = number(text)?;
    Ok(UnaryTest::Range {
        low: Some((value, true)),
        high: Some((value, true)),
    })
}

/// `[a..b]`, `(a..b]`, `]a..b[`: an outward bracket or a round one leaves the end out.
fn range(text: &str) -> Result<UnaryTest, String> {
    let low_included = text.starts_with('[');
    let (high_included, inner) = match text.char_indices().next_back() {
        Some((at, ']')) if at > 0 => (true, &text[1..at]),
        Some((at, ')' | '[')) if at > 0 => (false, &text[1..at]),
        _ => return Err(format!("the range `{text}` is not closed")),
    };
    if inner.contains("...") {
        return Err("two points stand between the ends, not three".to_owned());
    }
    let (low, high) = inner
        .split_once("..")
        .ok_or_else(|| format!("`{text}` is no range; write it as in `[10..20]`"))?;
    Ok(UnaryTest::Range {
        low: Some((number(low.trim())?, low_included)),
        high: Some((number(high.trim())?, high_included)),
    })
}

/// A plain decimal number: digits, a point, a sign.
pub(crate) fn number(text: &str) -> Result<Decimal, String> {
    const MOST_DIGITS: usize = 15;
    let digits = text.strip_prefix('-').unwrap_or(text);
    let (whole, part) = digits.split_once('.').unwrap_or((digits, "0"));
    let plain = |d: &str| !d.is_empty() && d.chars().all(|c| c.is_ascii_digit());
    if !plain(whole) || !plain(part) || digits.len() > MOST_DIGITS {
        return Err(no_number(text));
    }
    text.parse().map_err(|_| no_number(text))
}

/// What a text is that should be a number, and how it is written.
fn no_number(text: &str) -> String {
    let has = |signs: &[char]| text.contains(signs);
    let words = [
        "less than",
        "more than",
        "below",
        "above",
        "under",
        "over",
        "at least",
        "at most",
    ];
    let how = if text.is_empty() {
        return "an end is missing; a test with one end is written as in `< 5`".to_owned();
    } else if has(&['≤', '≥']) || text.starts_with("=<") || text.starts_with("=>") {
        "write `<=` or `>=`"
    } else if text.ends_with(['<', '>', '=']) {
        "the sign stands before the number"
    } else if words
        .iter()
        .any(|word| text.to_lowercase().starts_with(word))
    {
        "write `<`, `<=`, `>` or `>=` for the words"
    } else if text.contains("..") {
        "a range stands in brackets, as in `[10..20]`"
    } else if has(&['“', '”', '„', '‘', '’']) {
        "quotes must be straight ones"
    } else if text.starts_with(|c: char| c.is_ascii_digit()) && text.ends_with(char::is_alphabetic)
    {
        "leave the unit out, it is the step's"
    } else if text.contains(" or ") {
        "a comma between two tests means or"
    } else {
        "write it as in 12.4"
    };
    format!("`{text}` is no number; {how}")
}

/// Whether the tests hold for a value. `otherwise` always holds: see [`branch`] for its place.
#[must_use]
pub fn holds(tests: &UnaryTests, value: Tested<'_>) -> bool {
    match tests {
        UnaryTests::Otherwise => true,
        UnaryTests::Any(list) => list.iter().any(|test| one_holds(test, value)),
        UnaryTests::Not(list) => !list.iter().any(|test| one_holds(test, value)),
    }
}

/// The branch that a value takes: the one whose tests hold, `otherwise` only where no other does.
pub fn branch<'a, T>(branches: &'a [Branch<T>], value: Tested<'_>) -> Option<&'a Branch<T>> {
    let is_otherwise = |b: &&Branch<T>| b.tests == UnaryTests::Otherwise;
    let named = branches.iter().filter(|b| !is_otherwise(b));
    named
        .into_iter()
        .find(|b| holds(&b.tests, value))
        .or_else(|| branches.iter().find(is_otherwise))
}

/// Whether that branch, one of them, takes the value.
pub fn takes<T>(branches: &[Branch<T>], own: &Branch<T>, value: Tested<'_>) -> bool {
    branch(branches, value).is_some_and(|taken| std::ptr::eq(taken, own))
}

fn one_holds(test: &UnaryTest, value: Tested<'_>) -> bool {
    match (test, value) {
        (UnaryTest::Name(name), Tested::Name(value)) => name == value,
        (UnaryTest::Range { low, high }, Tested::Number(value)) => {
            let above = low.is_none_or(|(end, included)| value > end || included && value == end);
            let below = high.is_none_or(|(end, included)| value < end || included && value == end);
            above && below
        }
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn holding(tests: &str, value: &str) -> bool {
        holds(
            &parse(tests).unwrap(),
            Tested::Number(value.parse().unwrap()),
        )
    }

    /// Meaning of the forms as in OMG DMN 1.3, simple unary tests (from memory): round and outward
    /// brackets leave an end out, a comma is "or", `not` turns the whole list over.
    #[test]
    fn the_forms_mean_what_feel_says() {
        let cases = [
            ("< 12.2", "12.19", "12.20"),
            ("<= 3", "3", "3.1"),
            ("> 1", "1.1", "1"),
            (">= 1", "1", "0.9"),
            ("[13.8..14.8]", "14.8", "14.81"),
            ("(10..20]", "20", "10"),
            ("]10..20[", "11", "20"),
            ("[10..20)", "10", "20"),
            ("5", "5.0", "4"),
            ("< 5, > 20", "21", "5"),
            ("not([10..20])", "9", "10"),
            ("not(< 5, > 20)", "5", "4"),
        ];
        for (tests, inside, outside) in cases {
            assert!(holding(tests, inside), "{tests} {inside}");
            assert!(!holding(tests, outside), "{tests} {outside}");
        }
        let names = parse("posts, connector").unwrap();
        assert!(holds(&names, Tested::Name("posts")));
        assert!(!holds(&names, Tested::Name("clamp-high")));
        assert!(!holds(&names, Tested::Number(Decimal::ONE)));
    }

    /// The standard's own examples of simple unary tests (OMG DMN 1.3, clause 10.3.2, "5 in (…)"; as several
    /// open test suites for it repeat them), but for the one over dates, which are not tested here.
    #[test]
    fn the_examples_of_the_standard_come_out_as_it_says() {
        let examples = [
            ("<= 5", true),
            ("(5..10]", false),
            ("[5..10]", true),
            ("4, 5, 6", true),
            ("<5, >5", false),
        ];
        for (tests, true_of_five) in examples {
            assert_eq!(holding(tests, "5"), true_of_five, "5 in ({tests})");
        }
    }

    /// A blank after the comma makes a list of it; without one, somebody means a number.
    #[test]
    fn a_decimal_comma_is_refused() {
        let two = "`4,5` would be two tests, `< 4` and `5`: write 4.5 for one number, or a blank after the comma \
                   for two tests";
        assert_eq!(parse("< 4,5"), Err(two.to_owned()));
        assert!(holding("< 4, 5", "5"));
        assert!(holding("< 4 ,5", "5"));
        for (bad, told) in [
            ("[0,5..40]", "write 0.5, not 0,5"),
            ("]10..40,25[", "write 40.25, not 40,25"),
            ("not(4,5)", "`4` and `5`"),
            ("> 20, < 4,5", "`< 4` and `5`"),
        ] {
            let said = parse(bad).unwrap_err();
            assert!(said.contains(told), "{bad}: {said}");
        }
        assert!(parse("bank-1,bank-2").is_ok());
    }

    #[test]
    fn what_is_no_test_is_refused() {
        for bad in [
            "",
            "<",
            "< x",
            "[1..2",
            "[1,2]",
            "[1.2]",
            "1..2",
            "5,",
            "not(5",
            "== 5",
            "= 5",
            "+5",
            "1e3",
            ".5",
            "5.",
            "not(otherwise",
            "[a..b]",
            "9999999999999999",
        ] {
            assert!(parse(bad).is_err(), "{bad:?}");
        }
    }

    #[test]
    fn slips_are_named() {
        let cases = [
            ("≤ 0.050", "write `<=`"),
            ("“< 9.6”", "straight"),
            ("<= 50 mA", "leave the unit out"),
            ("[8...12.6]", "two points"),
            ("8-12.6", "for between write `[8..12.6]`"),
            ("=< 5", "write `<=`"),
            ("5 >", "the sign stands before"),
            ("less than 5", "for the words"),
            ("5..10", "in brackets"),
            ("[..10]", "an end is missing"),
        ];
        for (text, told) in cases {
            let refused = parse(text).unwrap_err();
            assert!(refused.contains(told), "{text}: {refused}");
        }
    }
}
