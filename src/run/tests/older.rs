//! Journals of older builds go on where they were left.

use super::*;

fn read(line: &str) -> Event {
    let stamped: super::super::event::Stamped = serde_json::from_str(line).unwrap();
    stamped.event
}

/// A crank without a capture ended nothing then: the capture was asked for again at once.
#[test]
fn a_crank_that_ended_nothing_leaves_the_question_for_its_capture() {
    let older =
        r#"{"at":"2026-03-02T08:00:00Z","event":"cranked","step":"crank","reason":"scope off"}"#;
    let mut trial = Trial::after(&TO_CRANK);
    let held = trial.walk().held().clone();
    trial.state.push(stamped(read(older)));
    assert_eq!(trial.walk().held(), &held);
    assert_eq!(trial.due(), "crank");
    trial.say("even");
    assert_eq!(trial.due(), "refit");
}

/// What was made sure of again in another order than now counts as well, and the rest is asked.
#[test]
fn what_was_made_sure_of_in_another_order_counts() {
    let resumed =
        r#"{"at":"2026-03-02T09:00:00Z","event":"resumed","lapsed":["fuel off","vehicle held"]}"#;
    let answered = r#"{"at":"2026-03-02T09:00:00Z","event":"answered","step":"fuel","answer":{"kind":"confirm","yes":true}}"#;
    let mut trial = Trial::after(&TO_CRANK);
    trial.state.push(stamped(read(resumed)));
    assert_eq!(trial.due(), "hold", "which is asked first now");
    trial.state.push(stamped(read(answered)));
    assert!(trial.holds("fuel off"));
    assert_eq!(trial.due(), "hold");
    trial.say("yes");
    assert_eq!(trial.due(), "crank");
    // what holds is not made sure of again
    trial.state.push(stamped(read(answered)));
    assert!(next(&trial.library, &trial.state).is_err());
}
