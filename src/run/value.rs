//! What steps have answered, as values that branches test and texts show.

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use crate::procedure::model::{Branch, Choice, Question, Step, StepIndex, ValuePath};
use crate::procedure::paths;
use crate::procedure::unary::{self, Tested};
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
    /// Not done, on a lead's word: who and why.
    Waived(String),
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
            Value::Text(text) | Value::Waived(text) => text.clone(),
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

    /// The branch that it takes, among those that test it.
    #[must_use]
    pub fn branch<'b, T>(&self, branches: &'b [Branch<T>]) -> Option<&'b Branch<T>> {
        match self.number() {
            Some(number) => unary::branch(branches, Tested::Number(number)),
            None => unary::branch(branches, Tested::Name(&self.name())),
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
pub fn filled(text: &str, read: impl Fn(&ValuePath) -> Option<String>) -> String {
    let known = |path: &ValuePath| Some(read(path).unwrap_or_else(|| UNKNOWN.to_owned()));
    paths::fill(text, known).unwrap_or_else(|_| text.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Unit;

    fn taken(value: &Value, written: &[&str]) -> Option<usize> {
        let branches: Vec<Branch<usize>> = (0..)
            .zip(written)
            .map(|(target, written)| Branch {
                written: (*written).to_owned(),
                tests: unary::parse(written).unwrap(),
                target,
            })
            .collect();
        value.branch(&branches).map(|branch| branch.target)
    }

    #[test]
    fn numbers_texts_of_numbers_and_names_find_their_branch() {
        let volts = |text| Value::Number(Measured::parse(text, Unit::Volt).unwrap());
        assert_eq!(taken(&volts("12.19"), &["< 12.2", ">= 12.2"]), Some(0));
        assert_eq!(taken(&volts("12.2"), &["< 12.2", "otherwise"]), Some(1));
        let loss = Value::Text("45.00 %".to_owned());
        assert_eq!(taken(&loss, &["otherwise", ">= 30"]), Some(1));
        let chosen = Value::Chosen {
            name: "posts".to_owned(),
            label: "At the posts".to_owned(),
        };
        assert_eq!(taken(&chosen, &["clamp", "posts, connector"]), Some(1));
        assert_eq!(taken(&chosen, &["clamp", "not(posts)"]), None);
        assert_eq!(chosen.shown(), "At the posts");
    }

    #[test]
    fn texts_are_filled_and_what_is_missing_says_so() {
        let read = |path: &ValuePath| {
            (path.to_string() == "judge.lowest cylinder").then(|| "3".to_owned())
        };
        assert_eq!(
            filled("Cylinder {judge.lowest cylinder}.", read),
            "Cylinder 3."
        );
        assert_eq!(filled("At {nowhere}.", read), "At (not known).");
    }
}
