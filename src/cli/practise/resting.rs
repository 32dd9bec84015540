//! An apprentice at a terminal in an exercise. No starter can burn there: a few seconds stand for all of its rest, and
//! the exercise's clock runs on by what they stand for. Questions say what is otherwise than at a vehicle.

use super::CAPTURE;
use chrono::{DateTime, SecondsFormat, TimeDelta, Utc};

use crate::run::asker::{Asker, NoAnswer, Reply, Told};
use crate::run::keeper::{Columns, Headings};
use crate::run::refusal::Refusal;
use crate::run::screen::{Form, Screen};
use crate::run::starter::{RestDue, Rested};

/// Seconds that stand for a rest; our own choice: long enough to read what is said, and to cut it short.
const STANDS_FOR_S: u32 = 3;

/// Phases in which what is asked stands on the exercise's page of the vehicle.
const LOOKED_UP: [&str; 3] = ["intake", "make safe", "choose the signal"];

/// The step of the shipped procedures at which a signal is chosen.
const SIGNAL: &str = "signal";

/// An apprentice at a terminal.
pub(super) struct Resting<'a> {
    inner: &'a mut dyn Asker,
    /// Seconds by which the exercise's clock is ahead.
    ahead: i64,
    /// The one signal that the exercise's captures hold.
    signal: String,
}

impl<'a> Resting<'a> {
    /// `ahead` is what [`ahead`] says of an exercise that is gone on with.
    pub(super) fn new(inner: &'a mut dyn Asker, ahead: i64, signal: String) -> Self {
        Resting {
            inner,
            ahead,
            signal,
        }
    }

    /// What is said at a question of an exercise and at none of a vehicle.
    fn said(&self, screen: &Screen) -> Option<String> {
        let step = screen.step.rsplit('/').next();
        match &screen.form {
            Form::Choose(_) if step == Some(SIGNAL) => Some(format!(
                "Practice: the captures of this exercise hold one signal, whatever is chosen: {}. Choose what comes \
                 nearest to it.",
                self.signal
            )),
            Form::Number(_) | Form::Text(_) | Form::Choose(_)
                if LOOKED_UP.contains(&screen.phase.as_str()) =>
            {
                Some("Practice: vehicle.txt of this exercise says it.".to_owned())
            }
            Form::Number(_) => Some(
                "Practice: the pages of this exercise say it, vehicle.txt and cylinder-N.txt."
                    .to_owned(),
            ),
            _ => None,
        }
    }

    /// Whoever answers from a file: its rests take no time as it is.
    pub(super) fn inner(&mut self) -> &mut dyn Asker {
        self.inner
    }
}

/// Seconds by which the exercise's clock is ahead where its last line bears that time.
pub(super) fn ahead(last: Option<&str>, now: DateTime<Utc>) -> i64 {
    let last = last.and_then(|last| DateTime::parse_from_rfc3339(last).ok());
    last.map_or(0, |last| (last.to_utc() - now).num_seconds() + 1)
        .max(0)
}

