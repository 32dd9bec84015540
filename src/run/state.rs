//! A job as its events tell it. It knows no procedure: where the job stands in one is worked out by
//! [`super::walk`].

use crate::run::event::{Answer, Event, Opening, Stamped};

/// Why a job with a simulated capture is practice.
const SIMULATED_CAPTURE: &str = "simulated capture";

/// The fold of a job's events.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct State {
    events: Vec<Stamped>,
}

impl State {
    /// The state after these events.
    pub fn fold<'e>(events: impl IntoIterator<Item = &'e Stamped>) -> Self {
        let mut state = State::default();
        for event in events {
            state.push(event.clone());
        }
        state
    }

    /// One event more.
    pub fn push(&mut self, event: Stamped) {
        self.events.push(event);
    }

    /// All events, superseded ones included; the first stands on line 1 of the journal.
    #[must_use]
    pub fn events(&self) -> &[Stamped] {
        &self.events
    }

    /// How the job began; absent before its first event.
    #[must_use]
    pub fn opening(&self) -> Option<&Opening> {
        match &self.events.first()?.event {
            Event::Opened(opening) => Some(opening),
            _ => None,
        }
    }

    /// Why this is practice, each reason once; empty for a job that counts. What made a job practice
    /// stays in it: going back takes no reason away.
    #[must_use]
    pub fn practice(&self) -> Vec<String> {
        let mut reasons: Vec<&str> = Vec::new();
        for stamped in &self.events {
            match &stamped.event {
                Event::Opened(opening) => {
                    reasons.extend(opening.practice.iter().map(String::as_str))
                }
                Event::Practice { reason, .. } => reasons.push(reason),
                Event::Answered {
                    answer: Answer::Capture(file),
                    ..
                } if file.simulated => reasons.push(SIMULATED_CAPTURE),
                _ => {}
            }
        }
        let mut once: Vec<String> = Vec::new();
        for reason in reasons {
            if !once.iter().any(|known| known == reason) {
                once.push(reason.to_owned());
            }
        }
        once
    }

    /// Whether times in the job are simulated.
    #[must_use]
    pub fn simulated_clock(&self) -> bool {
        self.events.iter().any(|stamped| match &stamped.event {
            Event::Opened(opening) => opening.simulated_clock,
            Event::Practice {
                simulated_clock, ..
            } => *simulated_clock,
            _ => false,
        })
    }

    /// When the last event happened.
    #[must_use]
    pub fn last_at(&self) -> Option<&str> {
        self.events.last().map(|event| event.at.as_str())
    }

    /// When somebody was last at the job. What the program notes by itself when it is taken up again is not
    /// that: a break would seem to have ended before it was looked at.
    #[must_use]
    pub fn last_attended(&self) -> Option<&str> {
        let own = |event: &Event| matches!(event, Event::Mended { .. } | Event::Practice { .. });
        let attended = self.events.iter().rev().find(|event| !own(&event.event));
        attended.map(|event| event.at.as_str())
    }

    /// The outcome, where one was reached.
    #[must_use]
    pub fn concluded(&self) -> Option<&Stamped> {
        self.events
            .iter()
            .find(|event| matches!(event.event, Event::Concluded { .. }))
    }

    /// Whether nothing more will be added.
    #[must_use]
    pub fn is_sealed(&self) -> bool {
        self.events.iter().any(|event| event.event == Event::Sealed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::tests::sample::{capture, opened, stamped};

    fn handed_over(simulated: bool) -> Stamped {
        let mut file = capture("captures/1.csv");
        file.simulated = simulated;
        stamped(Event::Answered {
            step: "crank".to_owned(),
            answer: Answer::Capture(file),
        })
    }

    #[test]
    fn what_made_a_job_practice_stays_and_is_told_once() {
        let mut state = opened();
        state.push(handed_over(false));
        assert!(state.practice().is_empty() && !state.simulated_clock());
        state.push(handed_over(true));
        state.push(stamped(Event::Reopened {
            step: "crank".to_owned(),
            same_crank: false,
        }));
        for _ in 0..2 {
            state.push(stamped(Event::Practice {
                reason: "answers from a file".to_owned(),
                simulated_clock: true,
            }));
        }
        let reasons = [SIMULATED_CAPTURE, "answers from a file"];
        assert_eq!(state.practice(), reasons);
        assert!(state.simulated_clock());
    }
}
