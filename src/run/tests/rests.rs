//! Where the starter's rest stands among what is asked before a crank, with a clock that runs.

use chrono::{DateTime, TimeDelta, Utc};

use super::driven::{cranking, drive_by};
use super::*;
use crate::procedure::model::{CaptureKind, SignalWord};
use crate::procedure::read_library;
use crate::procedure::scaffold::{Kind, sheet};
use crate::run::asker::{Asker, NoAnswer, Reply, Told};
use crate::run::drive::Ended;
use crate::run::screen::Screen;
use crate::run::starter::{RestDue, Rested};

/// Somebody who says yes to everything, rests as long as is due, and takes a second for each question.
struct Workshop {
    clock: DateTime<Utc>,
    /// What is said at the questions for a capture.
    cranks: Vec<Reply>,
    /// What was asked, and each rest.
    went: Vec<String>,
    /// What is said when a rest is cut short; where it is none, each is kept.
    cut: Option<&'static str>,
    /// What was said of the rest where it is made sure of, and when it was counted down.
    said: Vec<String>,
}

impl Workshop {
    fn from(clock: &str, cranks: &[Reply]) -> Self {
        Workshop {
            clock: clock.parse().unwrap(),
            cranks: cranks.iter().rev().cloned().collect(),
            went: Vec::new(),
            cut: None,
            said: Vec::new(),
        }
    }

    /// What was asked since the last time that this step was.
    fn since(&self, step: &str) -> Vec<&str> {
        let went = self.went.iter().rev();
        let mut since: Vec<&str> = went
            .map(String::as_str)
            .take_while(|s| *s != step)
            .collect();
        since.reverse();
        since
    }
}

impl Asker for Workshop {
    fn ask(&mut self, screen: &Screen, refused: Option<&Refusal>) -> Result<Reply, NoAnswer> {
        assert_eq!(refused, None);
        self.clock += TimeDelta::seconds(1);
        self.went.push(screen.step.clone());
        if screen.step == "rest" {
            let last = screen.action.as_ref().and_then(|text| text.lines().last());
            self.said.extend(last.map(str::to_owned));
        }
        Ok(match &screen.form {
            Form::Confirm => Reply::Yes,
            Form::Number(_) => Reply::Typed("4".to_owned()),
            Form::Text(_) if screen.step.ends_with("order") => Reply::Typed("1-3-4-2".to_owned()),
            Form::Text(_) => Reply::Typed("Cinder Hatch".to_owned()),
            Form::Capture(CaptureKind::Cranking) => self.cranks.pop().unwrap_or(Reply::Pause),
            Form::Choose(choices) => Reply::Choice(choices[0].name.clone()),
            form => panic!("{form:?}"),
        })
    }
    fn tell(&mut self, _: &Told<'_>) -> Result<(), NoAnswer> {
        Ok(())
    }
    fn rest(&mut self, due: &RestDue) -> Result<Rested, NoAnswer> {
        self.went.push("countdown".to_owned());
        self.said.push(due.told());
        let reason = self.cut.map(str::to_owned);
        let left_s = if reason.is_some() { 80 } else { 0 };
        self.clock += TimeDelta::seconds((due.seconds - left_s).into());
        Ok(reason.map_or(Rested::Whole, |reason| Rested::Cut { left_s, reason }))
    }
    fn now(&mut self) -> String {
        self.clock
            .to_rfc3339_opts(chrono::SecondsFormat::Secs, true)
    }
}

/// Key away, rest, look around, crank: after a crank that gave no capture, and after a break, where the proof is a
/// crank as well. The sheet is the one that a shop begins its own from.
#[test]
fn the_starter_rests_with_the_key_away_and_before_the_look_around() {
    let source = |name: &str| {
        let text = (name == "look").then(|| sheet(Kind::Cranking, name))?;
        Some((name.to_owned(), text))
    };
    let library = read_library("look", &source).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let missed = Reply::Cranked("scope was off".to_owned());
    let mut person = Workshop::from("2026-03-02T08:53:00Z", &[missed.clone(), missed]);
    assert_eq!(
        drive_by(&library, folder.path(), &mut person),
        Ended::Paused
    );
    let last = ["key-out", "countdown", "rest", "clear-again", "crank"];
    let before_pause = person.went.len() - last.len();
    assert_eq!(person.went[before_pause..], last);
    assert_eq!(person.went[before_pause - last.len()..before_pause], last);

    // the proof's two seconds and the next crank are more than a starter may turn at once
    let mut person = Workshop::from("2026-03-02T09:00:05Z", &[]);
    drive_by(&library, folder.path(), &mut person);
    let again = [
        "key-out",
        "eyes",
        "held",
        "remote-start",
        "battery-area",
        "cut-fuel",
        "clear-again",
        "prove",
    ];
    assert_eq!(person.went[..again.len()], again);
    assert_eq!(
        person.since("prove"),
        ["key-out", "countdown", "rest", "clear-again", "crank"]
    );
}

