//! Procedures gone through without a car: by scenarios, on the same steps as a run, with simulated
//! captures or stated results; and what no scenario reached. It reads no file and prints nothing:
//! texts and captures come in, findings go out.

mod bench;
pub mod coverage;
mod play;
pub mod reach;
mod read;
pub mod scenario;
mod usual;

#[cfg(test)]
mod tests;

pub use bench::{Bench, ReadCapture};
pub use play::{Played, play};
pub use read::read;
pub use scenario::Scenario;

use rayon::prelude::*;

use crate::procedure::Problem;
use crate::procedure::model::Library;

/// A scenario gone through, and the same once more for each denied statement.
#[derive(Debug)]
pub struct Rehearsed {
    /// The scenario as written.
    pub played: Played,
    /// Each statement on its way that was denied, and how that went.
    pub denied: Vec<(String, Played)>,
}

impl Rehearsed {
    /// Everything that went otherwise than expected.
    pub fn problems(&self) -> impl Iterator<Item = &Problem> {
        let denied = self.denied.iter().flat_map(|(_, played)| &played.problems);
        self.played.problems.iter().chain(denied)
    }
}

/// Go through a scenario, and through its denials where it asks for them.
#[must_use]
pub fn rehearse(library: &Library, scenario: &Scenario, bench: &Bench<'_>) -> Rehearsed {
    let played = play(library, scenario, None, bench);
    let statements: &[String] = if scenario.deny_each.is_empty() {
        &[]
    } else {
        &played.statements
    };
    let denied = statements
        .par_iter()
        .map(|step| {
            let denied = play(library, scenario, Some(step), bench);
            (step.clone(), denied)
        })
        .collect();
    Rehearsed { played, denied }
}
