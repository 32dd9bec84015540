//! Forms of answers (numbers, choices) and the branches that test them.

use rust_decimal::Decimal;
use saphyr_parser::ScalarStyle;

use super::fields::{Fields, refuse_ambiguous, scalar, text};
use super::question::one_of;
use super::range::interval;
use super::step::target;
use super::test_meant;
use super::{Named, Reading, not_kebab};
use crate::procedure::model::{Branch, Choice, Next, NumberForm, UnaryTests};
use crate::procedure::names::is_kebab;
use crate::procedure::problem::Findings;
use crate::procedure::unary;
use crate::procedure::written::keys;
use crate::procedure::written::tree::{Content, Node};
use crate::quantity::{Quantity, Unit};

const MEASURE_KEYS: [&str; 5] = keys::names(&keys::MEASURE);

/// Quantities by the name under which a procedure measures them.
pub(crate) const QUANTITIES: [(&str, Quantity); 14] = [
    ("voltage", Quantity::Voltage),
    ("current", Quantity::Current),
    ("gauge pressure", Quantity::GaugePressure),
    ("absolute pressure", Quantity::AbsolutePressure),
    ("speed", Quantity::Speed),
    ("temperature", Quantity::Temperature),
    ("percent", Quantity::Percent),
    ("length", Quantity::Length),
    ("distance", Quantity::Distance),
    ("duration", Quantity::Duration),
    ("angle", Quantity::Angle),
    ("vacuum", Quantity::Vacuum),
    ("count", Quantity::Count),
    ("resistance", Quantity::Resistance),
];

/// A quantity by that name.
pub(crate) fn quantity_name(quantity: Quantity) -> &'static str {
    let found = QUANTITIES.iter().find(|(_, known)| *known == quantity);
    found.map_or("number", |(name, _)| name)
}

/// The choices of a step: name and what it says.
pub(crate) fn choices(node: &Node, number: usize, reading: &mut Reading) -> Option<Vec<Choice>> {
    let Content::Map(entries) = &node.content else {
        reading.findings.doubt(
            &node.position,
            format!(
                "`choose` wants lines `name: what it says`, here stands {}",
                node.kind()
            ),
            "",
            "Write `name: What it says` lines under it; branches test the name.".to_owned(),
        );
        return None;
    };
    let mut choices = Vec::new();
    for (key, node) in entries {
        let name = key.scalar.value.clone();
        let at = Node {
            position: key.position.clone(),
            content: Content::Scalar(key.scalar.clone()),
        };
        if !is_kebab(&name) || name == "otherwise" || name == "not" {
            not_kebab(&at, &name, "a choice's name", reading.findings);
        }
        refuse_ambiguous(&key.scalar, &at, "a choice", reading.findings);
        reading
            .places
            .put(number, format!("choose/{name}"), &key.position);
        let label = text(node, "a choice's text", reading.findings)?;
        choices.push(Choice { name, label });
    }
    Some(choices)
}

/// The form of a measured number.
pub(crate) fn number_form(node: &Node, number: usize, reading: &mut Reading) -> Option<NumberForm> {
    if comma_in_braces(node, reading.findings) {
        return None;
    }
    let example = "Write `measure: {unit: V, resolution: 0.01, possible: \"[0..20]\"}`.";
    if !matches!(node.content, Content::Map(_)) {
        let message = format!(
            "`measure` wants the form of a number, here stands {}",
            node.kind()
        );
        let why = "Without unit, resolution and range no reading can be judged.";
        reading
            .findings
            .doubt(&node.position, message, why, example.to_owned());
        return None;
    }
    let mut fields = Fields::of(node, "`measure`".to_owned(), reading.findings)?;
    let quantity = fields.take("quantity");
    let quantity = quantity.and_then(|n| one_of(n, "`quantity`", &QUANTITIES, reading));
    let unit = fields.need("unit", example, reading.findings);
    let unit = unit.and_then(|n| unit_of(n, quantity, reading));
    let resolution = fields.need("resolution", example, reading.findings);
    let resolution = resolution.and_then(|n| resolution_of(n, reading));
    let possible = fields.need("possible", example, reading.findings);
    if let Some(node) = possible {
        reading.places.put(number, "possible", &node.position);
    }
    let possible = possible.and_then(|n| interval(n, reading));
    let expected = fields.take("expected");
    if let Some(node) = expected {
        reading.places.put(number, "expected", &node.position);
    }
    let expected = expected.and_then(|n| interval(n, reading));
    fields.finish(&MEASURE_KEYS, reading.findings);
    Some(NumberForm {
        unit: unit?,
        meant: unit?,
        resolution: resolution?,
        possible: possible?,
        expected,
    })
}

