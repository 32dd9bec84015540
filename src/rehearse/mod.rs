//! Procedures gone through without a car: by scenarios, on the same steps as a run, with simulated
//! captures or stated results; and what no scenario reached. It reads no file and prints nothing:
//! texts and captures come in, findings go out.

mod bench;
mod computing;
pub mod coverage;
pub mod goal;
mod judge;
mod parting;
mod play;
pub mod reach;
mod read;
pub mod scenario;
mod told;
pub mod usual;
mod values;

#[cfg(test)]
mod tests;

pub use bench::{Bench, ReadCapture};
pub use play::Played;
pub use read::read;
pub use scenario::Scenario;

use std::collections::BTreeSet;
use std::sync::Arc;

use rayon::prelude::*;

use parting::Parted;
use play::Player;

use crate::procedure::Problem;
use crate::procedure::model::Library;

/// A scenario gone through, and the same once more for each denied statement.
#[derive(Debug)]
pub struct Rehearsed {
    /// The scenario as written.
    pub played: Played,
    /// The statements that were denied, the last one of them for the first time, and how that went.
    pub denied: Vec<(Vec<String>, Played)>,
    /// The ends that denials came to and the scenario does not have for them.
    pub unlisted: Option<Problem>,
}

impl Rehearsed {
    /// Everything that went otherwise than expected.
    pub fn problems(&self) -> impl Iterator<Item = &Problem> {
        let denied = self.denied.iter().flat_map(|(_, played)| &played.problems);
        let own = self.played.problems.iter();
        own.chain(&self.unlisted).chain(denied)
    }
}

/// Go through a scenario, and through its denials where it asks for them: of each statement on its way,
/// and of each that is first met behind a denial.
#[must_use]
pub fn rehearse(library: &Library, scenario: &Scenario, bench: &Bench<'_>) -> Rehearsed {
    let denies = !scenario.deny_each.value.is_empty();
    let player = Player::new(library, scenario, bench);
    let (mut played, mut waiting) = player.ended(denies.then(Arc::default));
    let unknown = told::unknown_steps(library, scenario);
    if !unknown.is_empty() {
        played.problems = unknown;
    }
    if !played.problems.is_empty() {
        waiting.clear(); // where the scenario itself goes astray, each of its denials would too
    }
    let mut denied = Vec::new();
    let mut known: BTreeSet<String> = played.statements.iter().cloned().collect();
    while !waiting.is_empty() {
        let met = Arc::new(known.clone());
        let wave: Vec<(Vec<String>, Played, Vec<Parted<'_>>)> = std::mem::take(&mut waiting)
            .into_par_iter()
            .map(|parted| parted.denied(met.clone()))
            .collect();
        for (steps, played, parted) in wave {
            let new = parted
                .into_iter()
                .filter(|parted| known.insert(parted.statement().to_owned()));
            waiting.extend(new);
            denied.push((steps, played));
        }
    }
    if played.problems.is_empty() {
        let all: Vec<&Played> = denied
            .iter()
            .map(|(_, denied)| denied)
            .chain([&played])
            .collect();
        let made = all.iter().flat_map(|played| &played.made);
        let mut problems = judge::idle(scenario, &made.collect());
        problems.extend(judge::passed_over(scenario, &all));
        played.problems = problems;
    }
    let unlisted = judge::unlisted(scenario, &denied);
    Rehearsed {
        played,
        denied,
        unlisted,
    }
}
