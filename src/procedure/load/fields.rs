//! Reading single values and the keys of a mapping, with a problem for everything that is not as it
//! must be.

use saphyr_parser::ScalarStyle;

use crate::procedure::model::Position;
use crate::procedure::nearest::{nearest, suggestion};
use crate::procedure::problem::Findings;
use crate::procedure::written::keys;
use crate::procedure::written::slips::NO_BLANKS;
use crate::procedure::written::tree::{Content, Key, Node, Scalar};

/// Most unknown keys reported of one mapping.
const MOST_UNKNOWN: usize = 20;

/// Longer ones are no slip of the pen.
const LONGEST_KEY: usize = 30;

/// The keys of one mapping, each of which is taken once.
pub(crate) struct Fields<'a> {
    /// "step `crank`", for messages.
    pub(crate) what: String,
    pub(crate) position: Position,
    /// Where what is absent is told: at the step that this one is the same as, where that is what asks for it.
    pub(crate) lacking: Position,
    entries: Vec<(&'a Key, &'a Node)>,
    /// How many of them, the first, are its own and not those of the step that it is the same as.
    pub(crate) own: usize,
    taken: Vec<&'static str>,
}

impl<'a> Fields<'a> {
    pub(crate) fn new(
        what: String,
        position: &Position,
        entries: Vec<(&'a Key, &'a Node)>,
    ) -> Self {
        Self {
            what,
            position: position.clone(),
            lacking: position.clone(),
            own: entries.len(),
            entries,
            taken: Vec::new(),
        }
    }

    /// The keys of a node, or a problem where there are none.
    pub(crate) fn of(node: &'a Node, what: String, findings: &mut Findings) -> Option<Self> {
        let Content::Map(entries) = &node.content else {
            findings.doubt(
                &node.position,
                format!(
                    "{what} wants lines `key: value`, here stands {}",
                    node.kind()
                ),
                "",
                "Write `key: value` lines, indented under it.".to_owned(),
            );
            return None;
        };
        let entries = entries.iter().map(|(key, node)| (key, node)).collect();
        Some(Self::new(what, &node.position, entries))
    }

    /// The value of a key, where it is given.
    pub(crate) fn take(&mut self, key: &'static str) -> Option<&'a Node> {
        self.taken.push(key);
        self.peek(key)
    }

    /// Whether a key is given, without taking it.
    pub(crate) fn peek(&self, key: &str) -> Option<&'a Node> {
        self.entries
            .iter()
            .find(|(k, _)| k.scalar.value == key)
            .map(|(_, node)| *node)
    }

