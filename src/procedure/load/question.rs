//! The one thing that a step asks, and where the answer leads.

use std::collections::BTreeMap;

use super::fields::{Fields, name, no_blank, text};
use super::form::{choices, next, number_form};
use super::step::{optional_text, target};
use super::{Named, Reading, not_kebab, value_path};
use crate::procedure::computation::Computation;
use crate::procedure::model::{CaptureKind, Next, OutcomeKind, Question, TextForm, ValuePath};
use crate::procedure::names::is_kebab;
use crate::procedure::nearest::suggestion;
use crate::procedure::written::tree::{Content, Node};

/// The kinds of question; a step has exactly one.
pub(super) const KINDS: [&str; 8] = [
    "confirm", "choose", "measure", "capture", "note", "compute", "call", "outcome",
];

/// What a capture step asks where its author writes no `ask`.
const CAPTURE_ASK: &str = "Which file holds the capture?";

/// What `if-not` says where the same step is asked again until the answer is yes.
const AGAIN: &str = "again";

/// Kinds of captures.
pub(crate) const CAPTURES: [(&str, CaptureKind); 2] = [
    ("cranking", CaptureKind::Cranking),
    ("at rest", CaptureKind::AtRest),
];

/// Forms of notes.
pub(crate) const TEXT_FORMS: [(&str, TextForm); 5] = [
    ("text", TextForm::Text),
    ("optional", TextForm::Optional),
    ("firing order", TextForm::FiringOrder),
    ("firing intervals", TextForm::FiringIntervals),
    ("date", TextForm::Date),
];

/// Read the question of a step.
pub(crate) fn question(
    fields: &mut Fields<'_>,
    number: usize,
    id: &str,
    reading: &mut Reading,
) -> Option<Question<Named>> {
    let kinds: Vec<&'static str> = KINDS
        .into_iter()
        .filter(|kind| fields.peek(kind).is_some())
        .collect();
    let [kind] = kinds[..] else {
        report_kinds(fields, &kinds, reading);
        return None;
    };
    let node = fields.take(kind)?;
    reading.places.put(number, kind, &node.position);
    match kind {
        "confirm" => confirm(fields, node, number, id, reading),
        "choose" => {
            let ask = ask(fields, number, reading);
            let choices = choices(node, number, reading);
            Some(Question::Choose {
                next: next(fields, number, reading)?,
                ask: ask?,
                choices: choices?,
            })
        }
        "measure" => {
            let ask = ask(fields, number, reading);
            let form = number_form(node, number, reading);
            Some(Question::Measure {
                next: next(fields, number, reading)?,
                ask: ask?,
                form: form?,
            })
        }
        "capture" => capture(fields, node, number, reading),
        "note" => {
            let ask = ask(fields, number, reading);
            let form = one_of(node, "`note`", &TEXT_FORMS, reading);
            Some(Question::Note {
                next: next(fields, number, reading)?,
                ask: ask?,
                form: form?,
            })
        }
        "compute" => compute(fields, node, number, reading),
        "call" => call(fields, node, number, reading),
        _ => outcome(fields, node, number, reading),
    }
}

fn report_kinds(fields: &mut Fields<'_>, kinds: &[&'static str], reading: &mut Reading) {
    let misspelt = fields.meant(&super::step::KEYS);
    if kinds.is_empty() && misspelt.iter().any(|key| KINDS.contains(key)) {
        return; // the key is told as unknown
    }
    let message = if kinds.is_empty() {
        format!("{} asks nothing", fields.what)
    } else {
        format!(
            "{} asks {} things: {}",
            fields.what,
            kinds.len(),
            kinds.join(", ")
        )
    };
    reading.findings.doubt(
        fields.last_of(kinds).unwrap_or(&fields.lacking),
        message,
        "A step asks exactly one thing, so that each answer stands in the record by itself.",
        format!("Give it exactly one of: {}.", KINDS.join(", ")),
    );
}

fn ask(fields: &mut Fields<'_>, number: usize, reading: &mut Reading) -> Option<String> {
    let node = fields.need("ask", "Write the question after `ask:`.", reading.findings)?;
    reading.places.put(number, "ask", &node.position);
    text(node, "`ask`", reading.findings)
}

/// `then: [one, other]`, told as what it means.
fn two_ways(fields: &mut Fields<'_>, reading: &mut Reading) -> bool {
    let Some(node) = fields.peek("then") else {
        return false;
    };
    let Content::List(items) = &node.content else {
        return false;
    };
    let names = items.iter().map(|item| match &item.content {
        Content::Scalar(name) => Some(name.value.as_str()),
        _ => None,
    });
    let Some([yes, no]) = names
        .collect::<Option<Vec<_>>>()
        .as_deref()
        .and_then(|names| <[&str; 2]>::try_from(names).ok())
    else {
        return false;
    };
    let (message, why) = (
        format!("`then` of {} names two steps", fields.what),
        "Which of them follows yes, and which no, is said by two keys.",
    );
    let remedy =
        format!("Write `then: {yes}` for yes and, on a line of its own, `if-not: {no}` for no.");
    reading.findings.doubt(&node.position, message, why, remedy);
    fields.take("then");
    fields.take("if-not");
    true
}

