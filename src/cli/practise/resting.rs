//! An apprentice at a terminal in an exercise. No starter can burn there: a few seconds stand for all of its rest, and
//! the exercise's clock runs on by what they stand for. Questions say what is otherwise than at a vehicle.

use super::CAPTURE;
use chrono::{DateTime, SecondsFormat, TimeDelta, Utc};

use crate::procedure::model::NumberForm;
use crate::run::asker::{Asker, NoAnswer, Reply, Told};
use crate::run::keeper::{Columns, Headings};
use crate::run::refusal::Refusal;
use crate::run::screen::{Form, Screen};
use crate::run::starter::{RestDue, Rested};

/// Seconds that stand for a rest; our own choice: long enough to read what is said, and to cut it short.
const STANDS_FOR_S: u32 = 3;

/// Phases in which what is asked stands on the exercise's page of the vehicle.
const LOOKED_UP: [&str; 3] = ["intake", "make safe", "choose the signal"];

/// What is measured in the shipped procedures and stands on the exercise's pages: step and unit.
const ON_PAGES: [(&str, &str); 27] = [
    ("odometer", "km"),
    ("cylinders", "count"),
    ("expected-speed", "rpm"),
    ("converter-bits", "count"),
    ("clamp-rating", "A"),
    ("clamp-output", "mV"),
    ("bore", "mm"),
    ("supply", "psi"),
    ("reading", "psi"),
    ("cranking-reading", "psi"),
    ("idle-reading", "psi"),
    ("snap-reading", "psi"),
    ("wet-reading", "psi"),
    ("makers-least", "psi"),
    ("makers-difference", "psi"),
    ("vacuum", "inHg"),
    ("ratio", "count"),
    ("altitude", "m"),
    ("rest-voltage", "V"),
    ("temperature", "°C"),
    ("loaded-voltage", "V"),
    ("loaded-current", "A"),
    ("positive-drop", "V"),
    ("ground-drop", "V"),
    ("joint-drop", "V"),
    ("cable-drop", "V"),
    ("cable-length", "m"),
];

/// What is said where the page of the vehicle has the answer.
const VEHICLE_PAGE: &str = "Practice: vehicle.txt of this exercise says it.";

/// Steps of the shipped procedures at which a cylinder to test is chosen by its number.
const ANY_CYLINDER: [&str; 2] = ["which-leaks", "which-runs"];

/// The steps of the shipped procedures that ask why an engine fired or ran: a simulated one has no cause.
const MADE_UP: [&str; 2] = ["why-it-fired", "why-it-ran"];

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
            Form::Text(_) if step.is_some_and(|step| MADE_UP.contains(&step)) => Some(
                "Practice: no page says it. Make up a likely cause; what counts is what is done otherwise then.".to_owned(),
            ),
            Form::Number(number) => Some(said_of(step.unwrap_or_default(), number, &screen.phase)),
            Form::Text(_) | Form::Choose(_) if LOOKED_UP.contains(&screen.phase.as_str()) => {
                Some(VEHICLE_PAGE.to_owned())
            }
            _ => None,
        }
    }

    /// Whoever answers from a file: its rests take no time as it is.
    pub(super) fn inner(&mut self) -> &mut dyn Asker {
        self.inner
    }
}

/// What is said at a number: where it is looked up, and whom to ask where no page has it.
fn said_of(step: &str, number: &NumberForm, phase: &str) -> String {
    let told = if ANY_CYLINDER.contains(&step) {
        "Practice: any cylinder will do. Each has its page."
    } else if !ON_PAGES.contains(&(step, number.unit.symbol())) {
        "Practice: look whether vehicle.txt or cylinder-N.txt has it. If not, this exercise does not know it: type what your \
         trainer says."
    } else if LOOKED_UP.contains(&phase) {
        VEHICLE_PAGE
    } else {
        "Practice: the pages of this exercise say it, vehicle.txt and cylinder-N.txt."
    };
    told.to_owned()
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
    use crate::cli::shipped;
    use crate::engine::starter_duty::StarterDuty;
    use crate::procedure::model::{Interval, Question};
    use crate::procedure::read_library;
    use crate::quantity::Unit;

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
        let why = Form::Text(crate::procedure::model::TextForm::Text);
        assert!(said(why, "make safe", "why-it-fired").contains("Make up a likely cause"));
        assert!(!said(Form::Confirm, "intake", "drive").contains("Practice"));
        assert!(!said(choice(), "follow up", "offer-one").contains("Practice"));
    }

    /// What a number is looked up in, by its step: of a shop's own procedure no page need have it.
    #[test]
    fn a_number_that_no_page_has_is_the_trainers() {
        let said = |step: &str, unit: Unit, phase: &str| {
            let number = NumberForm {
                unit,
                meant: unit,
                resolution: "1".parse().unwrap(),
                possible: Interval {
                    least: "0".parse().unwrap(),
                    greatest: "90".parse().unwrap(),
                },
                expected: None,
            };
            said_of(step, &number, phase)
        };
        let trainer = "does not know it: type what your trainer says";
        assert!(said("oil-pressure", Unit::Psi, "measure").contains(trainer));
        assert!(said("oil-pressure", Unit::Psi, "intake").contains(trainer));
        assert!(said("reading", Unit::Bar, "measure").contains(trainer));
        assert!(
            said("reading", Unit::Psi, "measure").contains("the pages of this exercise say it")
        );
        assert!(
            said("odometer", Unit::Kilometre, "intake").contains("vehicle.txt of this exercise")
        );
        assert!(said("which-runs", Unit::Count, "choose the test").contains("any cylinder"));
    }

    /// Every number that a shipped procedure asks for is known by its step. The valve timing is for later in an exercise.
    #[test]
    fn numbers_of_the_shipped_procedures_have_their_pages() {
        let sheets = shipped::PROCEDURES.into_iter();
        let source = |name: &str| {
            let file = format!("{name}.yaml");
            let found = shipped::PROCEDURES
                .into_iter()
                .find(|(own, _)| *own == file)?;
            Some((file, found.1.to_owned()))
        };
        let names = sheets.filter_map(|(file, _)| file.strip_suffix(".yaml"));
        let mut asked = std::collections::BTreeSet::new();
        for name in names.filter(|name| !name.contains('/') && *name != "cam-correlation") {
            let library = read_library(name, &source).unwrap();
            for step in &library.procedures[name].steps {
                if let Question::Measure { form, .. } = &step.question {
                    asked.insert((step.id.clone(), form.unit.symbol()));
                }
            }
        }
        asked.retain(|(step, _)| !ANY_CYLINDER.contains(&step.as_str()));
        let known = ON_PAGES.map(|(step, unit)| (step.to_owned(), unit));
        assert_eq!(asked, known.into_iter().collect());
    }
}
