//! A scenario played through a procedure, by the same steps as a run: what comes next is asked of the
//! run, answered as written or as usual, and judged by the run.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use rust_decimal::Decimal;

use super::bench::{Bench, Handed};
use super::parting::Parted;
use super::scenario::Scenario;
use super::usual;
use crate::ask::script::Given;
use crate::procedure::Problem;
use crate::procedure::model::{Library, OutcomeKind, Position};
use crate::run::event::{Event, Opening, Stamped};
use crate::run::input::step_from;
use crate::run::next::from_walk;
use crate::run::screen::{Form, Screen};
use crate::run::walk::{Turn, Walk};
use crate::run::{Input, Next, Refusal, State};

/// Time of every event: a rehearsal has no clock.
const AT: &str = "2026-01-15T08:00:00Z";

/// Questions after which a rehearsal is given up: far more than any sound procedure asks.
const MOST_QUESTIONS: usize = 5000;

/// What mends a procedure in which a run goes astray.
const UNSOUND: &str = "Prove the procedure first: `evenfire check`.";

/// How a scenario went.
#[derive(Debug, Clone, Default)]
pub struct Played {
    /// The outcome that it came to.
    pub outcome: Option<(String, OutcomeKind)>,
    /// All that was met on the way.
    pub trail: Vec<Turn>,
    /// Paths of the questions that were asked, in order.
    pub asked: Vec<String>,
    /// Paths of the statements that were asked, each once.
    pub statements: Vec<String>,
    /// Paths of the captures and computations that were come to.
    pub(super) made: BTreeSet<String>,
    /// Captures that a result was computed from.
    pub(super) looked_at: BTreeSet<String>,
    /// Captures, each with a computation that would look at it and whose result is stated.
    pub(super) passed_over: BTreeMap<String, String>,
    /// Whether a denial came to an end that the scenario does not have for them.
    pub(super) unlisted: bool,
    /// What went otherwise than expected.
    pub problems: Vec<Problem>,
}

fn opened(library: &Library, scenario: &Scenario, low_percent: f64) -> Stamped {
    let opening = Opening {
        job: "0000".to_owned(),
        shop: "rehearsal".to_owned(),
        technician: "rehearsal".to_owned(),
        practice: vec!["rehearsal".to_owned()],
        simulated_clock: true,
        procedure: scenario.procedure.clone(),
        procedures: Vec::new(),
        low_percent,
        needs: BTreeMap::new(),
        limits: crate::followup::limits::ShopLimits::default(),
        breaks_and_waivers: Default::default(),
        tool: library.procedures.len().to_string(),
    };
    stamped(Event::Opened(opening))
}

fn stamped(event: Event) -> Stamped {
    Stamped {
        at: AT.to_owned(),
        event,
    }
}

/// A scenario being played.
#[derive(Clone)]
pub(super) struct Player<'p> {
    pub(super) library: &'p Library,
    pub(super) scenario: &'p Scenario,
    pub(super) bench: &'p Bench<'p>,
    /// The statements that were denied, each the first time that it was asked.
    pub(super) denied: Vec<String>,
    pub(super) state: State,
    pub(super) next_entry: usize,
    /// The unexpected number that was just asked about.
    pub(super) before: Option<Decimal>,
    pub(super) visits: BTreeMap<String, usize>,
    /// Captures that were handed over: the step that asked for each.
    pub(super) handed: BTreeMap<String, (String, Handed)>,
    pub(super) played: Played,
    /// The statements at which other plays were parted already; none where nothing is denied.
    pub(super) met: Option<Arc<BTreeSet<String>>>,
    /// The plays that were parted from this one.
    pub(super) parted: Vec<Parted<'p>>,
}

impl<'p> Player<'p> {
    /// A scenario before its first question.
    pub(super) fn new(library: &'p Library, scenario: &'p Scenario, bench: &'p Bench<'p>) -> Self {
        Player {
            library,
            scenario,
            bench,
            denied: Vec::new(),
            state: State::fold([&opened(library, scenario, bench.low_percent)]),
            next_entry: 0,
            before: None,
            visits: BTreeMap::new(),
            handed: BTreeMap::new(),
            played: Played::default(),
            met: None,
            parted: Vec::new(),
        }
    }
}