/// In braces a decimal comma ends the value: `{resolution: 0,1}` is a resolution of 0 and a key `1`.
pub(crate) fn comma_in_braces(node: &Node, findings: &mut Findings) -> bool {
    let Content::Map(entries) = &node.content else {
        return false;
    };
    for pair in entries.windows(2) {
        let [(key, value), (next, nothing)] = pair else {
            continue;
        };
        let Content::Scalar(found) = &value.content else {
            continue;
        };
        let behind = &next.scalar.value;
        let (from, to) = (&value.position, &next.position);
        let joined =
            from.line == to.line && from.column + found.value.chars().count() + 1 == to.column;
        let digit = |c: char| c.is_ascii_digit();
        if joined && nothing.is_empty() && found.value.ends_with(digit) && behind.starts_with(digit)
        {
            let message = format!(
                "`{}: {},{behind}` has a comma: the decimal sign is a point",
                key.scalar.value, found.value
            );
            let why = "In braces, a comma ends the value.";
            let remedy = format!("Write {}.{behind}.", found.value);
            findings.doubt(from, message, why, remedy);
            return true;
        }
    }
    false
}

fn unit_of(node: &Node, quantity: Option<Quantity>, reading: &mut Reading) -> Option<Unit> {
    let found = scalar(node, "`unit`", reading.findings)?;
    let unit = Unit::spellings().find(|(written, _)| *written == found.value);
    let Some((_, unit)) = unit else {
        let symbols: Vec<&str> = Unit::all().map(Unit::symbol).collect();
        let message = format!("`{}` is no unit", found.value);
        let remedy = match Unit::parse(&found.value) {
            Ok(unit) => format!("Write `{}`.", unit.symbol()),
            Err(_) => format!("Known: {}.", symbols.join(", ")),
        };
        reading.findings.doubt(&node.position, message, "", remedy);
        return None;
    };
    if let Some(quantity) = quantity.filter(|quantity| *quantity != unit.quantity()) {
        let name = quantity_name(quantity);
        let units = Unit::all().filter(|unit| unit.quantity() == quantity);
        let units: Vec<&str> = units.map(Unit::symbol).collect();
        reading.findings.doubt(
            &node.position,
            format!(
                "`{}` is a unit of {}, not of {name}",
                found.value,
                quantity_name(unit.quantity())
            ),
            "",
            format!(
                "Units of {name}: {}; or change `quantity`, which may be left out.",
                units.join(", ")
            ),
        );
    }
    Some(unit)
}

fn resolution_of(node: &Node, reading: &mut Reading) -> Option<Decimal> {
    let found = scalar(node, "`resolution`", reading.findings)?;
    let value = unary::number(&found.value).ok();
    let value = value.filter(|value| *value > Decimal::ZERO);
    if value.is_none() {
        let (mut message, mut remedy) = (
            format!("`resolution` is `{}`", found.value),
            "Write the smallest step of the display as a number: 0.01".to_owned(),
        );
        let with_point = found.value.replacen(',', ".", 1);
        if with_point != found.value && unary::number(&with_point).is_ok() {
            message += ": the decimal sign is a point";
            remedy = format!("Write {with_point}.");
        }
        reading.findings.doubt(&node.position, message, "", remedy);
    }
    value
}

