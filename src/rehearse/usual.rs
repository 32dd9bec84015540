//! The usual answer to a question: what a scenario need not write.

use rust_decimal::Decimal;

use crate::engine::Engine;
use crate::procedure::computation::{Computation, Domain};
use crate::procedure::model::{NumberForm, RecordLine, TextForm};
use crate::run::screen::Form;

use super::scenario::Facts;

/// The usual note.
const NOTE: &str = "as usual";
/// The usual date: any day will do.
const DATE: &str = "2026-01-15";
/// What a fact that is a text says where a scenario states none.
const NOT_STATED: &str = "(not stated)";

/// The usual answer as it would be typed; none for a capture. `line` is what the step fills.
pub fn answer(form: &Form, line: Option<RecordLine>, engine: Option<&Engine>) -> Option<String> {
    let told = line.and_then(|line| match engine {
        Some(engine) => of_engine(line, engine),
        None => of_no_engine(line),
    });
    if told.is_some() {
        return told;
    }
    match form {
        Form::Confirm | Form::PutBack => Some("yes".to_owned()),
        Form::Choose(choices) => choices.first().map(|choice| choice.name.clone()),
        Form::Number(form) => Some(middle(form).to_string()),
        Form::Text(TextForm::Text | TextForm::Optional) => Some(NOTE.to_owned()),
        Form::Text(TextForm::Date) => Some(DATE.to_owned()),
        Form::Text(TextForm::FiringIntervals) => Some("even".to_owned()),
        Form::Text(TextForm::FiringOrder) => Some("1-3-4-2".to_owned()),
        Form::Capture(_) | Form::Trouble => None,
    }
}

/// What is said of the engine where a scenario does not care.
fn of_no_engine(line: RecordLine) -> Option<String> {
    let told = match line {
        RecordLine::Cylinders => "4",
        RecordLine::FiringOrder => "1-3-4-2",
        RecordLine::FiringIntervals => "even",
        _ => return None,
    };
    Some(told.to_owned())
}

fn of_engine(line: RecordLine, engine: &Engine) -> Option<String> {
    let joined = |numbers: Vec<String>, by: &str| Some(numbers.join(by));
    match line {
        RecordLine::Cylinders => Some(engine.cylinders().to_string()),
        RecordLine::FiringOrder => joined(
            engine.firing_order().iter().map(usize::to_string).collect(),
            "-",
        ),
        RecordLine::FiringIntervals => joined(
            engine
                .firing_intervals_deg()
                .iter()
                .map(f64::to_string)
                .collect(),
            " ",
        ),
        RecordLine::Fuel => engine.fuel().map(|fuel| fuel.name().to_owned()),
        _ => None,
    }
}

/// The middle of what is expected, else of what is possible, on the grid.
pub(super) fn middle(form: &NumberForm) -> Decimal {
    let range = form.expected.unwrap_or(form.possible);
    let half = (range.greatest - range.least) / Decimal::TWO;
    let steps = (half / form.resolution).floor();
    range.least + steps * form.resolution
}

/// All facts of a computation: those that are stated, for the others the first that they can be.
///
/// # Errors
/// Which stated fact cannot be, and what could.
pub(super) fn facts(computation: Computation, stated: &Facts) -> Result<Facts, String> {
    let known = computation.facts();
    if let Some(name) = stated
        .keys()
        .find(|name| known.iter().all(|fact| fact.name != **name))
    {
        let names: Vec<&str> = known.iter().map(|fact| fact.name).collect();
        return Err(format!(
            "`{}` gives no fact `{name}`; it gives {}",
            computation.name(),
            names.join(", ")
        ));
    }
    let mut facts = Facts::new();
    for fact in known {
        let value = match (stated.get(fact.name), &fact.domain) {
            (Some(value), Domain::Choice(names)) if !names.contains(value) => {
                return Err(format!(
                    "`{}` is never `{value}`; it is one of {}",
                    fact.name,
                    names.join(", ")
                ));
            }
            (Some(value), _) => value.clone(),
            (None, Domain::Choice(names)) => names.first().cloned().unwrap_or_default(),
            (None, Domain::Number { least, unit, .. }) => format!("{least} {}", unit.symbol()),
            (None, Domain::Text) => NOT_STATED.to_owned(),
        };
        facts.insert(fact.name.to_owned(), value);
    }
    Ok(facts)
}
