//! Exercises gone through by somebody who knows only what an apprentice is given: the line about the vehicle and
//! the page of gauges. Each must come to an ending, and nothing may be asked that cannot be looked up there.

mod school;

use std::collections::{BTreeMap, BTreeSet};

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

use super::{CAPTURE, Simulated};
use crate::cli::one_job::computing::Bench;
use crate::cli::one_job::opening::{Beginning, load};
use crate::cli::shipped;
use crate::practise::{Difficulty, Exercise, Grade, Pages, grade};
use crate::procedure::model::{Choice, TextForm};
use crate::record::bundle::assemble::{JournalEnd, assemble};
use crate::record::folder::JobFolder;
use crate::record::shop::Shop;
use crate::record::shop::founding::{KeySource, NewSigner, found};
use crate::record::shop::roster::Roster;
use crate::run::asker::{Asker, NoAnswer, Reply, Told};
use crate::run::drive::{Ended, Hands, Job};
use crate::run::event::CaptureFile;
use crate::run::keeper::Keeper;
use crate::run::refusal::Refusal;
use crate::run::screen::{Form, Screen};
use crate::simulate::practice::Practice;
use crate::simulate::spoil::Spoil;
use school::{School, counted};

/// Questions after which an exercise is given up: three times what the longest of them asks.
const MOST_QUESTIONS: usize = 600;

/// Share of the statements that the apprentice answers no.
const DENIED: f64 = 0.02;

/// Choices that are the apprentice's own; one of them is drawn.
const FREE: [&str; 16] = [
    "fuel-way",
    "runs",
    "which",
    "wet",
    "vacuum-read",
    "line-posts",
    "line-connector",
    "line-clamp",
    "offer-one",
    "offer-neighbours",
    "offer-companions",
    "offer-several",
    "offer-static",
    "offer-circuit",
    "offer-running",
    "part",
];

struct Apprentice {
    random: ChaCha8Rng,
    /// What they are told of the vehicle, and the page of gauges.
    vehicle: String,
    pages: Pages,
    /// The cylinder that was last spoken of.
    cylinder: Option<String>,
    questions: usize,
    /// What could not be answered.
    stuck: Option<String>,
}

impl Apprentice {
    fn new(exercise: &Exercise, made: &Practice) -> Self {
        Apprentice {
            random: ChaCha8Rng::seed_from_u64(exercise.seed ^ 0xA99),
            vehicle: exercise.vehicle(made),
            pages: exercise.pages(made),
            cylinder: None,
            questions: 0,
            stuck: None,
        }
    }

    /// What stands between two texts of what they were given.
    fn between(&self, before: &str, after: &str) -> Option<String> {
        let all = format!("{}\n{}", self.vehicle, self.pages.vehicle);
        let (_, rest) = all.split_once(before)?;
        let (found, _) = rest.split_once(after)?;
        Some(found.trim().to_owned())
    }

    /// What the gauges show of the cylinder that was spoken of, after the heading.
    fn of_cylinder(&self, heading: &str, before: &str, after: &str) -> Option<String> {
        let page = self
            .pages
            .cylinders
            .get(&self.cylinder.as_ref()?.parse().ok()?)?;
        let line = page.lines().find(|found| found.starts_with(heading))?;
        let (_, rest) = line.split_once(before)?;
        let found = rest.split_once(after).map_or(rest, |(found, _)| found);
        Some(found.trim().to_owned())
    }

