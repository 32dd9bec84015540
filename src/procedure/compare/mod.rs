//! What changed between two revisions of a procedure, for the lead who approves it: in terms of hazards,
//! conditions, limits, ways and steps, those first that take a protection away.

mod hazards;
mod limits;
pub(super) mod numbers;
mod steps;
mod ways;

#[cfg(test)]
mod tests;

use super::model::{Library, Procedure, StepIndex};

/// What a change is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum About {
    /// A hazard and its signal word.
    Hazard,
    /// Kinds of work, and conditions that are needed, hold or end.
    Condition,
    /// What is disabled and put back.
    PuttingBack,
    /// Units, resolutions, ranges, tests and bounds.
    Limit,
    /// Steps that all ways to an outcome pass, and outcomes.
    Path,
    /// Where an answer leads.
    Way,
    /// A step as a whole.
    Step,
    /// Words.
    Text,
    /// The file as a whole.
    File,
}

impl About {
    /// In a word.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            About::Hazard => "hazard",
            About::Condition => "condition",
            About::PuttingBack => "putting back",
            About::Limit => "limit",
            About::Path => "path",
            About::Way => "way",
            About::Step => "step",
            About::Text => "text",
            About::File => "file",
        }
    }
}

/// One change.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Change {
    /// Whether it takes something away that protects; such changes stand first.
    pub weakens: Weakens,
    /// What it is about.
    pub about: About,
    /// The procedure.
    pub procedure: String,
    /// The step, where it is about one.
    pub step: Option<String>,
    /// In words.
    pub told: String,
}

/// Whether a change takes something away that protects.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weakens {
    /// It does, or may.
    Yes,
    /// It does not.
    No,
}

impl From<bool> for Weakens {
    fn from(weakens: bool) -> Self {
        if weakens { Weakens::Yes } else { Weakens::No }
    }
}

/// All changes from one library to another, called procedures included; sorted, those that weaken first.
#[must_use]
pub fn changes(old: &Library, new: &Library) -> Vec<Change> {
    let mut found = Found::default();
    for (name, before) in &old.procedures {
        match new.procedures.get(name) {
            Some(after) => compare(before, after, &mut found),
            None => found.add(name, None, About::File, true, "no longer called".to_owned()),
        }
    }
    for name in new.procedures.keys() {
        if !old.procedures.contains_key(name) {
            found.add(name, None, About::File, false, "now called".to_owned());
        }
    }
    let mut list = found.0;
    list.sort();
    list
}

#[derive(Default)]
struct Found(Vec<Change>);

impl Found {
    fn add(
        &mut self,
        procedure: &str,
        step: Option<&str>,
        about: About,
        weakens: bool,
        told: String,
    ) {
        self.0.push(Change {
            weakens: weakens.into(),
            about,
            procedure: procedure.to_owned(),
            step: step.map(str::to_owned),
            told,
        });
    }
}

fn compare(before: &Procedure<StepIndex>, after: &Procedure<StepIndex>, found: &mut Found) {
    let name = &before.name;
    let same = before.source.text == after.source.text;
    match before.revision.cmp(&after.revision) {
        std::cmp::Ordering::Equal if same => return,
        std::cmp::Ordering::Equal => {
            let told = format!("changed, and still revision {}: raise it", before.revision);
            found.add(name, None, About::File, true, told);
        }
        std::cmp::Ordering::Greater => {
            let told = format!(
                "revision {} goes back to {}",
                before.revision, after.revision
            );
            found.add(name, None, About::File, true, told);
        }
        std::cmp::Ordering::Less => {
            let told = format!("revision {} becomes {}", before.revision, after.revision);
            found.add(name, None, About::File, false, told);
        }
    }
    for (key, old, new) in [
        ("title", &before.title, &after.title),
        ("purpose", &before.purpose, &after.purpose),
    ] {
        if old != new {
            found.add(
                name,
                None,
                About::Text,
                false,
                format!("{key}: \"{old}\" becomes \"{new}\""),
            );
        }
    }
    if before.takes != after.takes || before.gives != after.gives {
        let told = "what it takes or gives is another".to_owned();
        found.add(name, None, About::File, false, told);
    }
    steps::compare(before, after, found);
    ways::compare(before, after, found);
}
