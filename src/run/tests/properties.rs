//! Laws that hold whatever is answered.

use proptest::prelude::*;

use super::*;

/// One move: what is said (by index into what fits) or a way aside.
#[derive(Debug, Clone, Copy)]
enum Move {
    Say(u8),
    Back,
    Resume,
    Note,
    Stop,
}

fn moves() -> impl Strategy<Value = Vec<Move>> {
    let one = prop_oneof![
        12 => any::<u8>().prop_map(Move::Say),
        2 => Just(Move::Back),
        1 => Just(Move::Resume),
        1 => Just(Move::Note),
        1 => Just(Move::Stop),
    ];
    prop::collection::vec(one, 0..40)
}

/// Words that answer a screen; the first is the usual one.
fn words(form: &Form, step: &str) -> Vec<&'static str> {
    match form {
        Form::Confirm | Form::PutBack | Form::Trouble => vec!["yes", "yes", "no"],
        Form::Choose(_) => vec!["4"],
        Form::Text(_) => vec!["1-3-4-2"],
        Form::Capture(_) => vec!["low", "even"],
        Form::Number(_) => match step {
            "test/bore" => vec!["1.016", "1.5"],
            "test/supply" => vec!["80"], // always over the reading, or leak-down refuses
            _ => vec!["78", "44", "79"],
        },
    }
}

fn play(trial: &mut Trial, one: Move) {
    let asked = match trial.next() {
        Next::Ask(screen) => screen,
        _ => {
            let _ = trial.put(Input::Proceed);
            return;
        }
    };
    let _ = match one {
        Move::Say(pick) => {
            let words = words(&asked.form, &asked.step);
            let word = words[pick as usize % words.len()];
            if asked.form == Form::PutBack && word == "no" {
                return;
            }
            trial.say(word);
            Ok(())
        }
        Move::Back => trial.put(Input::Back),
        Move::Resume => trial.put(resume()),
        Move::Note => trial.put(Input::Note("heard a knock".to_owned())),
        Move::Stop => trial.put(Input::Stop("no time".to_owned())),
    };
}

fn played(moves: &[Move]) -> Trial {
    let mut trial = Trial::new();
    for one in moves {
        play(&mut trial, *one);
    }
    trial
}

/// What is asked, without what is out of its place: a step that was shown may have been begun, and going back does
/// not undo that.
fn asked(next: Next) -> Next {
    match next {
        Next::Ask(mut screen) => {
            screen.disabled.clear();
            Next::Ask(screen)
        }
        other => other,
    }
}

proptest! {
    /// A kill after any event leaves a job that stands somewhere.
    #[test]
    fn every_prefix_of_a_job_is_a_job(moves in moves()) {
        let trial = played(&moves);
        let events = trial.state.events();
        for end in 1..=events.len() {
            let state = State::fold(&events[..end]);
            prop_assert!(next(&trial.library, &state).is_ok(), "after {end} events");
        }
    }

    /// Work that needs a condition is never asked for while it does not hold.
    #[test]
    fn what_needs_a_condition_is_asked_only_while_it_holds(moves in moves()) {
        let trial = played(&moves);
        let events = trial.state.events();
        for end in 1..=events.len() {
            let state = State::fold(&events[..end]);
            let walk = Walk::through(&trial.library, &state).unwrap();
            if let Ok(Next::Ask(screen)) = next(&trial.library, &state)
                && screen.step == "crank" {
                for name in ["drive checked", "vehicle held", "fuel off"] {
                    prop_assert!(walk.held().contains(&condition(name)), "{name}");
                }
            }
        }
    }

    /// No outcome is reached while something is disabled.
    #[test]
    fn nothing_stays_disabled_at_an_outcome(moves in moves()) {
        let mut trial = played(&moves);
        for _ in 0..60 {
            play(&mut trial, Move::Say(0));
        }
        prop_assert_eq!(trial.due(), "done");
        prop_assert_eq!(trial.walk().disabled().count(), 0);
    }

    /// Back and the same answer again comes to the same question. Not so after a break, where the
    /// conditions that lapsed are asked about first.
    #[test]
    fn back_and_the_same_answer_changes_nothing(picks in prop::collection::vec(any::<u8>(), 1..12)) {
        let mut trial = Trial::new();
        for pick in picks {
            let Next::Ask(screen) = trial.next() else { break };
            if screen.step == "refit" {
                break; // entering it revokes "fuel off", which going back does not undo
            }
            let words = words(&screen.form, &screen.step);
            let word = words[pick as usize % words.len()];
            trial.say(word);
            let before = trial.next();
            if matches!(&before, Next::Ask(screen) if screen.step == "refit" || screen.form == Form::PutBack) {
                break;
            }
            trial.put(Input::Back).unwrap();
            trial.say(word);
            prop_assert_eq!(asked(trial.next()), asked(before));
        }
    }
}
