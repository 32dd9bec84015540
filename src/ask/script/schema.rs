//! A JSON Schema (draft 2020-12) of answers files, for editors and for whoever writes them by program.

use serde_json::{Map, Value, json};

use super::read::LONGEST_S;

/// A key and what it says.
type Told = (&'static str, &'static str);

/// Keys of the file; the first and the last must be there.
pub(super) const FILE: [Told; 4] = [
    ("procedure", "The procedure that is answered, by its name"),
    (
        "clock",
        "Start of a simulated clock, as in 2026-03-02T08:00:00Z; the record says so. Without it the time of day",
    ),
    (
        "seconds-per-answer",
        "Whole seconds that each answer takes on the simulated clock; 20 where not given",
    ),
    (
        "answers",
        "The entries, in the order in which they are asked",
    ),
];

/// What an entry replies; exactly one of them.
pub(super) const REPLIES: [Told; 8] = [
    (
        "answer",
        "yes or no; a choice's name; a number, with its unit where it is another than the step's; a text; for a \
         capture the path of its file as seen from this one. An unexpected number is given twice, by two entries",
    ),
    ("note", "A note beside the step; the step is asked again"),
    (
        "attach",
        "Path of a picture or file to be kept with the job; the step is asked again",
    ),
    (
        "cranked",
        "The starter was turned without a capture, for this reason; the step is asked again",
    ),
    (
        "waive",
        "Reason for which a lead waives the step; with `key`",
    ),
    (
        "stop",
        "The job is stopped, for this reason; what was cut off is still put back",
    ),
    ("back", "yes: back to the step before"),
    ("pause", "yes: the job is left open"),
];

/// The schema.
#[must_use]
pub fn schema() -> Value {
    let mut file = properties(&FILE, |key| match key {
        "clock" => json!({"type": "string", "format": "date-time"}),
        "seconds-per-answer" => json!({"type": "integer", "minimum": 0, "maximum": LONGEST_S}),
        "answers" => json!({"type": "array", "items": {"$ref": "#/$defs/entry"}}),
        _ => json!({"type": "string", "minLength": 1}),
    });
    describe(&mut file, FILE);
    let mut entry = properties(&REPLIES, |key| match key {
        "answer" => json!({"type": ["string", "number", "boolean"]}),
        "back" | "pause" => json!({"enum": ["yes", true]}),
        _ => json!({"type": "string"}),
    });
    describe(&mut entry, REPLIES);
    let step = "Path of the step that is answered; in a called procedure `call/step`. Another one asked is an error";
    entry.insert(
        "step".to_owned(),
        json!({"type": "string", "description": step}),
    );
    let key = "The lead's private key for `waive`, a path as seen from this file";
    entry.insert(
        "key".to_owned(),
        json!({"type": "string", "description": key}),
    );
    let one = REPLIES.map(|(key, _)| json!({"required": [key]}));
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "An answers file of evenfire",
        "type": "object",
        "properties": file,
        "required": ["procedure", "answers"],
        "additionalProperties": false,
        "$defs": {"entry": {
            "type": "object", "properties": entry, "required": ["step"], "oneOf": one, "additionalProperties": false,
        }},
    })
}

fn properties(told: &[Told], form: impl Fn(&str) -> Value) -> Map<String, Value> {
    told.iter()
        .map(|(key, _)| ((*key).to_owned(), form(key)))
        .collect()
}

fn describe<const N: usize>(into: &mut Map<String, Value>, told: [Told; N]) {
    for (key, says) in told {
        if let Some(Value::Object(value)) = into.get_mut(key) {
            value.insert("description".to_owned(), json!(says));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ask::script::answers;

    /// Every key of the schema is read, and what the reader calls missing is required.
    #[test]
    fn the_reader_takes_what_the_schema_describes() {
        let schema = schema();
        let entry = &schema["$defs"]["entry"]["properties"];
        for (key, _) in REPLIES {
            let text = format!("procedure: p\nanswers:\n  - {{step: s, {key}: yes}}\n");
            assert!(answers("a.yaml", &text).is_ok(), "{key}");
            assert!(entry[key]["description"].is_string(), "{key}");
        }
        let with_key = "procedure: p\nanswers:\n  - {step: s, waive: why, key: k}\n";
        assert!(answers("a.yaml", with_key).is_ok() && entry["key"].is_object());
        assert_eq!(entry.as_object().unwrap().len(), REPLIES.len() + 2);
        let whole =
            "procedure: p\nclock: 2026-03-02T08:00:00Z\nseconds-per-answer: 45\nanswers: []\n";
        assert!(answers("a.yaml", whole).is_ok());
        for (key, _) in FILE {
            let without = whole.lines().filter(|line| !line.starts_with(key));
            let without: Vec<&str> = without.collect();
            let read = answers("a.yaml", &without.join("\n"));
            let required = schema["required"].as_array().unwrap().contains(&json!(key));
            assert_eq!(read.is_err(), required, "{key}");
        }
        let two = "procedure: p\nanswers:\n  - {step: s, answer: yes, note: n}\n";
        assert!(answers("a.yaml", two).is_err());
    }
}
