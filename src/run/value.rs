//! What steps have answered, as values that branches test and texts show.

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use crate::procedure::model::{Choice, Question, Step, StepIndex, UnaryTest, UnaryTests};
use crate::quantity::Measured;
use crate::run::event::{Answer, CaptureFile};

/// What stands in a text where a value is not known.
const UNKNOWN: &str = "(not known)";

/// A value.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Yes or no.
    Confirmed(bool),
    /// A choice.
    Chosen {
        /// Its name, which branches test.
        name: String,
        /// What it says.
        label: String,
    },
    /// A number.
    Number(Measured),
    /// A text.
    Text(String),
    /// A capture.
    Capture(CaptureFile),
    /// Several facts by name: of a computation, or what a called procedure gave.
    Facts(BTreeMap<String, Value>),
}

impl Value {
    /// The value of an answer to a step.
    #[must_use]
    pub fn of_answer(step: &Step<StepIndex>, answer: &Answer) -> Self {
        match answer {
            Answer::Confirm { yes } => Value::Confirmed(*yes),
            Answer::Choice { name } => Value::Chosen {
                name: name.clone(),
                label: label_of(step, name),
            },
            Answer::Number { value, unit, .. } => Value::Number(Measured {
                value: *value,
                unit: *unit,
            }),
            Answer::Text { text } => Value::Text(text.clone()),
            Answer::Capture(file) => Value::Capture(file.clone()),
        }
    }

    /// As a person reads it.
    #[must_use]
    pub fn shown(&self) -> String {
        match self {
            Value::Confirmed(yes) => if *yes { "yes" } else { "no" }.to_owned(),
            Value::Chosen { label, .. } => label.clone(),
            Value::Number(number) => number.to_string(),
            Value::Text(text) if text.is_empty() => "–".to_owned(),
            Value::Text(text) => text.clone(),
            Value::Capture(file) => file.file.clone(),
            Value::Facts(facts) => facts
                .iter()
                .map(|(name, value)| format!("{name}: {}", value.shown()))
                .collect::<Vec<_>>()
                .join(", "),
        }
    }

    /// As a branch names it.
    #[must_use]
    pub fn name(&self) -> String {
        match self {
            Value::Chosen { name, .. } => name.clone(),
            other => other.shown(),
        }
    }

    /// The number in it; a text such as "45.00 %" counts as one.
    #[must_use]
    pub fn number(&self) -> Option<Decimal> {
        match self {
            Value::Number(number) => Some(number.value),
            Value::Text(text) => text.split_whitespace().next()?.parse().ok(),
            _ => None,
        }
    }

    /// The fact of that name, or the value itself where none is named.
    #[must_use]
    pub fn fact(&self, name: Option<&str>) -> Option<&Value> {
        match (name, self) {
            (None, _) => Some(self),
            (Some(name), Value::Facts(facts)) => facts.get(name),
            (Some(_), _) => None,
        }
    }

    /// Facts by name, as texts.
    #[must_use]
    pub fn of_facts(facts: &BTreeMap<String, String>) -> Self {
        Value::Facts(
            facts
                .iter()
                .map(|(name, text)| (name.clone(), Value::Text(text.clone())))
                .collect(),
        )
    }

    /// Whether these tests hold of it. `otherwise` is left to the caller, who knows the other branches.
    #[must_use]
    pub fn passes(&self, tests: &UnaryTests) -> bool {
        match tests {
            UnaryTests::Otherwise => false,
            UnaryTests::Any(tests) => tests.iter().any(|test| self.passes_one(test)),
            UnaryTests::Not(tests) => !tests.iter().any(|test| self.passes_one(test)),
        }
    }

    fn passes_one(&self, test: &UnaryTest) -> bool {
        match test {
            UnaryTest::Name(name) => self.name() == *name,
            UnaryTest::Range { low, high } => self.number().is_some_and(|value| {
                low.is_none_or(|(end, in_it)| value > end || (in_it && value == end))
                    && high.is_none_or(|(end, in_it)| value < end || (in_it && value == end))
            }),
        }
    }
}

fn label_of(step: &Step<StepIndex>, name: &str) -> String {
    let choices: &[Choice] = match &step.question {
        Question::Choose { choices, .. } => choices,
        _ => &[],
    };
    choices
        .iter()
        .find(|choice| choice.name == name)
        .map_or_else(|| name.to_owned(), |choice| choice.label.clone())
}

/// A text with each `{path}` replaced by what `read` gives for it.
pub fn filled(text: &str, read: impl Fn(&str, Option<&str>) -> Option<String>) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('{') {
        let Some((path, tail)) = after.split_once('}') else {
            break;
        };
        out.push_str(before);
        let (of, fact) = match path.split_once('.') {
            Some((of, fact)) => (of.trim(), Some(fact.trim())),
            None => (path.trim(), None),
        };
        out.push_str(&read(of, fact).unwrap_or_else(|| UNKNOWN.to_owned()));
        rest = tail;
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Unit;

    fn number(text: &str) -> Value {
        Value::Number(Measured::parse(text, Unit::Volt).unwrap())
    }

    fn range(low: Option<(&str, bool)>, high: Option<(&str, bool)>) -> UnaryTests {
        let end = |e: Option<(&str, bool)>| e.map(|(text, in_it)| (text.parse().unwrap(), in_it));
        UnaryTests::Any(vec![UnaryTest::Range {
            low: end(low),
            high: end(high),
        }])
    }

    #[test]
    fn ends_count_only_where_they_are_included() {
        let open = range(Some(("12.20", false)), Some(("13", true)));
        for (text, holds) in [
            ("12.2", false),
            ("12.21", true),
            ("13", true),
            ("13.01", false),
        ] {
            assert_eq!(number(text).passes(&open), holds, "{text}");
        }
        assert!(number("-3").passes(&range(None, Some(("0", false)))));
        assert!(Value::Text("45.00 %".to_owned()).passes(&range(Some(("30", true)), None)));
    }

    #[test]
    fn names_are_those_of_choices_and_not_turns_them_over() {
        let chosen = Value::Chosen {
            name: "posts".to_owned(),
            label: "At the posts".to_owned(),
        };
        let names = vec![UnaryTest::Name("posts".to_owned())];
        assert!(chosen.passes(&UnaryTests::Any(names.clone())));
        assert!(!chosen.passes(&UnaryTests::Not(names)));
        assert_eq!(chosen.shown(), "At the posts");
    }

    #[test]
    fn texts_are_filled_and_what_is_missing_says_so() {
        let read = |of: &str, fact: Option<&str>| {
            (of == "judge" && fact == Some("lowest cylinder")).then(|| "3".to_owned())
        };
        assert_eq!(
            filled("Cylinder {judge.lowest cylinder}.", read),
            "Cylinder 3."
        );
        assert_eq!(
            filled("At {nowhere}; a lone { stays", read),
            "At (not known); a lone { stays"
        );
    }
}
