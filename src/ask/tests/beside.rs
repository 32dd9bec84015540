//! What is asked for beside a question, and the way back to it.

use super::*;
use crate::procedure::model::OutcomeKind;
use crate::run::screen::{Ends, Said};

/// A question after so many others, at a terminal of that many rows.
fn seen(answered: usize, keys: &str, rows: Option<usize>) -> (Result<Reply, NoAnswer>, String) {
    seen_at(Form::Confirm, answered, keys, &[], rows)
}

/// The same at a question of that form, with what is typed as lines.
fn seen_at(
    form: Form,
    answered: usize,
    keys: &str,
    lines: &[&'static str],
    rows: Option<usize>,
) -> (Result<Reply, NoAnswer>, String) {
    let mut screen = screen(form);
    let said = |number: usize| Said {
        asked: format!("Question {number}"),
        answered: "yes".to_owned(),
    };
    screen.so_far = (1..=answered).map(said).collect();
    let mut person = Person::new(keys, lines);
    person.rows = rows;
    let seen = person.seen.clone();
    let clock = Box::new(|| "2026-03-02T08:00:00Z".to_owned());
    let mut terminal = Terminal::new(person, false, clock, Box::new(|_| None));
    let reply = terminal.ask(&screen, None);
    let seen = seen.borrow().clone();
    (reply, seen)
}

/// How often the question itself was shown.
fn times(seen: &str) -> usize {
    seen.matches("The vehicle cannot move.").count()
}

#[test]
fn a_record_that_pushes_its_question_off_the_screen_is_followed_by_it() {
    let (reply, long) = seen(12, "r y", Some(24));
    assert_eq!(reply, Ok(Reply::Yes));
    let record = long.find("12. Question 12").unwrap();
    let again = long.rfind("The vehicle cannot move.").unwrap();
    assert!(record < again && times(&long) == 2, "{long}");
    assert!(
        long[record..again].contains("Any key: back to the question"),
        "{long}"
    );
    assert!(long[again..].contains("y yes"), "{long}");
    // as long as it stands above what is said, it is not said twice
    let (reply, short) = seen(2, "ry", Some(24));
    assert_eq!((reply, times(&short)), (Ok(Reply::Yes), 1));
    let (reply, read_out) = seen(12, "ry", None);
    assert_eq!((reply, times(&read_out)), (Ok(Reply::Yes), 1));
}

#[test]
fn a_record_of_many_pages_is_left_by_q_and_the_question_comes() {
    let (reply, seen) = seen(99, "rqn", Some(24));
    assert_eq!(reply, Ok(Reply::No));
    assert!(!seen.contains("Question 60") && times(&seen) == 2, "{seen}");
}

#[test]
fn a_command_typed_while_the_record_stands_there_is_one_at_the_question() {
    let by_key =
        |keys: &str, answered| seen_at(Form::Confirm, answered, keys, &["b 5"], Some(24)).0;
    assert_eq!(by_key("r:", 12), Ok(Reply::BackTo(5)));
    assert_eq!(by_key("r:", 99), Ok(Reply::BackTo(5)), "from any page");
    assert_eq!(
        by_key("r:", 2),
        Ok(Reply::BackTo(5)),
        "where none is waited for"
    );
    for (form, rest) in [
        (Form::Text(TextForm::Text), "b 5"),
        (Form::Capture(CaptureKind::AtRest), "b5"),
    ] {
        let (reply, seen) = seen_at(form, 12, ":", &[":r", rest], Some(24));
        assert_eq!(reply, Ok(Reply::BackTo(5)), "{seen}");
        let question = seen.rfind("The vehicle cannot move.").unwrap();
        assert!(seen[question..].ends_with("[begun :]"), "{seen}");
    }
    // any other key only goes back: it may have been pressed for that
    let (reply, _) = seen(12, "rn", Some(24));
    assert_eq!(reply, Err(NoAnswer::Interrupted));
}

#[test]
fn b_with_a_number_goes_back_to_that_step() {
    let number = screen(Form::Capture(CaptureKind::AtRest));
    for line in ["b 6", "B 6", ":b 6", ": b6", ":b6"] {
        let (reply, seen) = asked(&number, "", &[line], None);
        assert_eq!(reply, Ok(Reply::BackTo(6)), "{line}: {seen}");
    }
    let order = screen(Form::Text(TextForm::FiringOrder));
    assert_eq!(asked(&order, "", &["b 6"], None).0, Ok(Reply::BackTo(6)));
    // where any text may be the answer, the colon tells the two apart
    let text = screen(Form::Text(TextForm::Text));
    let typed = Ok(Reply::Typed("b 6".to_owned()));
    assert_eq!(asked(&text, "", &["b 6"], None).0, typed);
    assert_eq!(asked(&text, "", &[":b 6"], None).0, Ok(Reply::BackTo(6)));
    let (reply, seen) = asked(&text, "", &[":b six", ":b"], None);
    assert_eq!(reply, Ok(Reply::Back));
    assert!(seen.contains("with the number of a step"), "{seen}");
    let confirm = screen(Form::Confirm);
    assert_eq!(asked(&confirm, ":", &["b 6"], None).0, Ok(Reply::BackTo(6)));
    assert_eq!(
        asked(&confirm, "::y", &["", ":b6"], None).0,
        Ok(Reply::BackTo(6))
    );
}

#[test]
fn a_stop_is_neither_offered_nor_asked_for_where_all_goes_back() {
    let (reply, seen) = asked(&screen(Form::PutBack), "sp", &["no time"], None);
    assert_eq!(reply, Ok(Reply::Pause));
    assert!(
        !seen.contains("s stop") && seen.contains("n not yet"),
        "{seen}"
    );
    assert!(seen.contains("Nothing is left to stop"), "{seen}");
    let (_, seen) = asked(&screen(Form::Confirm), "p", &[], None);
    assert!(seen.contains("s stop"), "{seen}");
    // the same where the procedure itself has all put back
    let mut closing = screen(Form::Confirm);
    closing.closing = true;
    let (reply, seen) = asked(&closing, "sp", &["no time"], None);
    assert_eq!(reply, Ok(Reply::Pause));
    assert!(
        !seen.contains("s stop") && seen.contains("Nothing is left to stop"),
        "{seen}"
    );
}

#[test]
fn a_bare_key_goes_to_no_line() {
    let text = screen(Form::Text(TextForm::Text));
    for key in ["b", "p", "s", "S", "r", "t", "f"] {
        let (reply, seen) = asked(&text, "", &[key, ":b"], None);
        assert_eq!(reply, Ok(Reply::Back), "{key}");
        let colon = format!("type :{}.", key.to_lowercase());
        assert!(seen.contains(&colon), "{key}: {seen}");
    }
    let (reply, _) = asked(&text, "", &["sp"], None);
    assert_eq!(reply, Ok(Reply::Typed("sp".to_owned())));
}

/// A no that would seal the job with nothing done is asked about once more; elsewhere a no is a no.
#[test]
fn a_no_that_turns_the_job_away_is_made_sure_of() {
    let ending = |kind| {
        let mut confirm = screen(Form::Confirm);
        confirm.ends = Some(Ends {
            answers: vec![("no".to_owned(), kind)],
            back: true,
            off: Vec::new(),
        });
        confirm
    };
    let away = ending(OutcomeKind::NotDone);
    let (reply, seen) = asked(&away, "nny", &[], None);
    assert_eq!(reply, Ok(Reply::Yes), "the second n says no to sealing");
    assert!(seen.contains("No seals this job as not done"), "{seen}");
    assert_eq!(asked(&away, "ny", &[], None).0, Ok(Reply::No));
    let found = ending(OutcomeKind::NothingFound);
    assert_eq!(asked(&found, "n", &[], None).0, Ok(Reply::No));
    assert_eq!(
        asked(&screen(Form::Confirm), "n", &[], None).0,
        Ok(Reply::No)
    );
}

/// Behind a colon a whole line may come at once, as where it is pasted: nothing in it answers the question.
#[test]
fn a_pasted_way_back_is_taken() {
    let mut person = Person::new(":b 27\n", &["b 27"]);
    person.at_once = true;
    let clock = Box::new(|| "2026-03-02T08:00:00Z".to_owned());
    let mut terminal = Terminal::new(person, false, clock, Box::new(|_| None));
    assert_eq!(
        terminal.ask(&screen(Form::Confirm), None),
        Ok(Reply::BackTo(27))
    );
}
