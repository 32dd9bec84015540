//! The published forms of what lies in a job: JSON Schemas and the page that describes the bundle. A change
//! of a form raises the number in its `schema` and its file's name; the older file stays.

use serde_json::{Value, json};

/// Of `record.json`.
pub const RECORD: &str = include_str!("record-1.json");
/// Of `decision.json`.
pub const DECISION: &str = include_str!("decision-1.json");
/// Of `amendment.json`.
pub const AMENDMENT: &str = include_str!("amendment-1.json");
/// Of one line of `journal.jsonl`.
pub const JOURNAL: &str = include_str!("journal-1.json");
/// Of an answer of the analysis, one object or a line of a folder's, as a JSON Schema. In a record the same answer
/// stands with each capture, so that it is taken from the record's form.
///
/// # Errors
/// Where the record's form is no JSON.
pub fn analysis() -> serde_json::Result<Value> {
    let record: Value = serde_json::from_str(RECORD)?;
    let mut answer = record["$defs"]["analysis"].clone();
    let capture = json!({"type": "string", "description": "File's name within the folder; only in a line of a folder's"});
    answer["properties"]["capture"] = capture.clone();
    answer["properties"]["understood"] = json!({
        "type": "object",
        "description": "How the capture was read: form, encoding, columns with their scaling, rows, span in seconds, \
                        rate in rows a second"
    });
    let text = |description: &str| json!({"type": "string", "description": description});
    Ok(json!({
        "$schema": record["$schema"],
        "title": "Answer of the analysis, or of one capture of a folder",
        "anyOf": [{"$ref": "#/$defs/answer"}, {"$ref": "#/$defs/unread"}],
        "$defs": {
            "answer": answer,
            "unread": {
                "type": "object",
                "description": "A capture of a folder that could not be read",
                "required": ["schema", "capture", "error"],
                "properties": {
                    "schema": {"const": "evenfire.analysis/1"},
                    "capture": capture,
                    "error": {
                        "type": "object",
                        "description": "What is wrong, and where",
                        "required": ["file", "message", "remedy"],
                        "properties": {
                            "file": text("File that it is about"),
                            "line": {"type": ["integer", "null"], "description": "Its line, from 1; null where none is to blame"},
                            "column": {"type": ["integer", "null"], "description": "Place in the line, from 1"},
                            "message": text("What is wrong"),
                            "remedy": text("How to mend it"),
                        },
                    },
                },
            },
        },
    }))
}
/// The bundle in words.
pub const FORMAT: &str = include_str!("FORMAT.md");
