//! Going back: what hung on the changed answer is asked again, and nothing else.

use super::*;
use crate::run::screen::Was;

fn typed(text: &str) -> Input {
    Input::Typed {
        text: text.to_owned(),
        before: None,
    }
}

/// Back so many questions.
fn back(trial: &mut Trial, times: usize) {
    for _ in 0..times {
        trial.put(Input::Back).unwrap();
    }
}

#[test]
fn the_same_answer_again_asks_nothing_else_again() {
    for times in 1..=5 {
        let mut trial = Trial::after(&TO_CRANK);
        let before = trial.next();
        back(&mut trial, times);
        trial.say(TO_CRANK[5 - times]);
        assert_eq!(trial.next(), before, "{times} back");
        assert!(trial.holds("fuel off") && trial.holds("vehicle held"));
    }
}

#[test]
fn a_changed_number_of_cylinders_asks_the_firing_order_again_and_nothing_else() {
    let mut trial = Trial::after(&TO_CRANK);
    back(&mut trial, 3);
    trial.say("6");
    assert_eq!(trial.due(), "order");
    trial.put(typed("1-5-3-6-2-4")).unwrap();
    assert_eq!(trial.due(), "crank", "the relay is still out");
    let carried =
        |event: &&crate::run::event::Stamped| matches!(event.event, Event::Carried { .. });
    assert_eq!(trial.state.events().iter().filter(carried).count(), 1);
    let walk = trial.walk();
    let old = walk.past().iter().filter(|past| past.superseded);
    assert_eq!(old.count(), 3, "the old answers are kept");
}

#[test]
fn a_changed_order_keeps_the_capture_and_judges_it_anew() {
    let mut trial = Trial::after(&TO_CRANK);
    trial.say("even");
    assert_eq!(trial.due(), "refit");
    let captures = |trial: &Trial| {
        let events = trial.state.events().iter();
        let computed = |e: &&crate::run::event::Stamped| matches!(e.event, Event::Computed { .. });
        events.filter(computed).count()
    };
    assert_eq!(captures(&trial), 1);
    // "refit" was shown and revokes "fuel off", so that is made sure of again; the capture counts
    back(&mut trial, 3);
    assert_eq!(trial.due(), "order");
    trial.put(typed("1-2-4-3")).unwrap();
    trial.compute();
    assert_eq!(trial.due(), "fuel");
    trial.say("yes");
    assert_eq!(trial.due(), "refit");
    assert_eq!(captures(&trial), 2);
}

#[test]
fn the_question_that_was_gone_back_to_is_always_asked() {
    let mut trial = Trial::after(&TO_CRANK);
    trial.say("even");
    back(&mut trial, 1);
    assert_eq!(trial.due(), "fuel", "it is needed first");
    trial.say("yes");
    assert_eq!(trial.due(), "crank");
}

#[test]
fn a_no_is_never_carried_over() {
    let mut trial = Trial::after(&TO_CRANK);
    trial.say("even").say("no");
    assert_eq!(trial.due(), "refit");
    back(&mut trial, 2);
    assert_eq!(trial.due(), "fuel");
    trial.say("yes").say("even");
    assert_eq!(trial.due(), "refit");
}

/// The number or text that was typed is shown, and kept by Enter only where nothing else was changed.
#[test]
fn what_was_typed_is_shown_where_the_person_went_back_to() {
    let was = |trial: &Trial| match trial.next() {
        Next::Ask(screen) => (screen.step, screen.was),
        other => panic!("{other:?}"),
    };
    let shown = |step: &str, text: &str, keeps| {
        let text = text.to_owned();
        (step.to_owned(), Some(Was { text, keeps }))
    };
    let mut trial = Trial::after(&TO_CRANK);
    back(&mut trial, 1);
    assert_eq!(was(&trial), ("fuel".to_owned(), None), "a statement");
    back(&mut trial, 1);
    assert_eq!(was(&trial), shown("order", "1-3-4-2", true));
    back(&mut trial, 1);
    trial.say("6");
    assert_eq!(was(&trial), shown("order", "1-3-4-2", false));
    let mut trial = Trial::after(&TO_CRANK);
    trial.say("low").say("80");
    back(&mut trial, 1);
    assert_eq!(was(&trial), shown("test/supply", "80 psi", true));
}

#[test]
fn going_back_by_number_leads_to_that_question() {
    let mut trial = Trial::after(&TO_CRANK);
    trial.put(Input::BackTo(3)).unwrap();
    assert_eq!(trial.due(), "cylinders");
    assert_eq!(
        trial.put(Input::BackTo(3)),
        Err(Refusal::NoSuchStep { number: 3, last: 2 })
    );
    assert!(matches!(
        trial.put(Input::BackTo(0)),
        Err(Refusal::NoSuchStep { .. })
    ));
    trial.say("4");
    assert_eq!(
        trial.due(),
        "crank",
        "what hangs on nothing that changed still counts"
    );
    // of a question that came up twice, only the last time can be gone back to
    let mut twice = Trial::after(&TO_CRANK);
    twice.say("even").say("no").say("no");
    let again = Err(Refusal::AskedAgain {
        number: 7,
        again: 8,
    });
    assert_eq!(twice.put(Input::BackTo(7)), again);
    twice.put(Input::BackTo(8)).unwrap();
    assert_eq!(twice.due(), "refit");
}

/// A walk that is gone on with by what came after it stands where one from the beginning does, also where the person
/// went back in between.
#[test]
fn a_walk_that_is_gone_on_with_is_the_whole_one() {
    let library = library();
    let mut trial = Trial::new();
    let mut further = Walk::through(&library, &trial.state).unwrap();
    let stands = |walk: &Walk<'_>| {
        let past = walk.past().iter();
        let past = past.map(|past| (past.line, past.step.clone(), past.superseded));
        let past: Vec<_> = past.collect();
        (walk.due().unwrap().path, walk.held().clone(), past)
    };
    for word in [
        "yes",
        "yes",
        "4",
        "back",
        "6",
        "1-5-3-6-2-4",
        "yes",
        "back",
        "yes",
        "low",
        "80",
        "back",
        "80",
    ] {
        match word {
            "back" => trial.put(Input::Back).unwrap(),
            word => {
                trial.say(word);
            }
        }
        further = further.further(&trial.state).unwrap();
        assert_eq!(stands(&further), stands(&trial.walk()), "{word}");
    }
}
