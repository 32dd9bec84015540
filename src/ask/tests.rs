//! A person played by a list of keys and lines.

mod beside;

use std::collections::VecDeque;
use std::io;
use std::time::Duration;

use dialoguer::console::Key;

use crate::ask::keys::Keys;
use crate::ask::terminal::Terminal;
use crate::procedure::model::{CaptureKind, Choice, Hazard, SignalWord, TextForm};
use crate::run::asker::{Asker, NoAnswer, Reply};
use crate::run::refusal::Refusal;
use crate::run::screen::{Form, Screen, Was};

/// A screen as on a work sheet.
pub(crate) fn screen(form: Form) -> Screen {
    let closing = form == Form::PutBack;
    Screen {
        job: "0042".to_owned(),
        practice: false,
        step: "hold-vehicle".to_owned(),
        phase: "make safe".to_owned(),
        number: 3,
        time: None,
        again_for: None,
        hazards: Vec::new(),
        action: Some("Parking brake on, wheels chocked.".to_owned()),
        asked: "The vehicle cannot move.".to_owned(),
        form,
        why: Some("Somebody may stand before it.".to_owned()),
        good: None,
        mistakes: None,
        was: None,
        so_far: Vec::new(),
        disabled: Vec::new(),
        waiver: Err("nobody may".to_owned()),
        hint: None,
        again: false,
        ends: None,
        same_crank: false,
        closing,
    }
}

#[derive(Default)]
pub(crate) struct Person {
    keys: VecDeque<char>,
    lines: VecDeque<&'static str>,
    /// Columns of the terminal; 80 where 0.
    pub(crate) columns: usize,
    /// Whether the keys come all at once, as of a line that is pasted.
    pub(crate) at_once: bool,
    /// Rows of the terminal.
    pub(crate) rows: Option<usize>,
    /// Milliseconds between two looks at the clock; enough to have read everything where 0.
    pub(crate) pace: u64,
    /// What the next line begins with.
    begun: String,
    looked: std::cell::Cell<u64>,
    pub(crate) seen: std::rc::Rc<std::cell::RefCell<String>>,
}

