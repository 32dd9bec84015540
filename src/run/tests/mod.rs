//! The run's logic on a small job.

mod back;
mod breaks;
mod closing_up;
mod counted;
mod doubts;
mod driven;
mod older;
mod properties;
mod repeats;
mod rests;
pub(crate) mod sample;
mod waived;

use super::event::{Answer, Event};
use super::screen::Form;
use super::walk::Walk;
use super::*;
use crate::procedure::model::{Library, OutcomeKind};
use sample::*;

/// The job is taken up again an hour later.
pub(crate) fn resume() -> Input {
    Input::Resume {
        at: "2026-03-02T09:00:00Z".to_owned(),
    }
}

/// A job under test.
pub(crate) struct Trial {
    pub(crate) library: Library,
    pub(crate) state: State,
}

impl Trial {
    fn new() -> Self {
        Trial {
            library: library(),
            state: opened(),
        }
    }

    pub(crate) fn put(&mut self, input: Input) -> Result<(), Refusal> {
        for event in step(&self.library, &self.state, input)? {
            self.state.push(stamped(event));
        }
        Ok(())
    }

    fn next(&self) -> Next {
        next(&self.library, &self.state).unwrap()
    }

    /// Path of the step that is asked next, or what comes instead.
    fn due(&self) -> String {
        match self.next() {
            Next::Ask(screen) => screen.step,
            Next::Compute { step, .. } => format!("compute {step}"),
            Next::Conclude(Event::Concluded { step, .. }) => format!("conclude {step}"),
            Next::Seal => "seal".to_owned(),
            Next::Done => "done".to_owned(),
            other => format!("{other:?}"),
        }
    }

    /// Answer what is due, computing where that is due; `word` is a choice, a text, "yes" or "no".
    pub(crate) fn say(&mut self, word: &str) -> &mut Self {
        let input = match self.next() {
            Next::Ask(screen) => match screen.form {
                Form::Confirm | Form::PutBack | Form::Trouble => Input::Confirm(word == "yes"),
                Form::Choose(_) => Input::Choose(word.to_owned()),
                Form::Number(_) | Form::Text(_) => Input::Typed {
                    text: word.to_owned(),
                    before: None,
                },
                Form::Capture(_) => Input::Capture(capture(word)),
            },
            other => panic!("nothing is asked: {other:?}"),
        };
        self.put(input).unwrap();
        self.compute();
        self
    }

    fn compute(&mut self) {
        while let Next::Compute { request, .. } = self.next() {
            let computed = request.unwrap().compute(&mut Bench).unwrap();
            self.put(Input::Computed(computed)).unwrap();
        }
    }

    fn walk(&self) -> Walk<'_> {
        Walk::through(&self.library, &self.state).unwrap()
    }

    fn holds(&self, name: &str) -> bool {
        self.walk().held().contains(&condition(name))
    }

    /// Say these one after the other.
    pub(crate) fn after(words: &[&str]) -> Self {
        let mut trial = Trial::new();
        for word in words {
            trial.say(word);
        }
        trial
    }
}

pub(crate) const TO_CRANK: [&str; 5] = ["yes", "yes", "4", "1-3-4-2", "yes"];

#[test]
fn a_job_goes_its_way_through_a_called_procedure_to_its_outcome() {
    let mut trial = Trial::after(&TO_CRANK);
    assert_eq!(trial.due(), "crank");
    trial.say("low");
    assert_eq!(trial.due(), "test/supply");
    let Next::Ask(screen) = trial.next() else {
        panic!()
    };
    assert_eq!(screen.asked, "Supply of cylinder 3?");
    trial.say("80").say("44").say("1.016");
    assert_eq!(trial.due(), "refit");
    assert_eq!(trial.walk().returned()[0].step, "test/leaks");
    trial.say("yes");
    let Next::Conclude(Event::Concluded { finding, kind, .. }) = trial.next() else {
        panic!()
    };
    assert_eq!(finding, "Cylinder 3 loses 45.0 %; held: yes, Four.");
    assert_eq!(kind, OutcomeKind::FaultFound);
    trial.put(Input::Proceed).unwrap();
    assert_eq!(trial.due(), "seal");
    trial.put(Input::Proceed).unwrap();
    assert_eq!(trial.due(), "done");
    assert_eq!(trial.put(Input::Back), Err(Refusal::Over));
}

