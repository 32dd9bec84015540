//! The published forms of what lies in a job: JSON Schemas and the page that describes the bundle. A change
//! of a form raises the number in its `schema` and its file's name; the older file stays.

/// Of `record.json`.
pub const RECORD: &str = include_str!("record-1.json");
/// Of `decision.json`.
pub const DECISION: &str = include_str!("decision-1.json");
/// Of `amendment.json`.
pub const AMENDMENT: &str = include_str!("amendment-1.json");
/// Of one line of `journal.jsonl`.
pub const JOURNAL: &str = include_str!("journal-1.json");
/// The bundle in words.
pub const FORMAT: &str = include_str!("FORMAT.md");