    /// A number, by the step that asks for it.
    fn number(&mut self, path: &str) -> Option<String> {
        if path.ends_with("leak-test/reading") {
            return self.of_cylinder("Leak-down tester", "reading ", " psi");
        }
        let pressure = |before| self.of_cylinder("Compression gauge", before, ";");
        match last(path) {
            "odometer" => self.between("Vehicle: ", " km"),
            "cylinders" => self.vehicle.split(' ').next().map(str::to_owned),
            "expected-speed" => self.between("cranks at ", " rpm"),
            "converter-bits" => self.between("Scope: ", " bits"),
            "clamp-rating" => self.between("Clamp: up to ", " A"),
            "clamp-output" => self.between(" A, ", " mV for one ampere"),
            "bore" => self.between("restrictor ", " mm"),
            "supply" => self.between("supply ", " psi"),
            "reading" | "cranking-reading" => pressure("cranking "),
            "wet-reading" => pressure("with oil "),
            "idle-reading" => pressure("at idle "),
            "snap-reading" => pressure("at a snap "),
            "vacuum" => self.between("Manifold vacuum at idle: ", " inHg"),
            "ratio" => self.between("compression ratio ", ". "),
            "altitude" => self.between("Workshop: ", " m above"),
            "makers-least" | "makers-difference" => {
                self.between("no figures for compression: ", ".")
            }
            "rest-voltage" => self.between("rested: ", " V"),
            "loaded-voltage" => self.between("while cranking: ", " V"),
            "loaded-current" => self.between("Current while cranking: ", " A"),
            "temperature" => self.between("Temperature: ", " °C"),
            "positive-drop" => self.between("positive side: ", " V"),
            "ground-drop" => self.between("ground side: ", " V"),
            "joint-drop" => self.between("each joint: ", " V"),
            "cable-drop" => self.between("each cable: ", " V"),
            "cable-length" => self.between("mm², ", " m long"),
            "which-leaks" | "which-runs" => {
                let all: usize = self.number("cylinders")?.parse().ok()?;
                let cylinder = self.random.random_range(1..=all).to_string();
                self.cylinder = Some(cylinder.clone());
                Some(cylinder)
            }
            _ => None,
        }
    }

    /// A choice, by the step that asks for it.
    fn choice(&mut self, path: &str, choices: &[Choice]) -> Option<String> {
        let recorded = self.between("recorded: ", ";")?;
        let reference = self.between("reference: ", "\n")?;
        let without = reference == "none";
        let heard = || self.of_cylinder("Leak-down tester", "; ", "\n");
        let wanted = match last(path) {
            "fuel" if self.vehicle.contains(", diesel;") => "diesel",
            "fuel" => "petrol",
            "system-voltage" => "twelve-volts",
            "battery-kind" => "flooded",
            "cable-size" => "mm2-50",
            "joint-kind" => "connection",
            "reference" if without => "none",
            "reference" => "cam-sensor",
            "second-channel" if without => "nothing",
            "second-channel" => "reference",
            "signal" => match recorded.as_str() {
                "starter current" => "clamp",
                "crank speed" => "crank-sensor",
                _ => ["posts", "connector"][self.random.random_range(0..2)],
            },
            "escape" => match heard()?.as_str() {
                "a hiss at the throttle or the air duct" => "inlet",
                "a hiss at the tail pipe" => "exhaust",
                "bubbles in the coolant" => "coolant",
                _ => "crankcase",
            },
            step if FREE.contains(&step) => {
                // which cannot be recorded in an exercise, as the page says
                let open = choices.iter().filter(|choice| choice.name != "timing");
                let open: Vec<&Choice> = open.collect();
                &open[self.random.random_range(0..open.len())].name
            }
            _ => return None,
        };
        let there = choices.iter().any(|choice| choice.name == wanted);
        there.then(|| wanted.to_owned())
    }

    fn text(&self, form: TextForm) -> Option<String> {
        match form {
            TextForm::FiringOrder => self.between("firing order ", ","),
            TextForm::FiringIntervals => self.between("intervals ", ","),
            TextForm::Date => Some("2026-03-01".to_owned()),
            TextForm::Text | TextForm::Optional => Some("as usual".to_owned()),
        }
    }

    fn reply(&mut self, screen: &Screen) -> Option<Reply> {
        let path = &screen.step;
        match &screen.form {
            Form::Confirm if self.random.random_range(0.0..1.0) < DENIED => Some(Reply::No),
            Form::Confirm | Form::PutBack => Some(Reply::Yes),
            Form::Choose(choices) => self.choice(path, choices).map(Reply::Choice),
            Form::Number(_) => self.number(path).map(Reply::Typed),
            Form::Text(form) => self.text(*form).map(Reply::Typed),
            Form::Capture(_) => Some(Reply::File("capture".to_owned())),
            Form::Trouble => None,
        }
    }