/// Where a step leads: one step, or branches.
pub(crate) fn next(
    fields: &mut Fields<'_>,
    number: usize,
    reading: &mut Reading,
) -> Option<Next<Named>> {
    let remedy = "Say where it goes on: `then: step-id`.";
    let node = fields.need("then", remedy, reading.findings)?;
    reading.places.put(number, "then", &node.position);
    let Content::List(items) = &node.content else {
        return target(node, reading).map(Next::Always);
    };
    let mut branches = Vec::new();
    let mut all = true;
    for (count, item) in items.iter().enumerate() {
        reading
            .places
            .put(number, format!("then/{count}"), &item.position);
        match branch(item, reading) {
            Some(branch) => branches.push(branch),
            None => all = false,
        }
    }
    all.then_some(Next::When(branches))
}

fn branch(item: &Node, reading: &mut Reading) -> Option<Branch<Named>> {
    if let Content::Scalar(found) = &item.content {
        let message = "a branch wants two lines, `when` and `go`, here stands one text".to_owned();
        let remedy = format!(
            "Write `- when: \"< 12.2\"` and under it `go: {}`.",
            found.value
        );
        let why = "A branch says for which answer it is, and where that leads.";
        reading.findings.doubt(&item.position, message, why, remedy);
        return None;
    }
    let mut fields = Fields::of(item, "a branch".to_owned(), reading.findings)?;
    if fields.is_doubled("when") {
        return None; // two branches in one, which has been told
    }
    let remedy = "Write `- when: \"< 12.2\"` and under it `go: step-id`.";
    let when = fields.need("when", remedy, reading.findings);
    let when = when.and_then(|node| tests(node, reading));
    let go = fields.need("go", remedy, reading.findings);
    let go = go.and_then(|node| target(node, reading));
    fields.finish(&keys::names(&keys::BRANCH), reading.findings);
    let (written, tests) = when?;
    Some(Branch {
        written,
        tests,
        target: go?,
    })
}

fn tests(node: &Node, reading: &mut Reading) -> Option<(String, UnaryTests)> {
    let why = "Without quotes, YAML takes some signs for its own.";
    let Content::Scalar(found) = &node.content else {
        let message = format!("`when` wants one text, here stands {}", node.kind());
        let quotes = || "Put the test in quotes: \"[13.8..14.8]\".".to_owned();
        let remedy = test_meant::remedy_of_list(node).unwrap_or_else(quotes);
        reading.findings.doubt(&node.position, message, why, remedy);
        return None;
    };
    if matches!(found.style, ScalarStyle::Folded | ScalarStyle::Literal) {
        let message = "`when` begins with `>` or `|` without quotes".to_owned();
        let remedy = "Put the test in quotes: \"> 1\".".to_owned();
        reading.findings.doubt(&node.position, message, why, remedy);
        return None;
    }
    refuse_ambiguous(found, node, "`when`", reading.findings);
    match unary::parse(&found.value) {
        Ok(tests) if test_meant::is_otherwise(&tests) => {
            let message = format!("`{}` is written nearly like `otherwise`", found.value);
            let why = "As the name of an answer it would never come.";
            let remedy = "Did you mean `otherwise`?".to_owned();
            reading.findings.doubt(&node.position, message, why, remedy);
            None
        }
        Ok(tests) => Some((found.value.clone(), tests)),
        Err(message) => {
            let forms = ["otherwise", "not(…)", "< 5", "[5..10]", "a choice's name"];
            let message = format!("`when: {}` is no test: {message}", found.value);
            let forms = || format!("Forms: {}; several with commas between.", forms.join(", "));
            let remedy = test_meant::remedy(&found.value).unwrap_or_else(forms);
            reading.findings.doubt(&node.position, message, "", remedy);
            None
        }
    }
}
