//! The strict pass: YAML as a tree in which every node knows its place. What YAML allows but a work
//! sheet must not rest on (two equal keys, anchors, aliases, tags, a second document, depth without
//! end) is refused here. What the nodes mean is `load`'s business.

use std::collections::HashMap;

use saphyr_parser::{Event, Marker, Parser, ScalarStyle, ScanError, Span};

use super::cursor::Cursor;
use super::doubled;
use super::letters;
use super::slips;
use crate::procedure::model::{Position, Source};
use crate::procedure::problem::{Findings, Problem};

/// Deepest nesting that is read; a procedure needs five.
pub(crate) const DEEPEST: usize = 16;
/// Largest file that is read, bytes; a procedure of 2,000 steps takes a third of it.
pub const LARGEST: usize = 1 << 20;

/// Most entries of one list or mapping, steps among them; beyond, nobody could go through such a job, and the
/// proofs are not made for it.
pub(crate) const MOST_ENTRIES: usize = 5_000;

/// Anchors, aliases, tags and doubled keys that are reported before reading stops.
const MOST_REFUSED: usize = 20;

/// Read a file of some kind whole: what `meaning` makes of its tree, or every problem, in their order.
pub(crate) fn whole<V>(
    file: &str,
    text: &str,
    meaning: impl FnOnce(&Node, &mut Findings) -> Option<V>,
) -> Result<V, Vec<Problem>> {
    let mut findings = Findings::default();
    let source = Source {
        file: file.to_owned(),
        text: text.to_owned(),
    };
    let found = read(&source, &mut findings).and_then(|root| meaning(&root, &mut findings));
    match found {
        Some(found) if findings.list.is_empty() => Ok(found),
        _ => {
            findings.list.sort();
            Err(findings.list)
        }
    }
}

/// A node with its place.
#[derive(Debug, Clone)]
pub(crate) struct Node {
    pub(crate) position: Position,
    pub(crate) content: Content,
}

/// What stands at a node.
#[derive(Debug, Clone)]
pub(crate) enum Content {
    Scalar(Scalar),
    List(Vec<Node>),
    Map(Vec<(Key, Node)>),
}

/// A key of a mapping.
#[derive(Debug, Clone)]
pub(crate) struct Key {
    pub(crate) position: Position,
    pub(crate) scalar: Scalar,
}

/// A single value.
#[derive(Debug, Clone)]
pub(crate) struct Scalar {
    pub(crate) value: String,
    pub(crate) style: ScalarStyle,
    /// Where a comment cuts an unquoted text off, if one does.
    pub(crate) cut: Option<Position>,
}

impl Node {
    /// What stands there, in plain words.
    pub(crate) fn kind(&self) -> &'static str {
        match &self.content {
            Content::Scalar(_) => "one text",
            Content::List(_) => "a list",
            Content::Map(_) => "`key: value` lines",
        }
    }

    /// Nothing written at all.
    pub(crate) fn is_empty(&self) -> bool {
        matches!(&self.content, Content::Scalar(s)
            if s.value.is_empty() && s.style == ScalarStyle::Plain)
    }
}

/// Read a file into a tree; `None` where that is not possible, with the reason among the findings.
pub(crate) fn read(source: &Source, findings: &mut Findings) -> Option<Node> {
    let file_start = Position {
        file: source.file.clone(),
        line: 1,
        column: 1,
    };
    if source.text.len() > LARGEST {
        findings.doubt(
            &file_start,
            format!(
                "the file has {} bytes, more than {LARGEST}",
                source.text.len()
            ),
            "A file of that size was not written by hand.",
            "Split it into procedures that call each other.".to_owned(),
        );
        return None;
    }
    letters::check_file(source, findings);
    let text = source.text.strip_prefix('\u{feff}').unwrap_or(&source.text);
    let mut builder = Builder {
        cursor: Cursor::new(text),
        file: &source.file,
        findings,
        open: Vec::new(),
        root: None,
        documents: 0,
        refused: 0,
    };
    builder.run(text)?;
    if builder.root.is_none() {
        findings.doubt(
            &file_start,
            "the file is empty".to_owned(),
            "",
            "Write it, or name the file that was meant.".to_owned(),
        );
        return None;
    }
    builder.root.take()
}