    /// Where the last of some keys stands, of its own ones if it has any of them itself.
    pub(crate) fn last_of(&self, keys: &[&str]) -> Option<&'a Position> {
        let (own, copied) = self.entries.split_at(self.own);
        let last = |entries: &[(&'a Key, &'a Node)]| {
            let mut given = entries.iter().rev();
            given
                .find(|(key, _)| keys.contains(&key.scalar.value.as_str()))
                .map(|(key, _)| &key.position)
        };
        last(own).or_else(|| last(copied))
    }

    /// Whether a key is given more than once.
    pub(crate) fn is_doubled(&self, key: &str) -> bool {
        let given = self.entries.iter();
        given.filter(|(k, _)| k.scalar.value == key).count() > 1
    }

    /// The value of a key that must be given.
    pub(crate) fn need(
        &mut self,
        key: &'static str,
        remedy: &str,
        findings: &mut Findings,
    ) -> Option<&'a Node> {
        let found = self.take(key).filter(|node| !node.is_empty());
        if found.is_none() {
            let message = self.lacks(key);
            findings.doubt(&self.lacking, message, "", remedy.to_owned());
        }
        found
    }

    fn lacks(&self, key: &str) -> String {
        format!("{} has no `{key}`", self.what)
    }

    /// The known keys that misspelt ones probably mean: what is said of those being absent would be said of the slip.
    pub(crate) fn meant(&self, known: &[&'static str]) -> Vec<&'static str> {
        let names = self
            .entries
            .iter()
            .map(|(key, _)| key.scalar.value.as_str());
        let unknown = names.filter(|name| !known.contains(name) && name.len() <= LONGEST_KEY);
        let unknown = unknown.take(MOST_UNKNOWN);
        let meant = unknown.filter_map(|name| meant_by(name, known));
        meant.filter(|key| self.peek(key).is_none()).collect()
    }

    /// Report the keys that could stand in no such mapping, where it could not be read.
    pub(crate) fn finish_unread(mut self, known: &[&'static str], findings: &mut Findings) {
        self.entries
            .retain(|(key, _)| !known.contains(&key.scalar.value.as_str()));
        self.finish(known, findings);
    }

    /// Report the keys that nobody took; `known` are those that could stand here.
    pub(crate) fn finish(self, known: &[&'static str], findings: &mut Findings) {
        let missed = self.meant(known);
        let missed: Vec<String> = missed.iter().map(|key| self.lacks(key)).collect();
        findings.list.retain(|problem| {
            problem.position != self.lacking || !missed.contains(&problem.message)
        });
        let left = self.entries.iter().map(|(key, _)| key);
        let left = left.filter(|key| !self.taken.contains(&key.scalar.value.as_str()));
        for key in left.take(MOST_UNKNOWN) {
            let name = key.scalar.value.as_str();
            let (message, remedy) = if let Some((key, value)) = name.split_once(':')
                && known.contains(&key)
            {
                no_blank(key, value)
            } else if let Some(parent) = keys::over(name).filter(|parent| known.contains(parent)) {
                (
                    format!("`{name}` belongs under `{parent}`"),
                    format!("Write it there, 2 blanks deeper than `{parent}`."),
                )
            } else if known.contains(&name) {
                (
                    format!("`{name}` does not belong in {}", self.what),
                    "Take it away, or give the step the question that it goes with.".to_owned(),
                )
            } else {
                let remedy = match (name, other_word(name, known)) {
                    ("hazard" | "hazards", Some(_)) => {
                        "Hazards are written `danger`, `warning`, `caution` or `notice`, by how bad they are."
                            .to_owned()
                    }
                    (_, Some(word)) => format!("Did you mean `{word}`?"),
                    _ => suggestion(name, known.iter().copied()),
                };
                (format!("{} has an unknown key `{name}`", self.what), remedy)
            };
            findings.doubt(
                &key.position,
                message,
                "What nothing reads would be lost in silence.",
                remedy,
            );
        }
    }
}

/// What is said of a key in braces that has no blank after its colon, and how it is mended.
pub(crate) fn no_blank(key: &str, value: &str) -> (String, String) {
    let value = value.trim();
    (
        format!("`{key}:{value}` has no blank after the colon"),
        format!("Write `{key}: {value}`."),
    )
}

/// The known key that another word stands for: what people write who have the meaning and not the word.
fn other_word(name: &str, known: &[&'static str]) -> Option<&'static str> {
    let small = name.to_lowercase();
    let word = match small.as_str() {
        "hazard" | "hazards" => "danger",
        "yes" => "then",
        "no" | "else" => "if-not",
        "then" | "goto" | "step" if !known.contains(&"then") => "go",
        other => other,
    };
    known.iter().copied().find(|known| *known == word)
}

/// The known key that an unknown one probably means.
fn meant_by(name: &str, known: &[&'static str]) -> Option<&'static str> {
    let name = name.split_once(':').map_or(name, |(key, _)| key);
    other_word(name, known).or_else(|| {
        let near = nearest(name, known.iter().copied())?;
        known.iter().copied().find(|known| *known == near)
    })
}

/// A single value.
pub(crate) fn scalar<'a>(
    node: &'a Node,
    what: &str,
    findings: &mut Findings,
) -> Option<&'a Scalar> {
    match &node.content {
        Content::Scalar(scalar) if !scalar.value.trim().is_empty() => Some(scalar),
        Content::Scalar(Scalar { cut: Some(cut), .. }) => {
            cut_off(cut, what, findings);
            findings.in_doubt = true;
            None
        }
        Content::Scalar(_) => {
            let message = format!("{what} is empty");
            findings.doubt(&node.position, message, "", "Write it.".to_owned());
            None
        }
        // why it could not be read was told
        _ if findings.list.iter().any(|p| p.position == node.position) => None,
        _ => {
            let message = format!("{what} wants one text, here stands {}", node.kind());
            let remedy = match in_braces(node) {
                Some(value) => format!("Put it in quotes: \"{{{value}}}\"."),
                None => "Write it as one text behind its colon, without dashes or further colons; in quotes if it \
                         begins with [ or {."
                    .to_owned(),
            };
            findings.doubt(&node.position, message, "", remedy);
            None
        }
    }
}

/// What stands in `{judge.why}` without quotes, which YAML takes for a mapping.
pub(crate) fn in_braces(node: &Node) -> Option<&str> {
    let Content::Map(entries) = &node.content else {
        return None;
    };
    match &entries[..] {
        [(key, value)] if value.is_empty() => Some(&key.scalar.value),
        _ => None,
    }
}

/// A text for people: not cut off by ` #`, nothing that YAML takes for something else.
pub(crate) fn text(node: &Node, what: &str, findings: &mut Findings) -> Option<String> {
    let found = scalar(node, what, findings)?;
    if let Some(cut) = &found.cut {
        cut_off(cut, what, findings);
    }
    refuse_ambiguous(found, node, what, findings);
    Some(found.value.trim().to_owned())
}

fn cut_off(cut: &Position, what: &str, findings: &mut Findings) {
    findings.flaw(
        cut,
        format!("` #` cuts {what} off here"),
        "YAML takes the rest of the line for a comment: nobody would ever read it.",
        "Put the text in quotes; a comment goes on a line of its own.".to_owned(),
    );
}

/// One text or a list of texts.
pub(crate) fn texts(node: &Node, what: &str, findings: &mut Findings) -> Vec<String> {
    items(node)
        .into_iter()
        .filter_map(|item| text(item, what, findings))
        .collect()
}

/// The items of a list; a single value is a list of one.
pub(crate) fn items(node: &Node) -> Vec<&Node> {
    match &node.content {
        Content::List(items) => items.iter().collect(),
        _ => vec![node],
    }
}

/// A name: a short plain word or words.
pub(crate) fn name(node: &Node, what: &str, findings: &mut Findings) -> Option<String> {
    let found = scalar(node, what, findings)?;
    refuse_ambiguous(found, node, what, findings);
    let Some(blank) = found.value.chars().find(|c| NO_BLANKS.contains(c)) else {
        return Some(found.value.clone());
    };
    findings.doubt(
        &node.position,
        format!(
            "a no-break space (U+{:04X}) stands in {what} where a blank must",
            u32::from(blank)
        ),
        "",
        "It cannot be seen: delete what is between the words and type a blank.".to_owned(),
    );
    // judged as it was meant, so that nothing follows from it
    Some(found.value.replace(NO_BLANKS, " "))
}

/// Words that YAML 1.1 or 1.2 readers take for true, false or nothing.
const AMBIGUOUS: [&str; 11] = [
    "yes", "no", "on", "off", "true", "false", "null", "~", "y", "n", "nan",
];

/// Whether a reader of YAML may take that for a number, a truth value or nothing where it stands without quotes.
pub fn is_ambiguous(value: &str) -> bool {
    let number = value.parse::<f64>().is_ok() || value.starts_with("0x");
    number || AMBIGUOUS.contains(&value.to_lowercase().as_str())
}

/// Report an unquoted value that another reader of YAML would take for a number, a truth value or
/// nothing.
pub(crate) fn refuse_ambiguous(
    found: &Scalar,
    node: &Node,
    what: &str,
    findings: &mut Findings,
) -> bool {
    let value = found.value.trim();
    if found.style != ScalarStyle::Plain || !is_ambiguous(value) {
        return false;
    }
    findings.flaw(
        &node.position,
        format!("{what} is `{value}` without quotes"),
        "YAML readers take that for a number, a truth value or nothing, not for a text.",
        format!("Write \"{value}\" in quotes, or say it in a full word."),
    );
    true
}

/// A whole number written plainly, within bounds.
pub(crate) fn whole(
    node: &Node,
    what: &str,
    bounds: std::ops::RangeInclusive<u32>,
    findings: &mut Findings,
) -> Option<u32> {
    let found = scalar(node, what, findings)?;
    let value = found.value.parse::<u32>().ok();
    let value = value.filter(|v| bounds.contains(v) && found.style == ScalarStyle::Plain);
    if value.is_none() {
        findings.doubt(
            &node.position,
            format!("{what} is `{}`", found.value),
            "",
            format!(
                "Write a whole number from {} to {}, without quotes.",
                bounds.start(),
                bounds.end()
            ),
        );
    }
    value
}
