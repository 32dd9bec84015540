//! What changed in the hazards of a step.

use std::collections::BTreeSet;

use super::About;
use super::steps::Pair;
use crate::procedure::model::{Hazard, Step, StepIndex};

pub(super) fn compare(pair: &mut Pair<'_, '_>, old: &Step<StepIndex>, new: &Step<StepIndex>) {
    let has_text = |list: &[Hazard], text: &str| list.iter().any(|known| known.text == text);
    let mut added: Vec<&Hazard> = new.hazards.iter().collect();
    added.retain(|hazard| !has_text(&old.hazards, &hazard.text));
    for hazard in old.hazards.iter().filter(|h| !new.hazards.contains(h)) {
        let word = hazard.word.text();
        let same_text = new.hazards.iter().find(|other| other.text == hazard.text);
        if let Some(other) = same_text {
            let weaker = other.word > hazard.word; // the strongest word comes first
            let told = format!("{word} becomes {}: \"{}\"", other.word.text(), hazard.text);
            pair.add(About::Hazard, weaker, told);
        } else if let Some(at) = added.iter().position(|other| reworded(hazard, other)) {
            let other = added.remove(at);
            let told = format!("{word}: \"{}\" becomes \"{}\"", hazard.text, other.text);
            pair.add(About::Hazard, true, told);
        } else {
            pair.add(About::Hazard, true, taken_away(hazard));
        }
    }
    for hazard in added {
        let told = format!("{} added: \"{}\"", hazard.word.text(), hazard.text);
        pair.add(About::Hazard, false, told);
    }
}

/// A hazard that is gone, with its text: it may be what the step was there for.
pub(super) fn taken_away(hazard: &Hazard) -> String {
    format!("{} taken away: \"{}\"", hazard.word.text(), hazard.text)
}

/// Whether one hazard is the other in other words: shortened, say. Under the same signal word, half the words of the
/// shorter one stand in both; our own choice.
fn reworded(old: &Hazard, new: &Hazard) -> bool {
    let words = |hazard: &Hazard| -> BTreeSet<String> {
        let small = hazard.text.to_lowercase();
        let words = small.split(|c: char| !c.is_alphanumeric());
        words
            .filter(|word| !word.is_empty())
            .map(str::to_owned)
            .collect()
    };
    let (was, is) = (words(old), words(new));
    let common = was.intersection(&is).count();
    old.word == new.word && 2 * common >= was.len().min(is.len())
}