/// Somebody who stops at one step, and says no to the first question of what is put back.
struct Stopping {
    person: Workshop,
    at: &'static str,
    put_back: Vec<(String, Option<SignalWord>)>,
}

impl Asker for Stopping {
    fn ask(&mut self, screen: &Screen, refused: Option<&Refusal>) -> Result<Reply, NoAnswer> {
        if screen.form == Form::PutBack {
            let word = screen.hazards.first().map(|hazard| hazard.word);
            self.put_back.push((screen.step.clone(), word));
            return Ok(match self.put_back.len() {
                1 => Reply::No,
                _ => Reply::Yes,
            });
        }
        if screen.step == self.at {
            assert_eq!(refused, None);
            return Ok(Reply::Stop("a phone call".to_owned()));
        }
        self.person.ask(screen, refused)
    }
    fn tell(&mut self, told: &Told<'_>) -> Result<(), NoAnswer> {
        self.person.tell(told)
    }
    fn now(&mut self) -> String {
        self.person.now()
    }
}

/// After a stop with the key in, nothing is put back before the engine stands and the key is out; where it is out
/// already, that is not asked.
#[test]
fn engine_and_key_come_before_anything_is_put_back() {
    let source = |name: &str| {
        let text = (name == "look").then(|| sheet(Kind::Cranking, name))?;
        Some((name.to_owned(), text))
    };
    let library = read_library("look", &source).unwrap();
    let put_back = |at: &'static str| {
        let folder = tempfile::tempdir().unwrap();
        let mut person = Stopping {
            person: Workshop::from("2026-03-02T08:53:00Z", &[]),
            at,
            put_back: Vec::new(),
        };
        drive_by(&library, folder.path(), &mut person);
        person.put_back
    };
    let first = "put-back/engine off, key out";
    let asked = put_back("key-out");
    assert_eq!(asked[0], (first.to_owned(), Some(SignalWord::Danger)));
    assert_eq!(asked[1], asked[0], "a no asks again");
    assert!(asked.len() > 2 && asked[2..].iter().all(|(step, _)| step != first));
    let asked = put_back("leads-safe");
    assert!(!asked.is_empty() && asked.iter().all(|(step, _)| step != first));
}

/// Where the steps that look around do more than that, a rest right before the crank has them asked again.
#[test]
fn a_rest_right_before_the_crank_ends_the_look_around() {
    let mut library = cranking();
    let look = library.procedures.get_mut("look").unwrap();
    let elsewhere = condition("bystanders clear");
    look.steps[4].establishes.retain(|c| *c != elsewhere);
    look.steps[1].establishes.push(elsewhere);
    let folder = tempfile::tempdir().unwrap();
    let missed = Reply::Cranked("scope was off".to_owned());
    let mut person = Workshop::from("2026-03-02T08:00:00Z", &[missed]);
    drive_by(&library, folder.path(), &mut person);
    let after = person
        .went
        .iter()
        .skip_while(|step| *step != "crank")
        .skip(1);
    let after: Vec<&str> = after.map(String::as_str).collect();
    assert_eq!(
        after,
        ["fuel", "hold", "countdown", "fuel", "hold", "crank"]
    );
}

/// What is confirmed of a rest is true where it was kept, and where it was cut short; and it is said of what the time
/// that the starter has turned is made.
#[test]
fn the_sheet_s_own_rest_says_what_came_of_it() {
    let source = |name: &str| {
        let text = (name == "look").then(|| sheet(Kind::Cranking, name))?;
        Some((name.to_owned(), text))
    };
    let library = read_library("look", &source).unwrap();
    let said = |cut| {
        let folder = tempfile::tempdir().unwrap();
        let missed = Reply::Cranked("scope was off".to_owned());
        let mut person = Workshop::from("2026-03-02T08:53:00Z", &[missed]);
        person.cut = cut;
        drive_by(&library, folder.path(), &mut person);
        person.said
    };
    let kept = said(None);
    assert_eq!(kept.len(), 4, "{kept:#?}");
    let of_proof =
        "The starter has turned 2 s since it last rested: 2 s to prove that the fuel is off (";
    assert!(kept[0].starts_with(of_proof), "{}", kept[0]);
    let over = "By the shop's limit the starter has rested: it last turned ";
    assert!(
        kept[1].starts_with(over) && kept[3].starts_with(over),
        "{kept:#?}"
    );
    let cut = said(Some("the case is cold"));
    let left = "The starter's rest is not over: 80 s of 120 s are left. It was cut short; that and the reason stand in the \
                record.";
    assert_eq!(cut[1], left);
    let of_both =
        "The starter has turned 12 s since it last rested: 2 s to prove that the fuel is off (";
    assert!(
        cut[2].starts_with(of_both) && cut[2].contains(") and 10 s without a capture ("),
        "{}",
        cut[2]
    );
}
