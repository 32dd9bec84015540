//! How a job ended, in words: the same at the terminal and on page one of the report.

use std::collections::{BTreeMap, BTreeSet};

use crate::cranking::answer::{Analysis, VerdictKind};
use crate::procedure::model::OutcomeKind;
use crate::run::agreement;
use crate::run::event::{Answer, Event};
use crate::run::state::State;
use crate::run::walk::Walk;
use crate::text::{clean, counted};

/// What the record notes of a capture that was handed over and not taken, before its SHA-256 and the reason.
const NOT_TAKEN: &str = "cranked; the capture was not taken (SHA-256 ";

/// Parts the hash from the reason.
const REASON: &str = "): ";

/// Parts what is wrong from how it is mended, in sentences about files.
const REMEDY: &str = "; ";

/// What the captures of the turning engine came to in work that was left.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Cranked {
    /// How many gave a result, and how many of them say what the last one says, itself included; then nothing is said of
    /// the others.
    judged: Option<(usize, usize)>,
    /// Why the last one that was analysed gave no verdict; with how many were.
    analysed: Option<(usize, String)>,
    /// Why the last one was refused when it was handed over; with how many were.
    refused: Option<(usize, String)>,
}

impl Cranked {
    /// From analyses that count, in order; the refused ones each with hash and reason; and the hashes of those that
    /// were taken, perhaps after having been refused.
    pub fn of<'a>(
        analyses: &[&Analysis],
        refused: impl IntoIterator<Item = (&'a str, &'a str)>,
        taken: &BTreeSet<&str>,
    ) -> Self {
        let judged = analyses.iter().copied();
        let judged = judged.filter(|one| one.verdict.kind != VerdictKind::Inconclusive);
        let judged: Vec<&Analysis> = judged.collect();
        if let [before @ .., last] = &judged[..] {
            let same = before.iter();
            let same = same.filter(|one| agreement::judge(one, last).is_ok());
            return Cranked {
                judged: Some((judged.len(), 1 + same.count())),
                ..Cranked::default()
            };
        }
        let of_last = |analysis: &&Analysis| (analyses.len(), reason(&analysis.verdict.why));
        let refused = refused.into_iter();
        let refused: Vec<_> = refused.filter(|(hash, _)| !taken.contains(hash)).collect();
        let each: BTreeMap<&str, &str> = refused.iter().copied().collect();
        let why = |(_, why): &(&str, &str)| {
            let what = why.split_once(REMEDY).map_or(*why, |(what, _)| what);
            (each.len(), reason(what))
        };
        Cranked {
            judged: None,
            analysed: analyses.last().map(of_last),
            refused: refused.last().map(why),
        }
    }

    /// What of the record's note on a crank is a refused capture: its hash, and why.
    #[must_use]
    pub fn of_note(text: &str) -> Option<(&str, &str)> {
        text.strip_prefix(NOT_TAKEN)?.split_once(REASON)
    }

    /// The same of a job's events.
    pub(super) fn of_job(state: &State, walk: &Walk<'_>) -> Self {
        let counts = walk.past().iter().filter(|past| !past.superseded);
        let events = counts.filter_map(|past| state.events().get(past.said.checked_sub(1)?));
        let mut analyses: Vec<&Analysis> = Vec::new();
        let mut taken = BTreeSet::new();
        for stamped in events {
            match &stamped.event {
                Event::Computed { analysis, .. } => analyses.extend(analysis.as_deref()),
                Event::Answered {
                    answer: Answer::Capture(file),
                    ..
                } => {
                    taken.insert(file.sha256.as_str());
                }
                _ => {}
            }
        }
        let refused = state
            .events()
            .iter()
            .filter_map(|stamped| match &stamped.event {
                Event::Cranked {
                    sha256: Some(hash),
                    reason,
                    ..
                } => Some((hash.as_str(), reason.as_str())),
                _ => None,
            });
        Cranked::of(&analyses, refused, &taken)
    }
}

/// The note that the record makes of a capture that was handed over and not taken.
#[must_use]
pub fn not_taken(sha256: &str, why: &str) -> String {
    format!("{NOT_TAKEN}{sha256}{REASON}{why}")
}

