//! From text to a [`Procedure`] whose targets are still names. Every part is read that can be, so that
//! all problems of a file are reported at once.

pub(crate) mod fields;
mod form;
mod question;
mod range;
mod same_as;
mod step;
mod test_meant;

use std::collections::BTreeMap;

pub(crate) use form::{QUANTITIES, comma_in_braces, quantity_name};
pub(crate) use question::{CAPTURES, TEXT_FORMS};

use fields::{Fields, items, name, text, whole};

use super::library::Sheet;
use super::model::{Position, Procedure, Source, Step, ValuePath};
use super::names::is_kebab;
use super::paths;
use super::places::{FILE, Places};
use super::problem::Findings;
use super::written::keys;
use super::written::layout;
use super::written::tree::{self, Content, Key, Node};

/// A step's name with the place where it is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Named {
    /// The name.
    pub name: String,
    /// Where it stands.
    pub position: Position,
}

const KEYS: [&str; 7] = keys::names(&keys::FILE);

/// Highest revision.
const LAST_REVISION: u32 = 1_000_000;

/// Where what is read is put: problems, and places of parts.
pub(crate) struct Reading<'f> {
    pub(crate) findings: &'f mut Findings,
    pub(crate) places: Places,
}

/// Read one file. `None` where nothing of it could be read, or where a step stands out of line: it and those behind it are
/// missing to all that names them, so nothing else is judged.
pub(crate) fn load(source: Source, findings: &mut Findings) -> Option<Sheet<Named>> {
    let (from, file, text) = (
        findings.list.len(),
        source.file.clone(),
        source.text.clone(),
    );
    let found = sheet(source, findings);
    if findings.list.len() == from || text.len() > tree::LARGEST {
        return found;
    }
    let slips = layout::out_of_line(&text);
    let Some(first) = slips.first().map(|slip| slip.line) else {
        return found;
    };
    // all that is found from there on may follow from it
    let own = findings.list.split_off(from).into_iter();
    let before = own.filter(|problem| problem.position.line < first);
    findings.list.extend(before);
    for slip in slips {
        let (line, column) = (slip.line, slip.column);
        let file = file.clone();
        let why = "Where it stands it is read as a part of something else. Nothing behind it is judged yet.";
        let place = Position { file, line, column };
        findings.doubt(&place, slip.message, why, slip.remedy);
    }
    None
}

fn sheet(source: Source, findings: &mut Findings) -> Option<Sheet<Named>> {
    let tree = tree::read(&source, findings)?;
    let mut reading = Reading {
        findings,
        places: Places::default(),
    };
    let mut fields = Fields::of(&tree, "the procedure".to_owned(), reading.findings)?;
    for key in fields.meant(&KEYS) {
        reading.places.doubt(FILE, key);
    }
    let procedure = procedure(&mut fields, source, &mut reading);
    fields.finish(&KEYS, reading.findings);
    Some(Sheet {
        procedure,
        places: reading.places,
    })
}

fn procedure(fields: &mut Fields<'_>, source: Source, reading: &mut Reading) -> Procedure<Named> {
    let findings = &mut *reading.findings;
    let name = fields
        .need(
            "procedure",
            "Begin with `procedure: name-of-the-file`.",
            findings,
        )
        .and_then(|node| own_name(node, &source, findings));
    let revision = fields
        .need(
            "revision",
            "Count revisions from 1: `revision: 1`.",
            findings,
        )
        .and_then(|node| whole(node, "`revision`", 1..=LAST_REVISION, findings));
    let title = fields
        .need("title", "Write a line for the heading.", findings)
        .and_then(|node| {
            reading.places.put(0, "title", &node.position);
            text(node, "`title`", findings)
        });
    let purpose = fields
        .need("purpose", "Say what the procedure finds out.", findings)
        .and_then(|node| {
            reading.places.put(0, "purpose", &node.position);
            text(node, "`purpose`", findings)
        });
    let takes = fields.take("takes").map(|node| takes(node, findings));
    let gives = fields
        .take("gives")
        .map(|node| gives(node, &mut reading.places, findings));
    let steps = fields
        .need(
            "steps",
            "Write the steps under `steps:`, each under its name.",
            findings,
        )
        .map(|node| steps(node, reading));
    Procedure {
        name: name.unwrap_or_default(),
        revision: revision.unwrap_or_default(),
        title: title.unwrap_or_default(),
        purpose: purpose.unwrap_or_default(),
        takes: takes.unwrap_or_default(),
        gives: gives.unwrap_or_default(),
        steps: steps.unwrap_or_default(),
        source,
    }
}

/// The procedure's name, which must be the file's stem: calls find the file by it.
fn own_name(node: &Node, source: &Source, findings: &mut Findings) -> Option<String> {
    let found = name(node, "`procedure`", findings)?;
    let stem = source.file.rsplit(['/', '\\']).next();
    let stem = stem.and_then(|last| last.strip_suffix(".yaml"));
    if !is_kebab(&found) {
        not_kebab(node, &found, "a procedure's name", findings);
    } else if stem.is_some_and(|stem| stem != found) {
        findings.flaw(
            &node.position,
            format!(
                "the procedure is called `{found}`, its file `{}`",
                source.file
            ),
            "Another procedure that calls it looks for the file by its name.",
            format!("Call the file {found}.yaml, or change the name here."),
        );
    }
    Some(found)
}