impl Asker for Resting<'_> {
    fn ask(&mut self, screen: &Screen, refused: Option<&Refusal>) -> Result<Reply, NoAnswer> {
        let mut screen = screen.clone();
        if let Form::Capture(_) = screen.form {
            screen.hint = Some(format!(
                "practice: type {CAPTURE}; the simulator makes the file"
            ));
        }
        let lines = screen.action.iter().cloned().chain(self.said(&screen));
        let lines: Vec<String> = lines.collect();
        screen.action = (!lines.is_empty()).then(|| lines.join("\n"));
        self.inner.ask(&screen, refused)
    }

    fn tell(&mut self, told: &Told<'_>) -> Result<(), NoAnswer> {
        self.inner.tell(told)
    }

    fn columns(&mut self, headings: &Headings) -> Result<Option<Columns>, NoAnswer> {
        self.inner.columns(headings)
    }

    fn vehicle(&mut self) -> Result<Option<String>, NoAnswer> {
        self.inner.vehicle()
    }

    fn rest(&mut self, due: &RestDue) -> Result<Rested, NoAnswer> {
        let short = due.seconds.min(STANDS_FOR_S);
        let counted = RestDue {
            lasts: short,
            ..due.clone()
        };
        Ok(match self.inner.rest(&counted)? {
            Rested::Whole => {
                self.ahead += i64::from(due.seconds);
                Rested::Whole
            }
            Rested::Back => Rested::Back,
            Rested::Cut { left_s, reason } => {
                let left_s = due.seconds * left_s.min(short) / short.max(1);
                self.ahead += i64::from(due.seconds - left_s);
                Rested::Cut { left_s, reason }
            }
        })
    }

    fn now(&mut self) -> String {
        let now = self.inner.now();
        DateTime::parse_from_rfc3339(&now).map_or(now, |time| {
            (time + TimeDelta::seconds(self.ahead))
                .to_utc()
                .to_rfc3339_opts(SecondsFormat::Secs, true)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::starter_duty::StarterDuty;

    /// Counts what it is given to count, and cuts it short where it is told to; hears what is said at a question.
    struct Counting {
        cut: bool,
        told: String,
        counted: u32,
    }

    impl Asker for Counting {
        fn ask(&mut self, screen: &Screen, _: Option<&Refusal>) -> Result<Reply, NoAnswer> {
            self.told = screen.action.clone().unwrap_or_default();
            Err(NoAnswer::Cancelled)
        }

        fn tell(&mut self, told: &Told<'_>) -> Result<(), NoAnswer> {
            panic!("nothing is told beside the rest: {told:?}")
        }

        fn rest(&mut self, due: &RestDue) -> Result<Rested, NoAnswer> {
            self.counted = due.lasts;
            self.told = due.told();
            let reason = "no patience".to_owned();
            Ok(match self.cut {
                true => Rested::Cut { left_s: 2, reason },
                false => Rested::Whole,
            })
        }

        fn now(&mut self) -> String {
            "2026-03-02T08:00:00Z".to_owned()
        }
    }

    fn rested(cut: bool) -> (Rested, String, Counting) {
        let mut inner = Counting {
            cut,
            told: String::new(),
            counted: 0,
        };
        let mut resting = Resting::new(&mut inner, 0, String::new());
        let due = RestDue {
            seconds: 120,
            lasts: 120,
            turned: 10,
            made_of: Vec::new(),
            next: 10,
            cranks: 1,
            limit: StarterDuty::default(),
        };
        let rested = resting.rest(&due).unwrap();
        let now = resting.now();
        (rested, now, inner)
    }

    #[test]
    fn a_rest_is_short_and_the_clock_runs_on_by_all_of_it() {
        let (rested, now, inner) = rested(false);
        assert_eq!((rested, inner.counted), (Rested::Whole, 3));
        assert_eq!(now, "2026-03-02T08:02:00Z");
        assert!(
            inner
                .told
                .contains("so it rests 120 s first. In this exercise 3 s stand for them"),
            "{}",
            inner.told
        );
    }

    /// What the rests of an exercise have brought is not lost when it is gone on with.
    #[test]
    fn the_clock_goes_on_from_where_it_stood() {
        let now = "2026-03-02T08:00:00Z".parse().unwrap();
        assert_eq!(ahead(Some("2026-03-02T08:03:59Z"), now), 240);
        assert_eq!(ahead(Some("2026-03-02T07:03:59Z"), now), 0);
        assert_eq!(ahead(None, now), 0);
    }

    #[test]
    fn one_that_is_cut_short_is_cut_by_as_much_of_the_real_one() {
        let (rested, now, _) = rested(true);
        assert!(
            matches!(rested, Rested::Cut { left_s: 80, .. }),
            "{rested:?}"
        );
        assert_eq!(now, "2026-03-02T08:00:40Z", "what was rested counts");
    }

    /// Where the page of the vehicle has the answer, and that a signal that is chosen changes no capture.
    #[test]
    fn questions_say_where_an_exercise_has_their_answers() {
        let said = |form: Form, phase: &str, step: &str| {
            let mut inner = Counting {
                cut: false,
                told: String::new(),
                counted: 0,
            };
            let signal = "battery voltage at the posts, recorded DC-coupled".to_owned();
            let mut screen = crate::ask::tests::screen(form);
            (screen.phase, screen.step) = (phase.to_owned(), step.to_owned());
            let _ = Resting::new(&mut inner, 0, signal).ask(&screen, None);
            inner.told
        };
        let choice = || Form::Choose(Vec::new());
        let page = "vehicle.txt of this exercise says it";
        assert!(said(choice(), "intake", "intake/fuel").contains(page));
        assert!(said(choice(), "make safe", "fuel-way").contains(page));
        let signal = said(choice(), "choose the signal", "signal");
        assert!(
            signal.contains(
                "one signal, whatever is chosen: battery voltage at the posts, recorded DC"
            ),
            "{signal}"
        );
        assert!(!said(Form::Confirm, "intake", "drive").contains("Practice"));
        assert!(!said(choice(), "follow up", "offer-one").contains("Practice"));
    }
}