/// The outcome in words. Work that was left after captures was carried out as far as that.
#[must_use]
pub fn found(kind: OutcomeKind, cranked: &Cranked) -> String {
    if kind != OutcomeKind::NotDone {
        return kind.words().to_owned();
    }
    let recordings = |count: usize| counted(count as u64, "recording");
    if let Some((count, same)) = cranked.judged {
        let came_to = match (count, same) {
            (1, _) => "gave a result that no second one confirms",
            (2, 1) => "gave results that do not confirm each other",
            (_, 1) => "gave results, of which the last one confirms none",
            _ => "agree",
        };
        let recordings = match same {
            1 => recordings(count),
            same if same < count => format!("{same} of {}", recordings(count)),
            _ => recordings(count),
        };
        return format!(
            "Not finished: {recordings} of the turning engine {came_to}; then the work was left"
        );
    }
    let analysed = cranked.analysed.as_ref().map(|(count, why)| {
        let recordings = recordings(*count);
        format!("{recordings} of the turning engine could not be judged ({why})")
    });
    let refused = cranked.refused.as_ref().map(|(count, why)| {
        let (recordings, was) = match count {
            1 => ("the one recording".to_owned(), "was"),
            _ => (recordings(*count), "were"),
        };
        match &analysed {
            None => format!("{recordings} of the turning engine {was} refused ({why})"),
            Some(_) => format!("{} more {was} refused ({why})", count),
        }
    });
    let told: Vec<String> = analysed.into_iter().chain(refused).collect();
    if told.is_empty() {
        return kind.words().to_owned();
    }
    format!("No verdict: {}; then the work was left", told.join(", "))
}

/// A sentence as it stands in brackets.
fn reason(why: &str) -> String {
    clean(why).trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::facts::tests::analysis;

    #[test]
    fn work_that_was_left_says_what_became_of_its_captures() {
        let sound = analysis(&[100.0, 99.0, 62.0, 100.0], 85.0);
        let mut unfit = sound.clone();
        unfit.verdict.kind = VerdictKind::Inconclusive;
        unfit.verdict.why = "It was clipped.".to_owned();
        let (a, b) = (
            ("aa", "a.csv: no such column; name it"),
            ("bb", "b.csv: cut off."),
        );
        let told = |analyses: &[&Analysis], refused: &[(&str, &str)], taken: &[&str]| {
            let taken = taken.iter().copied().collect();
            let cranked = Cranked::of(analyses, refused.iter().copied(), &taken);
            found(OutcomeKind::NotDone, &cranked)
        };
        let plain = OutcomeKind::NotDone.words();
        assert_eq!(told(&[], &[], &[]), plain);
        let left = |came_to: &str| format!("Not finished: {came_to}; then the work was left");
        let one =
            left("1 recording of the turning engine gave a result that no second one confirms");
        assert_eq!(told(&[&unfit, &sound], &[a], &[]), one);
        let again = analysis(&[101.0, 97.0, 65.0, 99.0], 85.0);
        let agree = left("2 recordings of the turning engine agree");
        assert_eq!(told(&[&sound, &unfit, &again], &[], &[]), agree);
        let other = analysis(&[62.0, 99.0, 100.0, 100.0], 85.0);
        let differ =
            left("2 recordings of the turning engine gave results that do not confirm each other");
        assert_eq!(told(&[&sound, &other], &[], &[]), differ);
        let last = left(
            "3 recordings of the turning engine gave results, of which the last one confirms none",
        );
        assert_eq!(told(&[&sound, &again, &other], &[], &[]), last);
        let two = left("2 of 3 recordings of the turning engine agree");
        assert_eq!(told(&[&other, &sound, &again], &[], &[]), two);
        assert_eq!(
            told(&[], &[a], &["aa"]),
            plain,
            "taken once it was corrected"
        );
        assert_eq!(
            told(&[], &[a, a], &[]),
            "No verdict: the one recording of the turning engine was refused (a.csv: no such column); then the work \
             was left"
        );
        assert_eq!(
            told(&[], &[a, b], &[]),
            "No verdict: 2 recordings of the turning engine were refused (b.csv: cut off); then the work was left"
        );
        assert_eq!(
            told(&[&unfit], &[b], &[]),
            "No verdict: 1 recording of the turning engine could not be judged (It was clipped), 1 more was refused \
             (b.csv: cut off); then the work was left"
        );
        let cranked = Cranked::of(&[&unfit], [], &BTreeSet::new());
        let words = OutcomeKind::NothingFound.words();
        assert_eq!(found(OutcomeKind::NothingFound, &cranked), words);
        let note = not_taken(a.0, a.1);
        assert_eq!(Cranked::of_note(&note), Some(a));
        assert_eq!(Cranked::of_note("cranked without a capture: x"), None);
    }
}