impl Person {
    pub(crate) fn new(keys: &str, lines: &[&'static str]) -> Self {
        Person {
            keys: keys.chars().collect(),
            lines: lines.iter().copied().collect(),
            ..Person::default()
        }
    }
}

impl Keys for Person {
    fn key(&mut self) -> io::Result<Key> {
        match self.keys.pop_front() {
            Some('\n') => Ok(Key::Enter),
            Some(letter) => Ok(Key::Char(letter)),
            None => Err(io::Error::from(io::ErrorKind::Interrupted)),
        }
    }
    fn line(&mut self, _: &str) -> io::Result<String> {
        let begun = std::mem::take(&mut self.begun);
        let line = self.lines.pop_front().map(|line| begun + line);
        line.ok_or_else(|| io::Error::from(io::ErrorKind::UnexpectedEof))
    }
    fn second(&mut self, heeds: fn(&str) -> bool) -> io::Result<Option<String>> {
        let typed = self.keys.pop_front().map(String::from);
        Ok(typed.filter(|typed| heeds(typed)))
    }
    fn more(&mut self, _: Duration) -> io::Result<bool> {
        let more = self.at_once && !self.keys.is_empty();
        if more {
            self.keys.clear();
        }
        Ok(more)
    }
    fn begun(&mut self, text: String) {
        self.seen.borrow_mut().push_str(&format!("[begun {text}]"));
        self.begun = text;
    }
    fn discard(&mut self) {
        self.seen.borrow_mut().push_str("[discarded]");
    }
    fn show(&mut self, text: &str) -> io::Result<()> {
        self.seen.borrow_mut().push_str(text);
        Ok(())
    }
    fn elapsed(&self) -> Duration {
        let pace = if self.pace == 0 { 5000 } else { self.pace };
        self.looked.set(self.looked.get() + pace);
        Duration::from_millis(self.looked.get())
    }
    fn columns(&self) -> usize {
        if self.columns == 0 { 80 } else { self.columns }
    }
    fn rows(&self) -> Option<usize> {
        self.rows
    }
}

/// Reply and everything seen.
fn asked(
    screen: &Screen,
    keys: &str,
    lines: &[&'static str],
    refused: Option<&Refusal>,
) -> (Result<Reply, NoAnswer>, String) {
    let person = Person::new(keys, lines);
    let seen = person.seen.clone();
    let clock = Box::new(|| "2026-03-02T08:00:00Z".to_owned());
    let mut terminal = Terminal::new(person, false, clock, Box::new(|_| None));
    let reply = terminal.ask(screen, refused);
    let seen = seen.borrow().clone();
    (reply, seen)
}

fn hazardous(form: Form) -> Screen {
    let mut screen = screen(form);
    screen.hazards = vec![Hazard {
        word: SignalWord::Danger,
        text: "Belts turn.".to_owned(),
    }];
    screen
}

#[test]
fn enter_alone_confirms_nothing() {
    for screen in [screen(Form::Confirm), hazardous(Form::Confirm)] {
        let (reply, seen) = asked(&screen, "\n\n\n", &[], None);
        assert_eq!(reply, Err(NoAnswer::Interrupted));
        assert!(seen.contains("Enter alone"));
        assert_eq!(asked(&screen, "\nxy", &[], None).0, Ok(Reply::Yes));
        assert_eq!(asked(&screen, "N", &[], None).0, Ok(Reply::No));
    }
    let optional = hazardous(Form::Text(TextForm::Optional));
    let (reply, _) = asked(&optional, "", &["", "-"], None);
    assert_eq!(reply, Ok(Reply::Typed("-".to_owned())));
}

#[test]
fn what_was_typed_ahead_is_thrown_away_before_a_hazard_shows() {
    let (_, seen) = asked(&hazardous(Form::Confirm), "y", &[], None);
    assert!(seen.find("[discarded]").unwrap() < seen.find("DANGER").unwrap());
    assert!(seen.find("DANGER").unwrap() < seen.find("Parking brake").unwrap());
    let (_, seen) = asked(&screen(Form::Confirm), "y", &[], None);
    assert!(seen.contains("[discarded]"), "a key more would answer it");
    // from one line to the next somebody may type ahead; from a key to a line nothing is meant for it
    let person = Person::new("y", &["x", "x", "x"]);
    let seen = person.seen.clone();
    let clock = Box::new(|| "2026-03-02T08:00:00Z".to_owned());
    let mut terminal = Terminal::new(person, false, clock, Box::new(|_| None));
    let mut discarded = |form: Form| {
        seen.borrow_mut().clear();
        terminal.ask(&screen(form), None).unwrap();
        seen.borrow().contains("[discarded]")
    };
    let text = || Form::Text(TextForm::Text);
    assert!(discarded(text()) && !discarded(text()));
    assert!(discarded(Form::Confirm) && discarded(text()));
}

#[test]
fn the_keys_beside_the_answer_work_at_every_question() {
    let choices = vec![Choice {
        name: "posts".to_owned(),
        label: "At the posts".to_owned(),
    }];
    for form in [Form::Confirm, Form::Choose(choices)] {
        let screen = screen(form);
        assert_eq!(asked(&screen, "b", &[], None).0, Ok(Reply::Back));
        assert_eq!(asked(&screen, "p", &[], None).0, Ok(Reply::Pause));
        let note = Reply::Note("a knock".to_owned());
        assert_eq!(asked(&screen, "t", &[" a knock "], None).0, Ok(note));
        let (reply, seen) = asked(&screen, "?st", &["", "x"], None);
        assert_eq!(
            reply,
            Ok(Reply::Note("x".to_owned())),
            "an empty reason stops nothing"
        );
        assert!(seen.contains("Why: Somebody may stand before it."));
    }
    let typed = screen(Form::Text(TextForm::Text));
    let (reply, seen) = asked(&typed, "n:y", &[":?", ":s", "no", ":s", "no time"], None);
    assert_eq!(reply, Err(NoAnswer::Cancelled));
    assert!(seen.contains("Stop this job for good?"), "{seen}");
    assert!(seen.contains("Not stopped."), "{seen}");
    let (reply, seen) = asked(&typed, "y", &[":?", ":s", "no time"], None);
    assert_eq!(reply, Ok(Reply::Stop("no time".to_owned())));
    assert!(seen.contains(":b back"));
    let (_, seen) = asked(&typed, "", &["?", "x"], None);
    assert!(seen.contains("Why: "), "{seen}");
}

#[test]
fn a_crank_without_a_capture_is_told_with_its_reason() {
    let crank = screen(Form::Capture(CaptureKind::Cranking));
    let (reply, seen) = asked(&crank, "", &[":c", "", ":c", ":b", ":c", "scope off"], None);
    assert_eq!(reply, Ok(Reply::Cranked("scope off".to_owned())));
    assert!(seen.contains(":c cranked, no capture") && seen.contains("Not counted"));
    let rest = screen(Form::Capture(CaptureKind::AtRest));
    let (_, seen) = asked(&rest, "", &[":c", "x.csv"], None);
    assert!(
        !seen.contains(":c") && seen.contains("answers nothing here"),
        "{seen}"
    );
}

#[test]
fn the_rest_of_a_typed_yes_stops_nothing() {
    let confirm = screen(Form::Confirm);
    let answers = |pace| {
        let mut person = Person::new("yesyn", &["why not"]);
        person.pace = pace;
        let clock = Box::new(|| "2026-03-02T08:00:00Z".to_owned());
        let mut terminal = Terminal::new(person, false, clock, Box::new(|_| None));
        [(); 2].map(|()| terminal.ask(&confirm, None).unwrap())
    };
    assert_eq!(answers(50), [Reply::Yes, Reply::Yes]);
    // whoever presses s a while later means it
    assert_eq!(
        answers(5000),
        [Reply::Yes, Reply::Stop("why not".to_owned())]
    );
}

/// A line that was meant for another place answers nothing, pauses nothing and stops nothing.
#[test]
fn keys_that_come_at_once_answer_nothing() {
    for line in ["scope/first.csv\n", "pause\n", "yes\n"] {
        let mut person = Person::new(line, &[]);
        person.at_once = true;
        let seen = person.seen.clone();
        let clock = Box::new(|| "2026-03-02T08:00:00Z".to_owned());
        let mut terminal = Terminal::new(person, false, clock, Box::new(|_| None));
        let reply = terminal.ask(&screen(Form::Confirm), None);
        assert_eq!(reply, Err(NoAnswer::Interrupted), "{line}");
        assert!(seen.borrow().contains("came at once"), "{}", seen.borrow());
    }
}

#[test]
fn choices_go_by_digit_and_many_by_number() {
    let choices: Vec<Choice> = (1..=12)
        .map(|number| Choice {
            name: format!("c{number}"),
            label: format!("Choice {number}"),
        })
        .collect();
    let few = screen(Form::Choose(choices[..3].to_vec()));
    assert_eq!(
        asked(&few, "402", &[], None).0,
        Ok(Reply::Choice("c2".to_owned()))
    );
    let many = screen(Form::Choose(choices));
    let (reply, _) = asked(&many, "", &["0", "13", "12"], None);
    assert_eq!(reply, Ok(Reply::Choice("c12".to_owned())));
}

#[test]
fn a_refused_reply_says_why_and_the_path_of_a_capture_is_a_file() {
    let capture = screen(Form::Capture(CaptureKind::Cranking));
    let refused = Refusal::Capture("x.csv: no such file".to_owned());
    let (reply, seen) = asked(&capture, "", &["", "run 1.csv"], Some(&refused));
    assert_eq!(reply, Ok(Reply::File("run 1.csv".to_owned())));
    assert!(seen.contains("no such file.") && !seen.contains("Parking brake"));
    let empty = screen(Form::Text(TextForm::Text));
    let (_, seen) = asked(&empty, "", &["a"], Some(&Refusal::Empty));
    assert!(
        seen.contains("  An answer is needed here; write at least a word.\n"),
        "{seen}"
    );
}

#[test]
fn a_closed_terminal_is_no_answer() {
    let typed = screen(Form::Text(TextForm::Text));
    assert_eq!(asked(&typed, "", &[], None).0, Err(NoAnswer::Cancelled));
}

#[test]
fn enter_keeps_what_was_typed_but_never_past_a_hazard() {
    let was = |keeps| {
        Some(Was {
            text: "12.40 V".to_owned(),
            keeps,
        })
    };
    let mut one = screen(Form::Text(TextForm::Text));
    one.was = was(true);
    let (reply, seen) = asked(&one, "", &[""], None);
    assert_eq!(reply, Ok(Reply::Typed("12.40 V".to_owned())));
    assert!(
        seen.contains("was 12.40 V; Enter alone keeps it\n"),
        "{seen}"
    );
    assert_eq!(
        asked(&one, "", &["11"], None).0,
        Ok(Reply::Typed("11".to_owned()))
    );
    let unexpected = Refusal::Unexpected {
        value: 3.into(),
        shown: "3 V".to_owned(),
        least: 11.into(),
        greatest: 13.into(),
    };
    assert_eq!(
        asked(&one, "", &[""], Some(&unexpected)).0,
        Ok(Reply::Typed(String::new())),
        "Enter is no answer where the same must be typed once more"
    );
    let (reply, seen) = asked(&one, "", &[""], Some(&Refusal::Empty));
    assert_eq!(reply, Ok(Reply::Typed("12.40 V".to_owned())));
    assert!(
        seen.contains("was 12.40 V; Enter alone keeps it\n"),
        "{seen}"
    );
    one.was = was(false);
    let (reply, seen) = asked(&one, "", &[""], None);
    assert_eq!(reply, Ok(Reply::Typed(String::new())));
    assert!(
        seen.contains("was 12.40 V; type what is so now\n"),
        "{seen}"
    );
}

#[test]
fn what_comes_too_soon_after_a_hazard_confirms_nothing() {
    let seen = |screen: &Screen, plain: bool, pace| {
        let mut person = Person::new("yyyyyyyyyyyyyyyyyyyyn", &["1", "1", "2"]);
        person.pace = pace;
        let seen = person.seen.clone();
        let clock = Box::new(|| "2026-03-02T08:00:00Z".to_owned());
        let mut terminal = Terminal::new(person, false, clock, Box::new(|_| None));
        if plain {
            terminal = terminal.plain();
        }
        let reply = terminal.ask(screen, None);
        let told = seen.borrow().matches("sooner than the text").count();
        (reply, told)
    };
    let hazard = hazardous(Form::Confirm);
    // a key that is held down, some thirty times a second: never, however long, and told once
    let (reply, told) = seen(&hazard, false, 35);
    assert_eq!((reply, told), (Err(NoAnswer::Interrupted), 21));
    // one too soon, then one after a while
    let (reply, told) = seen(&hazard, false, 700);
    assert_eq!((reply, told), (Ok(Reply::Yes), 1));
    assert_eq!(seen(&hazard, false, 1300), (Ok(Reply::Yes), 0));
    assert_eq!(seen(&hazard, true, 700), (Ok(Reply::Yes), 1));
    assert_eq!(seen(&screen(Form::Confirm), false, 35).0, Ok(Reply::Yes));
}

/// The remark that has an answer given once more has to be read as well.
#[test]
fn a_yes_that_is_asked_for_once_more_is_taken_once_that_can_be_read() {
    let mut person = Person::new("yyyyy", &[]);
    person.pace = 700;
    let seen = person.seen.clone();
    let clock = Box::new(|| "2026-03-02T08:00:00Z".to_owned());
    let mut terminal = Terminal::new(person, false, clock, Box::new(|_| None));
    let hazard = hazardous(Form::Confirm);
    let told = || seen.borrow().matches("sooner than the text").count();
    assert_eq!((terminal.ask(&hazard, None), told()), (Ok(Reply::Yes), 1));
    let described = Refusal::Described {
        vehicle: "hybrid".to_owned(),
    };
    let again = terminal.ask(&hazard, Some(&described));
    assert_eq!((again, told()), (Ok(Reply::Yes), 2));
}
