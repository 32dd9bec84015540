//! What a scenario is to lead to: a step, or a way out of one, in the words in which what was not reached is told.

use crate::procedure::model::Library;
use crate::procedure::way_told;
use crate::run::walk::Turn;

/// A step and, where one is meant, the way out of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Goal {
    /// The step's path.
    pub step: String,
    /// The way: "no", "< 12.20", a choice's name.
    pub way: Option<String>,
}

impl Goal {
    /// Read "crank", "battery/rest-reading: < 12.20", "`held`: no → `end`".
    #[must_use]
    pub fn parse(written: &str) -> Self {
        let (step, way) = match written.split_once(':') {
            Some((step, way)) => (step, Some(way)),
            None => (written, None),
        };
        let way = way.map(|way| way.split('→').next().unwrap_or(way).trim().to_owned());
        Self {
            step: step.trim().trim_matches('`').to_owned(),
            way,
        }
    }

    /// In words, as it is written.
    #[must_use]
    pub fn told(&self) -> String {
        match &self.way {
            Some(way) => format!("{}: {way}", self.step),
            None => self.step.clone(),
        }
    }

    /// A name for a file of a scenario that leads there.
    #[must_use]
    pub fn file_name(&self) -> String {
        let signs = [
            ("<=", " up to "),
            (">=", " from "),
            ("<", " below "),
            (">", " above "),
        ];
        let plain = signs
            .iter()
            .fold(self.told(), |told, (sign, word)| told.replace(sign, word));
        let words = plain.split(|c: char| !c.is_ascii_alphanumeric());
        let words: Vec<String> = words
            .filter(|w| !w.is_empty())
            .map(str::to_lowercase)
            .collect();
        format!("{}.yaml", words.join("-"))
    }

    /// Whether what was met on a way includes it.
    #[must_use]
    pub fn met(&self, library: &Library, trail: &[Turn]) -> bool {
        trail
            .iter()
            .filter(|turn| turn.step == self.step)
            .any(|turn| {
                let Some(wanted) = &self.way else {
                    return true;
                };
                let procedure = library.procedures.get(&turn.procedure);
                let step = procedure.and_then(|procedure| procedure.steps.get(turn.at.0));
                let taken = step
                    .zip(turn.way)
                    .map(|(step, way)| way_told(&step.question, way));
                taken.as_ref() == Some(wanted)
            })
    }
}