#[test]
fn a_no_leads_its_own_way_and_establishes_nothing() {
    let mut trial = Trial::after(&["yes", "no"]);
    assert_eq!(trial.due(), "conclude not-held");
    assert!(!trial.holds("vehicle held"));
    assert!(trial.holds("drive checked"));
    let mut hybrid = Trial::after(&["no"]);
    assert_eq!(hybrid.due(), "conclude turned-away");
    hybrid.put(Input::Back).unwrap();
    assert_eq!(hybrid.due(), "drive");
    trial.put(Input::Back).unwrap();
    assert_eq!(trial.due(), "hold");
}

#[test]
fn no_input_skips_a_step() {
    let trial = Trial::after(&["yes"]);
    let inputs = [
        Input::Proceed,
        Input::Choose("4".to_owned()),
        Input::Capture(capture("low")),
        Input::Computed(Default::default()),
        Input::Typed {
            text: "yes".to_owned(),
            before: None,
        },
    ];
    for input in inputs {
        let refused = step(&trial.library, &trial.state, input.clone());
        assert!(
            matches!(refused, Err(Refusal::OtherKind { .. })),
            "{input:?}"
        );
    }
}

#[test]
fn going_back_supersedes_and_takes_conditions_along() {
    let mut trial = Trial::after(&TO_CRANK);
    assert!(trial.holds("fuel off"));
    trial.put(Input::Back).unwrap();
    assert_eq!(trial.due(), "fuel");
    assert!(!trial.holds("fuel off"));
    assert_eq!(
        trial.walk().disabled().count(),
        1,
        "the relay is out all the same"
    );
    trial.put(Input::Back).unwrap();
    trial.put(Input::Back).unwrap();
    assert_eq!(trial.due(), "cylinders");
    assert_eq!(
        trial
            .walk()
            .past()
            .iter()
            .filter(|past| past.superseded)
            .count(),
        3
    );
    assert_eq!(trial.walk().lines().len(), 0);
    for _ in 0..2 {
        trial.put(Input::Back).unwrap();
    }
    assert_eq!(trial.put(Input::Back), Err(Refusal::NothingBefore));
}

#[test]
fn after_a_break_what_is_needed_is_made_sure_of_again() {
    let mut trial = Trial::after(&TO_CRANK);
    trial.put(Input::Pause("asked".to_owned())).unwrap();
    trial.put(resume()).unwrap();
    let Next::Ask(screen) = trial.next() else {
        panic!()
    };
    assert_eq!(
        (screen.step.as_str(), screen.again_for.as_deref()),
        ("hold", Some("vehicle held"))
    );
    trial.say("yes");
    assert_eq!(trial.due(), "fuel");
    trial.say("yes");
    assert_eq!(trial.due(), "crank", "and then it goes on where it stood");
    assert_eq!(trial.walk().disabled().count(), 1);
}

/// What the sheet would say of an end at the beginning of the job is not true any more.
#[test]
fn a_condition_that_is_denied_after_a_break_stops_the_work_where_something_is_off() {
    let mut trial = Trial::after(&TO_CRANK);
    trial.say("low");
    trial.put(resume()).unwrap();
    assert_eq!(trial.due(), "hold", "the called procedure needs it too");
    trial.say("no");
    assert_eq!(trial.due(), "put-back/fuel relay");
    assert_eq!(
        trial.put(Input::Confirm(false)),
        Err(Refusal::MustBePutBack("fuel relay".to_owned()))
    );
    trial.say("yes");
    assert_eq!(trial.due(), "conclude stopped");
}

#[test]
fn what_was_revoked_stays_revoked_when_going_back() {
    let mut trial = Trial::after(&TO_CRANK);
    trial.say("even");
    assert_eq!(trial.due(), "refit");
    trial.put(Input::Back).unwrap(); // the open step revokes "fuel off": the relay may be in again
    assert_eq!(trial.due(), "fuel");
    trial.say("yes");
    assert_eq!(trial.due(), "crank");
}