impl Player<'_> {
    pub(super) fn play(&mut self) {
        let mut followed = Walk::through(self.library, &self.state);
        for _ in 0..MOST_QUESTIONS {
            let come_to = followed.and_then(|walk| {
                let walk = walk.further(&self.state)?;
                let next = from_walk(self.library, &self.state, &walk)?;
                Ok((walk, next))
            });
            let (walk, next) = match come_to {
                Ok(come_to) => come_to,
                Err(astray) => return self.problem(None, astray.to_string(), UNSOUND),
            };
            let (place, step, input) = match next {
                Next::Ask(screen) => match self.answer(&screen, &walk) {
                    Some((place, input)) => (place, screen.step, input),
                    None => return,
                },
                Next::Compute {
                    step,
                    computation,
                    request,
                } => match self.compute(&walk, &step, computation, request) {
                    Some(computed) => (None, step, Input::Computed(computed)),
                    None => return,
                },
                Next::Conclude(_) => (None, String::new(), Input::Proceed),
                Next::Seal | Next::Done => return,
            };
            if !self.put(&walk, place, &step, input) {
                return;
            }
            followed = Ok(walk);
        }
        self.problem(
            None,
            format!("still no outcome after {MOST_QUESTIONS} questions"),
            "Under `answers`, give the answer that leaves the loop.",
        );
    }

    /// Whether it could be put.
    pub(super) fn put(
        &mut self,
        walk: &Walk<'_>,
        place: Option<Position>,
        path: &str,
        input: Input,
    ) -> bool {
        match step_from(self.library, &self.state, walk, input) {
            Ok(events) => {
                self.before = None;
                for event in events {
                    self.state.push(stamped(event));
                }
                true
            }
            Err(Refusal::Unexpected { value, .. }) => {
                // asked about once more, and given once more
                self.before = Some(value);
                self.next_entry -= usize::from(place.is_some());
                self.played.asked.pop();
                true
            }
            Err(refusal) => {
                let remedy = refused(path, place.is_some());
                self.problem(place, format!("step `{path}`: {refusal}"), &remedy);
                false
            }
        }
    }

    fn answer(&mut self, screen: &Screen, walk: &Walk<'_>) -> Option<(Option<Position>, Input)> {
        let path = &screen.step;
        self.played.asked.push(path.clone());
        let first = screen.form == Form::Confirm && !self.played.statements.contains(path);
        if first {
            self.played.statements.push(path.clone());
        }
        let entry = self.scenario.answers.get(self.next_entry);
        let entry = entry.filter(|entry| entry.step == *path).cloned();
        self.next_entry += usize::from(entry.is_some());
        if first {
            self.part(path);
        }
        let place = entry.as_ref().map(|entry| entry.position.clone());
        let typed = match entry.map(|entry| entry.given) {
            Some(Given::Answer(text)) => Some(text),
            Some(Given::Note(text)) => return Some((place, Input::Note(text))),
            Some(Given::Cranked(why)) => return Some((place, Input::Cranked(why))),
            Some(Given::Stop(why)) => return Some((place, Input::Stop(why))),
            Some(Given::Back) => return Some((place, Input::Back)),
            Some(Given::Pause | Given::Attach(_) | Given::Waive(_)) | None => None,
        };
        let input = match &screen.form {
            Form::Capture(_) => Ok(Input::Capture(self.hand_over(path, typed))),
            form => {
                let line = walk.step_at(path).ok().and_then(|step| step.fills);
                let usual = || usual::answer(form, line, self.scenario.engine.as_ref());
                let text = typed.or_else(usual).unwrap_or_default();
                self.input(form, text)
            }
        };
        match input {
            Ok(input) => Some((place, input)),
            Err(why) => {
                let remedy = refused(path, place.is_some());
                self.problem(place, format!("step `{path}`: {why}"), &remedy);
                None
            }
        }
    }

    fn input(&self, form: &Form, text: String) -> Result<Input, String> {
        match form {
            Form::Confirm | Form::PutBack | Form::Trouble => match text.as_str() {
                "yes" | "y" | "true" => Ok(Input::Confirm(true)),
                "no" | "n" | "false" => Ok(Input::Confirm(false)),
                _ => Err(format!("a statement is answered yes or no, not `{text}`")),
            },
            Form::Choose(_) => Ok(Input::Choose(text)),
            _ => Ok(Input::Typed {
                text,
                before: self.before,
            }),
        }
    }

    pub(super) fn problem(&mut self, place: Option<Position>, message: String, remedy: &str) {
        let why = match &self.denied[..] {
            [] => String::new(),
            steps => format!(
                "In this rehearsal no was answered to: {}.",
                steps.join(", ")
            ),
        };
        let place = place.as_ref().unwrap_or(&self.scenario.position);
        let problem = Problem::new(place, message, why, remedy);
        self.played.problems.push(problem);
    }
}

/// What mends an answer that the run refuses.
fn refused(path: &str, written: bool) -> String {
    if written {
        return format!("Correct this answer to `{path}`.");
    }
    format!(
        "The usual answer does not fit there: write one under `answers`, as `- {{step: {path}, answer: …}}`."
    )
}