/// A list or mapping whose end has not been seen.
struct Open {
    node: Node,
    key: Option<Key>,
    /// Keys that were read, with the line of each.
    known: HashMap<String, usize>,
}

struct Builder<'a> {
    cursor: Cursor<'a>,
    file: &'a str,
    findings: &'a mut Findings,
    open: Vec<Open>,
    root: Option<Node>,
    documents: usize,
    refused: usize,
}

impl Builder<'_> {
    fn place(&self, marker: Marker) -> Position {
        Position {
            file: self.file.to_owned(),
            line: marker.line(),
            column: marker.col() + 1,
        }
    }

    /// `None` where reading had to stop.
    fn run(&mut self, text: &str) -> Option<()> {
        let mut parser = Parser::new_from_str(text);
        while let Some(event) = parser.next_event() {
            match event {
                Ok(_) if self.refused >= MOST_REFUSED => return None,
                Ok((event, span)) => self.take(event, span)?,
                Err(error) => {
                    self.unreadable(text, &error);
                    return None;
                }
            }
        }
        Some(())
    }

    /// Reading stopped: at a slip that is recognised, or wherever the parser says.
    fn unreadable(&mut self, text: &str, error: &ScanError) {
        let marker = error.marker();
        // what a letter that must not stand there does to the text behind it is told with the letter
        if self
            .findings
            .list
            .iter()
            .any(|p| p.position.line == marker.line())
        {
            return;
        }
        let too_deep = error.info().contains("limit");
        let slip = slips::recognised(text, marker.line(), marker.col());
        let (place, message, remedy) = match slip {
            Some(slip) => {
                let place = Position {
                    file: self.file.to_owned(),
                    line: slip.line,
                    column: slip.column,
                };
                (place, slip.message, slip.remedy)
            }
            None if too_deep => return self.too_deep(&self.place(*marker)),
            None => (
                self.place(*marker),
                "reading stops here: this does not fit what stands above it".to_owned(),
                "Compare how far it stands in, its dashes, colons, quotes and brackets with the lines above; a text that \
                 holds `: `, or begins with one of & * ! % @ ` > | [ {, wants quotes."
                    .to_owned(),
            ),
        };
        let why = "What stands after this place cannot be read, so it is not checked yet.";
        self.findings.doubt(&place, message, why, remedy);
    }

    fn take(&mut self, event: Event<'_>, span: Span) -> Option<()> {
        match event {
            Event::DocumentStart(_) => self.begin_document(span)?,
            Event::Alias(_) => {
                let place = self.place(span.start);
                self.refuse(&place, "an alias (`*name`)", "Write the text out.");
                self.scalar(String::new(), ScalarStyle::DoubleQuoted, span);
            }
            Event::Scalar(value, style, anchor, tag) => {
                self.refuse_marks(anchor, tag.is_some(), span);
                self.scalar(value.into_owned(), style, span);
            }
            Event::SequenceStart(anchor, tag) => {
                self.refuse_marks(anchor, tag.is_some(), span);
                self.begin(Content::List(Vec::new()), span)?;
            }
            Event::MappingStart(anchor, tag) => {
                self.refuse_marks(anchor, tag.is_some(), span);
                self.begin(Content::Map(Vec::new()), span)?;
            }
            Event::SequenceEnd | Event::MappingEnd => {
                if let Some(open) = self.open.pop() {
                    self.put(open.node);
                }
            }
            Event::Nothing | Event::StreamStart | Event::StreamEnd | Event::DocumentEnd => {}
        }
        Some(())
    }

    fn begin_document(&mut self, span: Span) -> Option<()> {
        self.documents += 1;
        if self.documents == 1 {
            return Some(());
        }
        let place = self.place(span.start);
        self.findings.doubt(
            &place,
            "a second document (`---`) in one file".to_owned(),
            "Only the first would be run; the second would be lost in silence.",
            "One procedure, one file: move it into a file of its own.".to_owned(),
        );
        None
    }

    fn refuse(&mut self, place: &Position, what: &str, remedy: &str) {
        self.refused += 1;
        self.findings.doubt(
            place,
            format!("{what} is not allowed here"),
            "The sheet must say what it says where it says it.",
            remedy.to_owned(),
        );
    }

    fn refuse_marks(&mut self, anchor: usize, tag: bool, span: Span) {
        let place = self.place(span.start);
        if anchor != 0 {
            let remedy = "Take it away, or quote the text if the `&` belongs to it.";
            self.refuse(&place, "an anchor (`&name`)", remedy);
        }
        if tag {
            let remedy = "Take it away, or quote the text if the `!` belongs to it.";
            self.refuse(&place, "a tag (`!name`)", remedy);
        }
    }

    fn too_deep(&mut self, place: &Position) {
        self.findings.doubt(
            place,
            format!("nested more than {DEEPEST} deep"),
            "Nothing that belongs here stands that deep.",
            "Check the indentation and the brackets.".to_owned(),
        );
    }

    fn begin(&mut self, content: Content, span: Span) -> Option<()> {
        let position = self.place(span.start);
        if self.open.len() >= DEEPEST {
            self.too_deep(&position);
            return None;
        }
        let node = Node { position, content };
        self.open.push(Open {
            node,
            key: None,
            known: HashMap::new(),
        });
        Some(())
    }

    fn scalar(&mut self, value: String, style: ScalarStyle, span: Span) {
        let position = self.place(span.start);
        let cut = self.cut(&value, style, span.end);
        letters::check_scalar(&value, style, &position, self.findings);
        let scalar = Scalar { value, style, cut };
        self.put(Node {
            position,
            content: Content::Scalar(scalar),
        });
    }

    /// Where ` #` follows an unquoted text on its last line.
    fn cut(&mut self, value: &str, style: ScalarStyle, end: Marker) -> Option<Position> {
        if style != ScalarStyle::Plain {
            return None;
        }
        let rest = self.cursor.rest(end.line(), end.col())?;
        // one with nothing in it ends before the colon of its key
        let colon = usize::from(value.is_empty() && rest.starts_with(':'));
        let comment = rest[colon..].trim_start_matches([' ', '\t']);
        let blanks = rest.len() - colon - comment.len();
        (blanks > 0 && comment.starts_with('#')).then(|| Position {
            file: self.file.to_owned(),
            line: end.line(),
            column: end.col() + colon + blanks + 1,
        })
    }

    /// Put a finished node where it belongs.
    fn put(&mut self, node: Node) {
        let Some(open) = self.open.last_mut() else {
            self.root = Some(node);
            return;
        };
        let entries = match &open.node.content {
            Content::List(items) => items.len(),
            Content::Map(entries) => entries.len(),
            Content::Scalar(_) => 0,
        };
        if entries >= MOST_ENTRIES && self.refused < MOST_REFUSED {
            self.refused = MOST_REFUSED; // reading stops
            self.findings.doubt(
                &node.position,
                format!("more than {MOST_ENTRIES} entries in one list or mapping"),
                "Nobody could go through such a job. What stands after this place is not checked.",
                "Split the work into procedures that call each other.".to_owned(),
            );
            return;
        }
        let key = open.key.take();
        match (&mut open.node.content, key) {
            (Content::List(items), _) => items.push(node),
            (Content::Map(entries), Some(key)) => entries.push((key, node)),
            (_, _) => self.put_key(node),
        }
    }

    fn put_key(&mut self, node: Node) {
        let Node { position, content } = node;
        let scalar = if let Content::Scalar(scalar) = content {
            scalar
        } else {
            let remedy = "A text that begins with `{` or `[` wants quotes round all of it.";
            self.refuse(&position, "a list or braces before a colon", remedy);
            Scalar {
                value: String::new(),
                style: ScalarStyle::DoubleQuoted,
                cut: None,
            }
        };
        let Some(open) = self.open.last_mut() else {
            return;
        };
        let first = open.known.insert(scalar.value.clone(), position.line);
        if let Some(first) = first {
            open.known.insert(scalar.value.clone(), first);
            self.refused += 1;
            if let Some((message, remedy)) = doubled::told(&scalar.value, first, &mut open.known) {
                let why = "One of the two would be lost in silence.";
                self.findings.doubt(&position, message, why, remedy);
            }
        }
        open.key = Some(Key { position, scalar });
    }
}