pub(crate) fn not_kebab(node: &Node, found: &str, what: &str, findings: &mut Findings) {
    let rule = "lower-case letters, digits and single hyphens, beginning with a letter";
    let near = found.trim().to_lowercase();
    // a file's ending is no part of a procedure's name
    let stem = [".yaml", ".yml"]
        .iter()
        .find_map(|ending| near.strip_suffix(ending));
    let near = stem.unwrap_or(&near).replace([' ', '_', '.'], "-");
    let remedy = if is_kebab(&near) && near != found {
        format!("Write `{near}`: {rule}.")
    } else if is_kebab(&format!("step-{near}")) && what.contains("step") {
        format!("Begin with a letter: `step-{near}`.")
    } else {
        format!("Use {rule}.")
    };
    findings.doubt(
        &node.position,
        format!("`{found}` cannot be {what}"),
        "",
        remedy,
    );
}

fn takes(node: &Node, findings: &mut Findings) -> Vec<String> {
    let mut names = Vec::new();
    for item in items(node) {
        let Some(found) = name(item, "an input", findings) else {
            continue;
        };
        if !is_kebab(&found) {
            not_kebab(item, &found, "an input's name", findings);
        }
        names.push(found);
    }
    names
}

fn gives(node: &Node, places: &mut Places, findings: &mut Findings) -> BTreeMap<String, ValuePath> {
    let mut values = BTreeMap::new();
    let Content::Map(entries) = &node.content else {
        findings.doubt(
            &node.position,
            format!(
                "`gives` wants lines `name: step-id`, here stands {}",
                node.kind()
            ),
            "",
            "Write `name: step-id` or `name: step-id.fact` lines under it.".to_owned(),
        );
        return values;
    };
    for (key, node) in entries {
        // what is of no step stands with the first
        places.put(0, format!("gives/{}", key.scalar.value), &node.position);
        if let Some(path) = value_path(&key.scalar.value, node, findings) {
            values.insert(key.scalar.value.clone(), path);
        }
    }
    values
}

/// A path to a value as the value of a key.
pub(crate) fn value_path(key: &str, node: &Node, findings: &mut Findings) -> Option<ValuePath> {
    if let Some(inner) = fields::in_braces(node) {
        let message = format!("`{inner}` stands in braces where a value is handed over");
        let remedy = format!("Write `{key}: {inner}`, without braces.");
        findings.doubt(&node.position, message, "Braces are for texts.", remedy);
        return None;
    }
    let found = fields::scalar(node, "a value's path", findings)?;
    match paths::parse(&found.value) {
        Ok(path) => Some(path),
        Err(message) => {
            let written = found.value.trim();
            let bare = written.trim_matches(['{', '}']);
            let remedy = if bare != written && paths::parse(bare).is_ok() {
                format!("Write `{key}: {bare}`, without braces.")
            } else if written.starts_with(|c: char| c.is_ascii_digit()) {
                format!(
                    "A value comes from a step: ask for it in one and write its id, `{key}: step-id`."
                )
            } else {
                "Write a step's id, a step's id with a fact as in `judge.verdict`, or an input."
                    .to_owned()
            };
            findings.doubt(&node.position, message, "", remedy);
            None
        }
    }
}

fn steps(node: &Node, reading: &mut Reading) -> Vec<Step<Named>> {
    let Content::Map(entries) = &node.content else {
        reading.findings.doubt(
            &node.position,
            format!(
                "`steps` wants each step under its id, here stands {}",
                node.kind()
            ),
            "",
            "Write each step under its id, without a dash: `hold-vehicle:` and its keys indented."
                .to_owned(),
        );
        return Vec::new();
    };
    if entries.is_empty() {
        let remedy = "Write at least a step with `outcome`.".to_owned();
        let message = "`steps` is empty".to_owned();
        reading.findings.doubt(&node.position, message, "", remedy);
    }
    let written = entries
        .iter()
        .map(|(key, node)| (key.scalar.value.as_str(), (&key.position, node)));
    let written = written.collect();
    let mut steps: Vec<Step<Named>> = Vec::new();
    let mut phase = None;
    let mut before = "";
    // all before the first is read, so that what is wrong with an id is told where it is declared
    for (key, _) in entries {
        reading.places.declare(&key.scalar.value, &key.position);
    }
    for (key, node) in entries {
        let id = &key.scalar.value;
        if !is_kebab(id) {
            let at = Node {
                position: key.position.clone(),
                content: Content::Scalar(key.scalar.clone()),
            };
            not_kebab(&at, id, "a step's id", reading.findings);
        }
        if outdented(key, node, before, reading.findings) {
            continue;
        }
        before = id;
        let from = reading.findings.list.len();
        let Some(fields) = same_as::fields(key, node, &written, reading.findings) else {
            reading.findings.are_of_step(id, from);
            continue;
        };
        let own = fields.peek("phase").map(|node| &node.content);
        let number = steps.len();
        let step = step::step(number, id, fields, phase.as_deref(), reading);
        reading.findings.are_of_step(id, from);
        if let Some(Content::Scalar(own)) = own {
            phase = Some(own.value.trim().to_owned());
        }
        // one that is missing is told once
        phase.get_or_insert_default();
        steps.extend(step);
    }
    steps
}

/// A key of a step that stands as far out as the steps do; `before` is the step above it.
fn outdented(key: &Key, node: &Node, before: &str, findings: &mut Findings) -> bool {
    let name = key.scalar.value.as_str();
    let is_key = keys::STEP.iter().any(|(known, _)| *known == name);
    if before.is_empty() || !is_key || matches!(node.content, Content::Map(_)) {
        return false;
    }
    // what the step above seems to lack is this
    let lacks = [
        format!("step `{before}` has no `{name}`"),
        format!("step `{before}` asks nothing"),
    ];
    findings
        .list
        .retain(|problem| !lacks.contains(&problem.message));
    findings.doubt(
        &key.position,
        format!("`{name}` stands among the steps, not among the keys of one"),
        "Steps stand under `steps`, their keys deeper.",
        format!("Give it as many blanks as the other keys of `{before}` have."),
    );
    true
}