fn confirm(
    fields: &mut Fields<'_>,
    node: &Node,
    number: usize,
    id: &str,
    reading: &mut Reading,
) -> Option<Question<Named>> {
    let statement = text(node, "`confirm`", reading.findings);
    if two_ways(fields, reading) {
        return None;
    }
    let yes = match next(fields, number, reading) {
        Some(Next::Always(target)) => Some(target),
        Some(Next::When(_)) => {
            reading.findings.doubt(
                &fields.position,
                format!("`then` of {} has branches", fields.what),
                "A confirmed statement leads one way; its denial goes after `if-not`.",
                "Write `then: step-id`, or ask with `choose`.".to_owned(),
            );
            None
        }
        None => None,
    };
    let remedy = "Say where the answer no leads: `if-not: step-id`.";
    let no = fields.need("if-not", remedy, reading.findings);
    let mut no = no.and_then(|node| target(node, reading))?;
    if no.name == AGAIN {
        id.clone_into(&mut no.name);
    }
    reading.places.put(number, "if-not", &no.position);
    Some(Question::Confirm {
        statement: statement?,
        yes: yes?,
        no,
    })
}

fn capture(
    fields: &mut Fields<'_>,
    node: &Node,
    number: usize,
    reading: &mut Reading,
) -> Option<Question<Named>> {
    let ask = optional_text(fields, "ask", number, reading);
    let kind = one_of(node, "`capture`", &CAPTURES, reading);
    Some(Question::Capture {
        ask: ask.unwrap_or_else(|| CAPTURE_ASK.to_owned()),
        next: next(fields, number, reading)?,
        kind: kind?,
    })
}

fn compute(
    fields: &mut Fields<'_>,
    node: &Node,
    number: usize,
    reading: &mut Reading,
) -> Option<Question<Named>> {
    let kinds = Computation::ALL.map(|c| (c.name(), c));
    let computation = one_of(node, "`compute`", &kinds, reading);
    let with = with(fields, number, reading);
    let tested = tested(fields, number, reading);
    Some(Question::Compute {
        next: next(fields, number, reading)?,
        computation: computation?,
        with,
        tested,
    })
}

fn call(
    fields: &mut Fields<'_>,
    node: &Node,
    number: usize,
    reading: &mut Reading,
) -> Option<Question<Named>> {
    let procedure = name(node, "`call`", reading.findings);
    let with = with(fields, number, reading);
    let tested = tested(fields, number, reading);
    let next = next(fields, number, reading)?;
    let procedure = procedure?;
    if !is_kebab(&procedure) {
        not_kebab(node, &procedure, "a procedure's name", reading.findings);
        return None;
    }
    Some(Question::Call {
        procedure,
        with,
        tested,
        next,
    })
}

fn with(
    fields: &mut Fields<'_>,
    number: usize,
    reading: &mut Reading,
) -> BTreeMap<String, ValuePath> {
    let mut values = BTreeMap::new();
    let Some(node) = fields.take("with") else {
        return values;
    };
    let Content::Map(entries) = &node.content else {
        reading.findings.doubt(
            &node.position,
            format!(
                "`with` wants lines `input: step-id`, here stands {}",
                node.kind()
            ),
            "",
            "Write `with: {input: step-id}`.".to_owned(),
        );
        reading.places.doubt(number, "with");
        return values;
    };
    for (key, node) in entries {
        let input = &key.scalar.value;
        if let Some((name, value)) = input.split_once(':').filter(|_| node.is_empty()) {
            let (message, remedy) = no_blank(name, value);
            let why = "As one word it hands nothing over.";
            reading.findings.doubt(&key.position, message, why, remedy);
            reading.places.doubt(number, "with");
            continue;
        }
        let part = format!("with/{input}");
        reading.places.put(number, part, &key.position);
        match value_path(input, node, reading.findings) {
            Some(path) => {
                values.insert(input.clone(), path);
            }
            None => reading.places.doubt(number, "with"),
        }
    }
    values
}

fn tested(fields: &mut Fields<'_>, number: usize, reading: &mut Reading) -> Option<String> {
    let node = fields.take("test")?;
    reading.places.put(number, "test", &node.position);
    name(node, "`test`", reading.findings)
}

fn outcome(
    fields: &mut Fields<'_>,
    node: &Node,
    number: usize,
    reading: &mut Reading,
) -> Option<Question<Named>> {
    let kind = one_of(
        node,
        "`outcome`",
        &OutcomeKind::ALL.map(|k| (k.name(), k)),
        reading,
    );
    let remedy = "Say in words how the job ended.";
    let finding = fields.need("finding", remedy, reading.findings);
    if let Some(node) = finding {
        reading.places.put(number, "finding", &node.position);
    }
    let finding = finding.and_then(|node| text(node, "`finding`", reading.findings));
    let advice = optional_text(fields, "advice", number, reading);
    Some(Question::Outcome {
        kind: kind?,
        finding: finding?,
        advice,
    })
}

/// A value of a closed list.
pub(crate) fn one_of<V: Copy>(
    node: &Node,
    what: &str,
    list: &[(&'static str, V)],
    reading: &mut Reading,
) -> Option<V> {
    let found = name(node, what, reading.findings)?;
    let value = list.iter().find(|(name, _)| *name == found);
    if value.is_none() {
        reading.findings.doubt(
            &node.position,
            format!("{what} cannot be `{found}`"),
            "",
            suggestion(&found, list.iter().map(|(name, _)| *name)),
        );
    }
    value.map(|(_, value)| *value)
}
