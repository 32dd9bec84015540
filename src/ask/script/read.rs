//! An answers file, read as strictly as a procedure, every entry with its place.

use chrono::{DateTime, Utc};
use saphyr_parser::ScalarStyle;

use super::schema::{FILE, REPLIES};
use crate::procedure::Problem;
use crate::procedure::load::comma_in_braces;
use crate::procedure::load::fields::{Fields, scalar, whole};
use crate::procedure::problem::Findings;
use crate::procedure::tree::{self, Content, Node};

/// An answers file.
#[derive(Debug, Clone, PartialEq)]
pub struct Answers {
    /// The file as the user named it.
    pub file: String,
    /// The procedure that it answers.
    pub procedure: String,
    /// Start of the simulated clock, where it has one.
    pub clock: Option<DateTime<Utc>>,
    /// Seconds that each answer takes on the simulated clock.
    pub seconds_per_answer: i64,
    /// The entries in order.
    pub entries: Vec<Entry>,
}

/// One entry.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Line, from 1.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
    /// Path of the step.
    pub step: String,
    /// What is replied there.
    pub given: Given,
    /// The lead's private key for a waiver.
    pub key: Option<String>,
}

/// What an entry replies.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Given {
    /// `answer:`.
    Answer(String),
    /// `note:`.
    Note(String),
    /// The starter was turned without a capture, for that reason.
    Cranked(String),
    /// `stop:`, with the reason.
    Stop(String),
    /// `attach:`, a path.
    Attach(String),
    /// `waive:`, with the reason; `key:` is the lead's key.
    Waive(String),
    /// `back: yes`.
    Back,
    /// `pause: yes`.
    Pause,
}

/// Seconds an answer takes where the file does not say.
const SECONDS_PER_ANSWER: i64 = 20;

/// What stands beside a reply: where it is one, and whose key waives.
const BESIDE: [&str; 2] = ["step", "key"];

const ENTRY_FORM: &str = "An entry is `{step: …, answer: …}`; instead of `answer` it can have `note`, `attach`, `cranked`, \
                          `waive` (with `key`), `stop`, `back: yes` or `pause: yes`.";

/// Longest that an answer takes on the simulated clock, seconds: a day.
pub(super) const LONGEST_S: u32 = 86_400;

/// Read an answers file.
///
/// # Errors
/// All that is wrong with it, each with its place and how to mend it.
pub fn answers(file: &str, text: &str) -> Result<Answers, Vec<Problem>> {
    tree::whole(file, text, |root, findings| {
        answers_of(root, file, findings)
    })
}

fn answers_of(root: &Node, file: &str, findings: &mut Findings) -> Option<Answers> {
    let mut fields = Fields::of(root, "the file".to_owned(), findings)?;
    let remedy = "Name the procedure that it answers: `procedure: relative-compression`.";
    let procedure = fields.need("procedure", remedy, findings);
    let procedure = procedure.and_then(|node| scalar(node, "`procedure`", findings));
    let clock = fields.take("clock");
    let clock = clock.and_then(|node| clock_of(node, findings));
    let seconds = fields.take("seconds-per-answer");
    let seconds = seconds
        .and_then(|node| whole(node, "`seconds-per-answer`", 0..=LONGEST_S, findings))
        .map_or(SECONDS_PER_ANSWER, i64::from);
    let entries = fields.need("answers", ENTRY_FORM, findings);
    let entries = entries.map(|node| entries_of(node, findings));
    fields.finish(&FILE.map(|(key, _)| key), findings);
    Some(Answers {
        file: file.to_owned(),
        procedure: procedure?.value.clone(),
        clock,
        seconds_per_answer: seconds,
        entries: entries?,
    })
}

