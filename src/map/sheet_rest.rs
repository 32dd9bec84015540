//! The starter's rest on a work sheet: no program counts it there, so it is kept by a clock and written down.

use maud::{Markup, html};

use crate::engine::starter_duty::StarterDuty;
use crate::procedure::model::{Step, StepIndex};
use crate::run::walk::RESTED;

/// How the part of an action begins that a program does.
const BY_PROGRAM: &str = "the program counts";

/// Whether a step makes sure of the starter's rest.
pub(super) fn is_rest(step: &Step<StepIndex>) -> bool {
    step.establishes.iter().any(|holds| holds.0 == RESTED)
}

/// What is done there without a program.
pub(super) fn by_hand(action: &str) -> String {
    let is_by_hand = |part: &&str| !part.to_lowercase().starts_with(BY_PROGRAM);
    let sentence = |sentence: &str| {
        let parts: Vec<&str> = sentence.split("; ").filter(is_by_hand).collect();
        (!parts.is_empty()).then(|| parts.join("; "))
    };
    let whole = action.trim().trim_end_matches('.');
    let kept: Vec<String> = whole.split(". ").filter_map(sentence).collect();
    match kept.is_empty() {
        true => String::new(),
        false => kept.join(". ") + ".",
    }
}

/// The times of each rest, written down.
pub(super) fn clock(starter: StarterDuty, visits: u32) -> Markup {
    html! {
        p { "Rest the starter " (starter.rest_seconds) " s by the clock, counted from the end of the last crank:" }
        @for _ in 0..visits { p { "from " span.blank {} " to " span.blank {} } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::map::sheet;
    use crate::map::tests::library;

    /// Nobody waits on paper for a program: the clock is read, and written down for each time that it may be.
    #[test]
    fn a_rest_on_paper_is_kept_by_the_clock() {
        for name in [
            "cranking-circuit",
            "static-compression",
            "relative-compression",
        ] {
            let sheet = sheet(&library(name), name, None);
            assert!(!sheet.contains("rogram counts"), "{name}");
            let clock = "Rest the starter 120 s by the clock, counted from the end of the last crank:</p><p>from <span";
            assert!(sheet.contains(clock), "{name}");
        }
    }

    #[test]
    fn what_a_program_does_is_left_out() {
        assert_eq!(
            by_hand(
                "Let it rest. The program counts down what is due, and says so. A maker's rest is longer."
            ),
            "Let it rest. A maker's rest is longer."
        );
        assert_eq!(
            by_hand("Look around. Let it rest; the program counts down what is due."),
            "Look around. Let it rest."
        );
        assert_eq!(by_hand("Let it rest."), "Let it rest.");
    }
}
