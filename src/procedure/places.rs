//! Where the parts of a step stand in the file, so that a problem found later still points at them.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::model::{Position, Source, Step};

/// In place of a step's number, for a key of the file.
pub(crate) const FILE: usize = usize::MAX;

/// Places of the parts of a procedure: step number and a part's name, as in `needs/lead tight`.
#[derive(Debug, Clone, Default)]
pub struct Places {
    parts: HashMap<(usize, String), Position>,
    declared: BTreeMap<String, Position>,
    doubted: BTreeSet<(usize, &'static str)>,
}

impl Places {
    pub(crate) fn put(&mut self, step: usize, part: impl Into<String>, position: &Position) {
        self.parts
            .entry((step, part.into()))
            .or_insert_with(|| position.clone());
    }

    /// A key of a step, or of the file, that is probably there and could not be read: what follows from its absence is not judged.
    pub(crate) fn doubt(&mut self, step: usize, key: &'static str) {
        self.doubted.insert((step, key));
    }

    pub(crate) fn in_doubt(&self, step: usize, key: &'static str) -> bool {
        self.doubted.contains(&(step, key))
    }

    /// Forget the parts of a step that could not be read.
    pub(crate) fn forget(&mut self, step: usize) {
        self.parts.retain(|(number, _), _| *number != step);
        self.doubted.retain(|(number, _)| *number != step);
    }

    pub(crate) fn declare(&mut self, step: &str, position: &Position) {
        let known = self.declared.entry(step.to_owned());
        known.or_insert_with(|| position.clone());
    }

    /// The ids of the steps that are written in the file, those that could not be read among them, and where.
    pub(crate) fn declared(&self) -> impl Iterator<Item = (&String, &Position)> {
        self.declared.iter()
    }

    /// Whether a step of that id is written in the file, even where it could not be read: it is not
    /// unknown then.
    pub(crate) fn is_declared(&self, step: &str) -> bool {
        self.declared.contains_key(step)
    }

    /// Where a part stands; the step itself where the part is not known.
    #[must_use]
    pub fn of<T>(&self, number: usize, step: &Step<T>, part: &str) -> Position {
        self.parts
            .get(&(number, part.to_owned()))
            .unwrap_or(&step.position)
            .clone()
    }
}

/// Where the brace stands that so many others stand before, counted from where its text begins; that beginning where the
/// text is written otherwise.
pub(crate) fn of_brace(source: &Source, text: &Position, before: usize) -> Position {
    let lines = source.text.lines().enumerate();
    let lines = lines.skip(text.line.saturating_sub(1));
    let mut braces = lines.flat_map(|(at, line)| {
        let letters = line.chars().enumerate();
        let braces = letters.filter(|(_, c)| matches!(c, '{' | '}'));
        braces.map(move |(column, _)| (at + 1, column + 1))
    });
    let behind = |place: &(usize, usize)| *place >= (text.line, text.column);
    let found = braces.by_ref().filter(behind).nth(before);
    let (line, column) = found.unwrap_or((text.line, text.column));
    Position {
        file: source.file.clone(),
        line,
        column,
    }
}