fn clock_of(node: &Node, findings: &mut Findings) -> Option<DateTime<Utc>> {
    let written = &scalar(node, "`clock`", findings)?.value;
    let read = DateTime::parse_from_rfc3339(written).map(|time| time.to_utc());
    if read.is_err() {
        let message = format!("`{written}` is no time");
        let remedy = "Write it as in 2026-03-02T08:00:00Z.".to_owned();
        findings.doubt(&node.position, message, "", remedy);
    }
    read.ok()
}

fn entries_of(node: &Node, findings: &mut Findings) -> Vec<Entry> {
    let Content::List(entries) = &node.content else {
        let message = format!("`answers` must be a list, this is {}", node.kind());
        findings.doubt(&node.position, message, "", ENTRY_FORM.to_owned());
        return Vec::new();
    };
    let entries = entries.iter();
    entries
        .filter_map(|node| entry_of(node, findings))
        .collect()
}

fn entry_of(node: &Node, findings: &mut Findings) -> Option<Entry> {
    let mut entry = EntryFields::of(node, findings)?;
    let key = entry.fields.take("key");
    let key = key.and_then(|node| Some((node, scalar(node, "`key`", findings)?)));
    let replies = REPLIES.map(|(key, _)| key);
    let (step, given) = entry.finish(&replies, (&BESIDE, ENTRY_FORM), findings)?;
    if let Some((node, _)) = key
        && !matches!(given, Given::Waive(_))
    {
        let message = "`key` stands in an entry that waives nothing".to_owned();
        let remedy = "Take it away, or write `waive: reason` instead of the answer.".to_owned();
        findings.doubt(&node.position, message, "", remedy);
    }
    Some(Entry {
        line: node.position.line,
        column: node.position.column,
        step,
        given,
        key: key.map(|(_, written)| written.value.clone()),
    })
}

/// An entry of an answers file or a scenario: a step and one reply.
pub(crate) struct EntryFields<'a> {
    node: &'a Node,
    fields: Fields<'a>,
}

impl<'a> EntryFields<'a> {
    pub(crate) fn of(node: &'a Node, findings: &mut Findings) -> Option<Self> {
        if comma_in_braces(node, findings) {
            return None;
        }
        let fields = Fields::of(node, "an answer".to_owned(), findings)?;
        Some(EntryFields { node, fields })
    }

    /// The step's path, and the one reply under one of `replies`; `beside` are the other keys that can stand there.
    pub(crate) fn finish(
        mut self,
        replies: &[&'static str],
        (beside, form): (&[&'static str], &str),
        findings: &mut Findings,
    ) -> Option<(String, Given)> {
        let step = self.fields.need("step", form, findings);
        let step = step.and_then(|node| scalar(node, "`step`", findings));
        let mut all = Vec::new();
        for key in replies {
            if let Some(node) = self.fields.take(key) {
                all.push(reply(key, node, findings)?);
            }
        }
        self.fields.finish(&[beside, replies].concat(), findings);
        let step = step?.value.clone();
        match <[Given; 1]>::try_from(all) {
            Ok([given]) => Some((step, given)),
            Err(_) => {
                let message = format!("the answer to step `{step}` must hold one reply");
                findings.doubt(&self.node.position, message, "", form.to_owned());
                None
            }
        }
    }
}

fn reply(key: &str, node: &Node, findings: &mut Findings) -> Option<Given> {
    let found = scalar(node, "the reply", findings)?;
    if found.style == ScalarStyle::Plain && ["~", "null"].contains(&found.value.as_str()) {
        let message = format!("`{}` is nothing to YAML", found.value);
        let remedy = "Put it in quotes if it is meant as text.".to_owned();
        findings.doubt(&node.position, message, "", remedy);
        return None;
    }
    let text = found.value.clone();
    Some(match key {
        "answer" => Given::Answer(text),
        "note" => Given::Note(text),
        "cranked" => Given::Cranked(text),
        "stop" => Given::Stop(text),
        "attach" => Given::Attach(text),
        "waive" => Given::Waive(text),
        "back" => Given::Back,
        _ => Given::Pause,
    })
}
