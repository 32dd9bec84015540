//! What goes before the first question of an exercise, by what its procedure asks.

use std::path::Path;

use crate::practise::NOT_GRADED;
use crate::procedure::model::{CaptureKind, Library, Question};

/// Name of the trainer's own page among those of an exercise.
pub(super) const OWN_PAGE: &str = "trainer.txt";

/// Refuse what is said of a capture of the turning engine where the procedure has none: it would come to nothing.
pub(super) fn of_captures(library: &Library, said: &[(&str, bool)]) -> Result<(), String> {
    let mut steps = library.procedures.values().flat_map(|p| &p.steps);
    let cranks = steps.any(|step| {
        matches!(&step.question, Question::Capture { kind, .. } if *kind == CaptureKind::Cranking)
    });
    match said.iter().find(|(_, is_said)| *is_said && !cranks) {
        Some((option, _)) => Err(format!(
            "{option} is about a capture of the turning engine, and this procedure takes none; leave it out"
        )),
        None => Ok(()),
    }
}

/// A path as it is found from any folder: whoever looks it up does so in another window.
fn whole(page: &Path) -> String {
    let page = page.canonicalize().unwrap_or_else(|_| page.to_owned());
    page.display().to_string()
}

/// What is said before the first question.
pub(super) fn told(vehicle: &str, is_graded: bool, pages: &Path) -> Vec<String> {
    let mut told = vec![
        "PRACTICE: the vehicle is simulated. What is wrong with it, if anything, is hidden. Say y to what would be so \
         once you had done it at a vehicle.".to_owned(),
        format!("{vehicle}."),
    ];
    if !is_graded {
        told.push(format!(
            "This procedure {NOT_GRADED}: it will not be graded."
        ));
    }
    let page = whole(&pages.join("vehicle.txt"));
    let mut known = format!("Look up what is asked: {page} for vehicle and instruments");
    if is_graded {
        known += ", cylinder-N.txt beside it only where you measure at that cylinder";
    }
    told.push(format!("{known}."));
    let own = pages.join(OWN_PAGE);
    if own.is_file() {
        told.push(format!("Your trainer's own readings: {}.", whole(&own)));
    }
    told
}
