//! An answers file, read strictly, every entry with its place.

use chrono::{DateTime, Utc};
use saphyr_parser::{Event, Marker, Parser, ScalarStyle, Span};

/// What is wrong with an answers file: `file:line:column: message`.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{file}:{line}:{column}: {message}")]
pub struct AnswersError {
    /// The file as the user named it.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
    /// What is wrong and how to mend it.
    pub message: String,
}

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

/// Deepest nesting that an answers file needs.
const DEEPEST: usize = 4;

struct Node {
    place: (usize, usize),
    content: Content,
}

enum Content {
    Scalar(String),
    List(Vec<Node>),
    Map(Vec<Pair>),
}

/// Read an answers file.
///
/// # Errors
/// What is wrong, where, and how to mend it.
pub fn answers(file: &str, text: &str) -> Result<Answers, AnswersError> {
    let reading = Reading { file };
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let root = reading.document(text)?;
    reading.header(root)
}

/// A key with its place, and what stands at it.
type Pair = ((usize, usize), String, Node);

struct Reading<'f> {
    file: &'f str,
}

type Events<'t> = Parser<'t, saphyr_parser::StrInput<'t>>;

impl Reading<'_> {
    fn wrong(&self, (line, column): (usize, usize), message: impl Into<String>) -> AnswersError {
        AnswersError {
            file: self.file.to_owned(),
            line,
            column,
            message: message.into(),
        }
    }

    fn document(&self, text: &str) -> Result<Node, AnswersError> {
        let mut events = Parser::new_from_str(text);
        let mut root = None;
        loop {
            match self.next(&mut events)? {
                Some((Event::StreamStart | Event::DocumentStart(_), _)) => {}
                Some((Event::DocumentEnd | Event::Nothing, _)) => {}
                Some((Event::StreamEnd, _)) | None => break,
                Some((_, span)) if root.is_some() => {
                    let place = place(span.start);
                    return Err(self.wrong(place, "a second document; keep one in a file"));
                }
                Some((event, span)) => root = Some(self.node(event, span, &mut events, 0)?),
            }
        }
        root.ok_or_else(|| {
            self.wrong(
                (1, 1),
                "the file is empty; begin with `procedure:` and `answers:`",
            )
        })
    }

    fn next<'t>(&self, events: &mut Events<'t>) -> Result<Option<(Event<'t>, Span)>, AnswersError> {
        match events.next_event() {
            None => Ok(None),
            Some(Ok(event)) => Ok(Some(event)),
            Some(Err(error)) => Err(self.wrong(
                place(*error.marker()),
                format!(
                    "this is no YAML: {}; compare the indentation with the lines above, quote a text that holds `: `",
                    error.info()
                ),
            )),
        }
    }

    fn node(
        &self,
        event: Event<'_>,
        span: Span,
        events: &mut Events<'_>,
        depth: usize,
    ) -> Result<Node, AnswersError> {
        let here = place(span.start);
        if depth > DEEPEST {
            return Err(self.wrong(here, "nested too deep; an entry is `{step: …, answer: …}`"));
        }
        let content = match event {
            Event::Scalar(text, style, 0, None) => {
                let plain = style == ScalarStyle::Plain;
                if plain && matches!(&*text, "~" | "null") {
                    return Err(
                        self.wrong(here, "nothing stands here; quote it if it is meant as text")
                    );
                }
                Content::Scalar(text.into_owned())
            }
            Event::SequenceStart(0, None) => Content::List(self.list(events, depth)?),
            Event::MappingStart(0, None) => Content::Map(self.map(events, depth)?),
            _ => {
                return Err(self.wrong(
                    here,
                    "anchors, aliases and tags have no place here; write it out",
                ));
            }
        };
        Ok(Node {
            place: here,
            content,
        })
    }

    fn list(&self, events: &mut Events<'_>, depth: usize) -> Result<Vec<Node>, AnswersError> {
        let mut list = Vec::new();
        while let Some((event, span)) = self.next(events)? {
            if matches!(event, Event::SequenceEnd) {
                break;
            }
            list.push(self.node(event, span, events, depth + 1)?);
        }
        Ok(list)
    }

    fn map(&self, events: &mut Events<'_>, depth: usize) -> Result<Vec<Pair>, AnswersError> {
        let mut map: Vec<Pair> = Vec::new();
        while let Some((event, span)) = self.next(events)? {
            let here = place(span.start);
            let key = match event {
                Event::MappingEnd => break,
                Event::Scalar(key, ..) => key.into_owned(),
                _ => return Err(self.wrong(here, "a key must be a word")),
            };
            if map.iter().any(|(_, known, _)| *known == key) {
                return Err(self.wrong(here, format!("`{key}` stands twice; keep one")));
            }
            let Some((event, span)) = self.next(events)? else {
                break;
            };
            map.push((here, key, self.node(event, span, events, depth + 1)?));
        }
        Ok(map)
    }

    fn header(&self, root: Node) -> Result<Answers, AnswersError> {
        let Content::Map(keys) = root.content else {
            return Err(self.wrong(root.place, "begin with `procedure:` and `answers:`"));
        };
        let (mut procedure, mut clock, mut entries) = (None, None, None);
        let mut seconds_per_answer = SECONDS_PER_ANSWER;
        for (at, key, node) in keys {
            match key.as_str() {
                "procedure" => procedure = Some(self.text(node)?),
                "clock" => clock = Some(self.clock(node)?),
                "seconds-per-answer" => seconds_per_answer = self.seconds(node)?,
                "answers" => entries = Some(self.entries(node)?),
                _ => {
                    let known = "`procedure`, `clock`, `seconds-per-answer` and `answers`";
                    return Err(
                        self.wrong(at, format!("`{key}` is not known here; there are {known}"))
                    );
                }
            }
        }
        let missing = |key| self.wrong(root.place, format!("`{key}:` is missing"));
        Ok(Answers {
            file: self.file.to_owned(),
            procedure: procedure.ok_or_else(|| missing("procedure"))?,
            clock,
            seconds_per_answer,
            entries: entries.ok_or_else(|| missing("answers"))?,
        })
    }

    fn text(&self, node: Node) -> Result<String, AnswersError> {
        match node.content {
            Content::Scalar(text) => Ok(text),
            _ => Err(self.wrong(
                node.place,
                "one value is asked for here, no list and no mapping",
            )),
        }
    }

    fn clock(&self, node: Node) -> Result<DateTime<Utc>, AnswersError> {
        let at = node.place;
        let text = self.text(node)?;
        let read = DateTime::parse_from_rfc3339(&text).map(|time| time.to_utc());
        read.map_err(|_| {
            self.wrong(
                at,
                format!("`{text}` is no time; write it as in 2026-03-02T08:00:00Z"),
            )
        })
    }

    fn seconds(&self, node: Node) -> Result<i64, AnswersError> {
        let at = node.place;
        let text = self.text(node)?;
        match text.parse::<u32>() {
            Ok(seconds) => Ok(i64::from(seconds)),
            Err(_) => Err(self.wrong(at, format!("`{text}` is no number of whole seconds"))),
        }
    }

    fn entries(&self, node: Node) -> Result<Vec<Entry>, AnswersError> {
        match node.content {
            Content::List(entries) => entries.into_iter().map(|entry| self.entry(entry)).collect(),
            _ => Err(self.wrong(
                node.place,
                "`answers:` is a list of `- {step: …, answer: …}`",
            )),
        }
    }

    fn entry(&self, node: Node) -> Result<Entry, AnswersError> {
        let place = node.place;
        let form = "an entry is `{step: …, answer: …}`; instead of `answer` it can have `note`, `attach`, `waive` (with `key`), `stop`, `back: yes` or `pause: yes`";
        let Content::Map(keys) = node.content else {
            return Err(self.wrong(place, form));
        };
        let (mut step, mut given, mut lead) = (None, None, None);
        for (at, key, node) in keys {
            let text = self.text(node)?;
            let new = match key.as_str() {
                "step" => {
                    step = Some(text);
                    continue;
                }
                "key" => {
                    lead = Some(text);
                    continue;
                }
                "attach" => Given::Attach(text),
                "waive" => Given::Waive(text),
                "answer" => Given::Answer(text),
                "note" => Given::Note(text),
                "cranked" => Given::Cranked(text),
                "stop" => Given::Stop(text),
                "back" => Given::Back,
                "pause" => Given::Pause,
                _ => return Err(self.wrong(at, format!("`{key}` is not known here; {form}"))),
            };
            if given.replace(new).is_some() {
                return Err(self.wrong(at, format!("one reply to a question; {form}")));
            }
        }
        match (step, given) {
            (Some(step), Some(given)) => Ok(Entry {
                line: place.0,
                column: place.1,
                step,
                given,
                key: lead,
            }),
            _ => Err(self.wrong(place, form)),
        }
    }
}

fn place(marker: Marker) -> (usize, usize) {
    (marker.line(), marker.col() + 1)
}
