//! A JSON Schema (draft 2020-12) of procedure files, for editors that complete and underline while a
//! trainer writes. It says how a file is written; whether it is safe only the checks say. Everything in
//! it comes from the lists that the reader takes names from.

use serde_json::{Value, json};

use super::computation::Computation;
use super::load::{CAPTURES, QUANTITIES, TEXT_FORMS};
use super::model::{OutcomeKind, RecordLine};
use super::work::Work;
use super::written::keys::{self, Told};
use crate::quantity::Unit;

/// Where the schema's dialect is described.
const DIALECT: &str = "https://json-schema.org/draft/2020-12/schema";
/// Names of procedures, steps, choices and inputs.
const KEBAB: &str = "^[a-z][a-z0-9]*(-[a-z0-9]+)*$";
/// Paths to values.
const PATH: &str = "^[a-z][a-z0-9]*(-[a-z0-9]+)*(\\.[^.]+)?$";
/// A closed range.
const RANGE: &str = "^\\[-?[0-9.]+\\.\\.-?[0-9.]+\\]$";

/// The schema.
#[must_use]
pub fn schema() -> Value {
    let file = object(
        &keys::FILE,
        &["procedure", "revision", "title", "purpose", "steps"],
        &of_file,
    );
    let mut whole = json!({
        "$schema": DIALECT,
        "title": "A procedure file of evenfire",
        "$defs": {"step": step(), "text": text(), "path": path(), "target": target()},
    });
    merge(&mut whole, file);
    whole
}

fn merge(into: &mut Value, from: Value) {
    if let (Value::Object(into), Value::Object(from)) = (into, from) {
        into.extend(from);
    }
}

/// An object with exactly these keys.
fn object(told: &[Told], required: &[&str], form: &dyn Fn(&str) -> Value) -> Value {
    let properties = told.iter().map(|(key, says)| {
        let mut value = form(key);
        if let Value::Object(value) = &mut value {
            value.insert("description".to_owned(), json!(says));
        }
        ((*key).to_owned(), value)
    });
    json!({
        "type": "object",
        "properties": properties.collect::<serde_json::Map<_, _>>(),
        "required": required,
        "additionalProperties": false,
    })
}

fn text() -> Value {
    json!({"type": "string", "minLength": 1})
}

fn path() -> Value {
    json!({"type": "string", "pattern": PATH})
}

fn target() -> Value {
    json!({"type": "string", "pattern": KEBAB})
}

fn refer(name: &str) -> Value {
    json!({"$ref": format!("#/$defs/{name}")})
}

/// One of something or a list of it.
fn some(one: &Value) -> Value {
    json!({"anyOf": [one, {"type": "array", "items": one}]})
}

fn one_of<'n>(names: impl IntoIterator<Item = &'n str>) -> Value {
    json!({"enum": names.into_iter().collect::<Vec<_>>()})
}

fn of_file(key: &str) -> Value {
    match key {
        "procedure" => target(),
        "revision" => json!({"type": "integer", "minimum": 1}),
        "takes" => some(&target()),
        "gives" => json!({"type": "object", "additionalProperties": refer("path")}),
        "steps" => json!({
            "type": "object", "minProperties": 1, "additionalProperties": refer("step"),
            "propertyNames": {"pattern": KEBAB},
        }),
        _ => refer("text"),
    }
}

fn step() -> Value {
    object(&keys::STEP, &[], &of_step)
}

fn of_step(key: &str) -> Value {
    match key {
        "danger" | "warning" | "caution" | "notice" => some(&refer("text")),
        "choose" => json!({
            "type": "object", "minProperties": 1, "additionalProperties": refer("text"),
            "propertyNames": {"pattern": KEBAB},
        }),
        "measure" => object(
            &keys::MEASURE,
            &["unit", "resolution", "possible"],
            &of_measure,
        ),
        "capture" => one_of(CAPTURES.map(|(name, _)| name)),
        "note" => one_of(TEXT_FORMS.map(|(name, _)| name)),
        "compute" => one_of(Computation::ALL.map(Computation::name)),
        "outcome" => one_of(OutcomeKind::ALL.map(OutcomeKind::name)),
        "work" => some(&one_of(Work::ALL.map(Work::name))),
        "needs" | "establishes" | "revokes" | "restores" => some(&refer("text")),
        "disables" => json!({"type": "object", "additionalProperties": refer("text")}),
        "fills" => one_of(RecordLine::ALL.map(RecordLine::name)),
        "at-most" => object(&keys::AT_MOST, &["times", "then"], &|key| match key {
            "times" => json!({"type": "integer", "minimum": 1}),
            _ => refer("target"),
        }),
        "then" => {
            let branch = object(&keys::BRANCH, &["when", "go"], &|key| match key {
                "go" => refer("target"),
                _ => json!({"type": ["string", "number"]}),
            });
            json!({"anyOf": [refer("target"), {"type": "array", "minItems": 1, "items": branch}]})
        }
        "call" | "if-not" | "same-as" => refer("target"),
        "with" => json!({"type": "object", "additionalProperties": refer("path")}),
        _ => refer("text"),
    }
}

fn of_measure(key: &str) -> Value {
    match key {
        "quantity" => one_of(QUANTITIES.map(|(name, _)| name)),
        "unit" => one_of(Unit::spellings().map(|(written, _)| written)),
        "resolution" => json!({"type": "number", "exclusiveMinimum": 0}),
        _ => json!({"type": "string", "pattern": RANGE}),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every name that the reader knows stands in the schema: the two come from the same lists.
    #[test]
    fn the_schema_names_what_the_reader_takes() {
        let written = schema().to_string();
        let lists = [
            keys::names(&keys::FILE).to_vec(),
            keys::names(&keys::STEP).to_vec(),
            keys::names(&keys::MEASURE).to_vec(),
            Work::ALL.map(Work::name).to_vec(),
            RecordLine::ALL.map(RecordLine::name).to_vec(),
            Computation::ALL.map(Computation::name).to_vec(),
            OutcomeKind::ALL.map(OutcomeKind::name).to_vec(),
            Unit::spellings().map(|(written, _)| written).collect(),
            QUANTITIES.map(|(name, _)| name).to_vec(),
        ];
        for name in lists.into_iter().flatten() {
            assert!(written.contains(&format!("\"{name}\"")), "{name}");
        }
    }

    /// A step can hold every key of the reader's and no other.
    #[test]
    fn a_step_takes_no_other_key() {
        let schema = schema();
        let step = &schema["$defs"]["step"];
        assert_eq!(step["additionalProperties"], json!(false));
        let keys = step["properties"].as_object().unwrap();
        assert_eq!(keys.len(), keys::STEP.len());
        assert!(keys.values().all(|key| key["description"].is_string()));
    }
}