    fn stuck(&mut self, screen: &Screen, why: &str) -> NoAnswer {
        let action = screen.action.as_deref().unwrap_or_default();
        self.stuck = Some(format!(
            "{}: {why} ({action} {})",
            screen.step, screen.asked
        ));
        NoAnswer::Cancelled
    }
}

impl Asker for Apprentice {
    fn ask(&mut self, screen: &Screen, refused: Option<&Refusal>) -> Result<Reply, NoAnswer> {
        if let Some(refused) = refused.filter(|why| !why.is_asked_twice()) {
            return Err(self.stuck(screen, &refused.to_string()));
        }
        self.questions += 1;
        if self.questions > MOST_QUESTIONS {
            return Err(self.stuck(screen, "no ending comes"));
        }
        let spoken = format!(
            "{} {}",
            screen.action.as_deref().unwrap_or_default(),
            screen.asked
        );
        if let Some((_, rest)) = spoken.split_once("cylinder ") {
            let number: String = rest.chars().take_while(char::is_ascii_digit).collect();
            self.cylinder = Some(number)
                .filter(|n| !n.is_empty())
                .or(self.cylinder.take());
        }
        match self.reply(screen) {
            Some(reply) => Ok(reply),
            None => Err(self.stuck(screen, "nothing that was given answers this")),
        }
    }

    fn tell(&mut self, _: &Told<'_>) -> Result<(), NoAnswer> {
        Ok(())
    }

    fn now(&mut self) -> String {
        "2026-03-02T08:00:00Z".to_owned()
    }
}

fn last(path: &str) -> &str {
    path.rsplit('/').next().unwrap_or_default()
}

/// What spoils the first crank is not used up by a line at rest that is saved before it.
#[test]
fn a_line_at_rest_is_no_crank() {
    let place = tempfile::tempdir().unwrap();
    let exercise = Exercise {
        fuel: None,
        seed: 7,
        difficulty: Difficulty::Easy,
        signal: None,
        firing_order: Some(vec![1, 3, 4, 2]),
        weak: None,
        escape: None,
        spoil: Some(Spoil::Clipped),
    };
    let mut keeper = Simulated {
        job: JobFolder::at(place.path()),
        exercise: exercise.clone(),
    };
    let rest = keeper.keep_at_rest(CAPTURE, None).unwrap();
    let first = keeper.keep(CAPTURE, None).unwrap();
    let second = keeper.keep(CAPTURE, None).unwrap();
    let kept = |file: &CaptureFile| fs_err::read_to_string(place.path().join(&file.file)).unwrap();
    assert_eq!(kept(&rest), exercise.at_rest().unwrap().csv());
    assert_eq!(kept(&first), exercise.capture(0).unwrap().csv());
    assert_eq!(kept(&second), exercise.capture(1).unwrap().csv());
}

/// Few with captures to analyse, which take most of the time, and some in which gauges alone are read.
#[test]
fn some_exercises_come_to_an_ending() {
    let mut some: Vec<(&str, u64)> =
        vec![("relative-compression", 13), ("relative-compression", 15)];
    some.extend((0..16).map(|seed| ("follow-up", seed)));
    let endings = School::new().all(some);
    let told = counted(&endings);
    assert!(
        endings.iter().any(|ending| ending.grade == Grade::Right),
        "{told}"
    );
    let outcomes: BTreeSet<&str> = endings
        .iter()
        .map(|ending| ending.outcome.as_str())
        .collect();
    assert!(outcomes.len() > 5, "{told}");
}

/// By hand, a second of one core for each: `EVENFIRE_SEEDS=2000 cargo test --release --lib looked_up -- --ignored --nocapture`.
#[test]
#[ignore = "long; by hand"]
fn many_exercises_come_to_an_ending() {
    let seeds = std::env::var("EVENFIRE_SEEDS")
        .ok()
        .and_then(|seeds| seeds.parse().ok());
    let drawn = |seed| {
        (
            ["relative-compression", "follow-up"][usize::from(seed % 4 == 0)],
            seed,
        )
    };
    let many = (0..seeds.unwrap_or(1000)).map(drawn).collect();
    println!("{}", counted(&School::new().all(many)));
}