#[test]
fn a_stop_puts_back_what_is_disabled_and_then_concludes() {
    let mut trial = Trial::after(&TO_CRANK);
    assert_eq!(trial.put(Input::Stop(" ".to_owned())), Err(Refusal::Empty));
    trial
        .put(Input::Stop("customer came back".to_owned()))
        .unwrap();
    assert_eq!(trial.due(), "put-back/fuel relay");
    let Next::Ask(screen) = trial.next() else {
        panic!()
    };
    let hazard = &screen.hazards[0].text;
    assert!(hazard.contains("the engine can start"), "{hazard}");
    assert!(!hazard.contains("air"), "no air was put in: {hazard}");
    let told = "The work was stopped: customer came back\nGoing back takes the stop back, until something is put back.\n\
                Refit the fuel relay.";
    assert_eq!(screen.action.as_deref(), Some(told));
    trial.put(Input::Back).unwrap();
    assert_eq!(trial.due(), "crank", "the stop is taken back");
    trial
        .put(Input::Stop("customer came back".to_owned()))
        .unwrap();
    trial.say("yes");
    let Next::Conclude(Event::Concluded {
        step,
        kind,
        finding,
        ..
    }) = trial.next()
    else {
        panic!()
    };
    assert_eq!((step.as_str(), kind), ("stopped", OutcomeKind::NotDone));
    assert!(finding.contains("customer came back"));
}

#[test]
fn a_stop_at_the_step_that_disables_asks_for_what_may_be_half_done() {
    let mut trial = Trial::after(&TO_CRANK[..4]);
    assert_eq!(trial.due(), "fuel");
    trial.put(Input::Stop("no time".to_owned())).unwrap();
    assert_eq!(trial.due(), "put-back/fuel relay");
    let mut early = Trial::after(&TO_CRANK[..2]);
    early.put(Input::Stop("no time".to_owned())).unwrap();
    assert_eq!(early.due(), "conclude stopped");
}

#[test]
fn visits_are_bounded_and_going_back_takes_them_back() {
    let mut trial = Trial::after(&TO_CRANK);
    trial.say("even").say("no").say("no");
    assert_eq!(trial.due(), "refit");
    trial.put(Input::Back).unwrap();
    trial.say("no");
    assert_eq!(trial.due(), "refit", "the third visit is still allowed");
    trial.say("no");
    assert_eq!(
        trial.due(),
        "put-back/fuel relay",
        "the fourth is not, and nothing stays out"
    );
}

#[test]
fn an_order_that_does_not_fit_the_cylinders_is_refused() {
    let mut trial = Trial::after(&["yes", "yes", "6"]);
    let typed = |text: &str| Input::Typed {
        text: text.to_owned(),
        before: None,
    };
    assert!(matches!(
        trial.put(typed("1-3-4-2")),
        Err(Refusal::Engine(_))
    ));
    trial.put(typed("1-5-3-6-2-4")).unwrap();
}

#[test]
fn a_journal_of_other_procedures_is_refused() {
    let mut trial = Trial::after(&TO_CRANK[..2]);
    trial.state.push(stamped(Event::Answered {
        step: "crank".to_owned(),
        answer: Answer::Confirm { yes: true },
    }));
    let text = next(&trial.library, &trial.state).unwrap_err().to_string();
    assert!(
        text.contains("line 4") && text.contains("\"cylinders\""),
        "{text}"
    );
}

#[test]
fn steps_are_counted_and_a_step_of_a_loop_says_which_time_it_is() {
    let told = |trial: &Trial| match trial.next() {
        Next::Ask(screen) => (screen.step, screen.number, screen.time),
        other => panic!("{other:?}"),
    };
    assert_eq!(told(&Trial::new()), ("drive".to_owned(), 1, None));
    let mut trial = Trial::after(&TO_CRANK);
    assert_eq!(told(&trial), ("crank".to_owned(), 6, None));
    trial.say("low").say("80").say("44").say("1.016");
    assert_eq!(told(&trial), ("refit".to_owned(), 10, None));
    trial.say("no");
    assert_eq!(told(&trial), ("refit".to_owned(), 11, Some((2, 3))));
}
