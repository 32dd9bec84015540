//! Where a job stands: its events followed through the procedures. Positions, values and visits go
//! back with the person; what is disabled and what no longer holds does not, because going back on
//! paper undoes nothing on the vehicle.

mod astray;
mod branches;
mod ledger;
mod needed;
mod past;
mod places;
mod texts;

pub use astray::Astray;
pub use ledger::Disabling;
pub(crate) use needed::{KEY_OUT, RESTED, is_looked, looked_after, looks_around, turns_starter};
pub use past::Past;
pub(crate) use places::{joined, split};
pub use texts::Shown;

use std::collections::{BTreeMap, BTreeSet};

use crate::procedure::Way;
use crate::procedure::model::{Library, OutcomeKind, Procedure, RecordLine, Step, StepIndex};
use crate::procedure::work::{Condition, Work};
use crate::quantity::Measured;
use crate::run::event::Event;
use crate::run::state::State;
use crate::run::value::Value;
use past::Told;

/// Steps passed without a question before the procedure counts as endless; the checks refuse such
/// procedures, so this guards against a library built by hand.
const MOST_SILENT_STEPS: usize = 1000;

/// A place in one procedure.
#[derive(Debug, Clone, PartialEq)]
struct Place {
    /// Path of the calls that led here; empty in the outermost procedure.
    scope: String,
    procedure: String,
    at: StepIndex,
}

/// What one procedure, being gone through, knows.
#[derive(Debug, Clone, Default, PartialEq)]
struct Scope {
    procedure: String,
    inputs: BTreeMap<String, Value>,
    values: BTreeMap<String, Value>,
    /// The numbers that each step measured, one for each of its visits.
    series: BTreeMap<String, Vec<Measured>>,
    visits: BTreeMap<StepIndex, u32>,
}

/// All that goes back with the person.
#[derive(Debug, Clone, Default, PartialEq)]
struct Standing {
    stack: Vec<Place>,
    scopes: BTreeMap<String, Scope>,
    lines: BTreeMap<RecordLine, Value>,
    led_to: BTreeMap<String, StepIndex>,
    established_by: BTreeMap<Condition, String>,
}

/// Why work ends that was begun by a procedure which this version of the program refuses: nothing takes that back.
pub const REFUSED: &str =
    "this version of the program refuses the procedure by which the job was begun";

/// An outcome of a called procedure.
#[derive(Debug, Clone, PartialEq)]
pub struct Returned {
    /// Line of the journal after which it was reached.
    pub line: usize,
    /// Path of the outcome step.
    pub step: String,
    /// Kind.
    pub kind: OutcomeKind,
    /// The finding in words.
    pub finding: String,
    /// What to do next.
    pub advice: Option<String>,
}

/// The step that is due.
#[derive(Debug, Clone, PartialEq)]
pub struct Due<'l> {
    /// Its path.
    pub path: String,
    /// It.
    pub step: &'l Step<StepIndex>,
    /// The condition that is established again, where the step is asked for that.
    pub again_for: Option<Condition>,
    /// Path of the step that needs that condition.
    pub needed_by: Option<String>,
}

/// Something that was met on the way: a step that was come to, or a way that was taken out of one.
#[derive(Debug, Clone, PartialEq)]
pub struct Turn {
    /// Path of the step.
    pub step: String,
    /// The procedure that it stands in.
    pub procedure: String,
    /// Which step of it.
    pub at: StepIndex,
    /// The way that was taken; none where the step was come to.
    pub way: Option<Way>,
}

/// Where a job stands.
#[derive(Debug, Clone)]
pub struct Walk<'l> {
    library: &'l Library,
    standing: Standing,
    held: BTreeSet<Condition>,
    losses: Vec<(usize, Condition)>,
    ledger: Vec<Disabling>,
    past: Vec<Past>,
    /// Steps that the person goes back to, each with the last line on which that happens.
    returns: BTreeMap<String, usize>,
    /// The step that stands again for a crank that was.
    same_crank: Option<String>,
    returned: Vec<Returned>,
    trail: Vec<Turn>,
    stopped: Option<String>,
    /// Line of the last stop.
    stopped_at: usize,
    line: usize,
}

impl<'l> Walk<'l> {
    /// Follow a job's events.
    ///
    /// # Errors
    /// Where they do not fit the procedures.
    pub fn through(library: &'l Library, state: &State) -> Result<Self, Astray> {
        let walk = Walk {
            library,
            standing: Standing::default(),
            held: BTreeSet::new(),
            losses: Vec::new(),
            ledger: Vec::new(),
            past: Vec::new(),
            returns: returns(state),
            same_crank: None,
            returned: Vec::new(),
            trail: Vec::new(),
            stopped: None,
            stopped_at: 0,
            line: 0,
        };
        walk.through_rest(state)
    }

    /// Follow a job's events beyond those that were followed already. Where the person went back in them, all are
    /// followed anew: what stood before a question is kept only where it is known that somebody goes back to it.
    ///
    /// # Errors
    /// As [`Walk::through`].
    pub(crate) fn further(self, state: &State) -> Result<Self, Astray> {
        let new = state.events().iter().skip(self.line);
        let mut back = new.filter(|stamped| matches!(stamped.event, Event::Reopened { .. }));
        match back.next() {
            Some(_) => Walk::through(self.library, state),
            None => self.through_rest(state),
        }
    }

    fn through_rest(mut self, state: &State) -> Result<Self, Astray> {
        for stamped in state.events().iter().skip(self.line) {
            self.line += 1;
            self.follow(&stamped.event)?;
        }
        Ok(self)
    }

    fn follow(&mut self, event: &Event) -> Result<(), Astray> {
        let opens = matches!(event, Event::Opened(_));
        if opens != (self.line == 1) {
            return Err(Astray::NotOpened { line: self.line });
        }
        match event {
            Event::Opened(opening) => {
                self.enter("", &opening.procedure, BTreeMap::new())?;
                self.settle()
            }
            Event::Answered { step, answer } => {
                let due = self.due_is(step)?;
                let value = Value::of_answer(due.step, answer);
                self.answered(&due, value, Told::Asked(self.line))
            }
            Event::Carried { step, from } => {
                let due = self.due_is(step)?;
                let value = self.carried(step, *from)?;
                self.answered(&due, value, Told::Asked(*from as usize))
            }
            Event::Waived { step, word } => {
                let due = self.due_is(step)?;
                let value = Value::Waived(format!("waived by {}: {}", word.lead, word.reason));
                self.answered(&due, value, Told::Asked(self.line))
            }
            Event::Computed { step, facts, .. } => {
                let due = self.due_is(step)?;
                self.answered(&due, Value::of_facts(facts), Told::Computed)
            }
            Event::Reopened { step, same_crank } => self.go_back(step, *same_crank),
            Event::Resumed { lapsed } => {
                self.lose(lapsed);
                self.settle()
            }
            Event::Cranked { lapsed, .. } => {
                self.same_crank = None;
                self.lose(lapsed);
                self.settle()
            }
            Event::Stopped { reason } => {
                self.touch_open_step();
                self.stopped = Some(reason.clone());
                self.stopped_at = self.line;
                Ok(())
            }
            Event::PutBack { item } => {
                if item.0 == KEY_OUT {
                    self.key_came_out();
                }
                self.restore(item);
                Ok(())
            }
            Event::Noted { .. }
            | Event::Attached { .. }
            | Event::Paused { .. }
            | Event::Mended { .. }
            | Event::Practice { .. }
            | Event::Concluded { .. }
            | Event::Sealed => Ok(()),
        }
    }

    fn due_is(&self, step: &str) -> Result<Due<'l>, Astray> {
        let due = self.due()?;
        if self.stopped.is_none() {
            if due.path == step {
                return Ok(due);
            }
            if let Some(again) = self.made_sure_of(&due, step) {
                return Ok(again);
            }
        }
        Err(Astray::OtherStep {
            line: self.line,
            found: step.to_owned(),
            due: due.path,
        })
    }

    /// A step's value is there: its effects, and where it leads.
    fn finish(&mut self, due: &Due<'l>, value: Value) -> Result<(), Astray> {
        self.disable(due.step, &due.path);
        match value {
            Value::Confirmed(true) => self.establish(due),
            Value::Confirmed(false) => self.lose(&due.step.establishes),
            _ => {} // only the answer yes establishes or restores anything
        }
        if let Some(line) = due.step.fills
            && !matches!(value, Value::Waived(_))
        {
            self.standing.lines.insert(line, value.clone());
        }
        let (way, target) = branches::leads_to(&due.path, &due.step.question, &value)?;
        let (scope, id) = places::split(&due.path);
        let (at, procedure) = self.index_of(&due.path)?;
        self.trail.push(Turn {
            step: due.path.clone(),
            procedure: procedure.name.clone(),
            at,
            way: Some(way),
        });
        let known = self.standing.scopes.entry(scope.to_owned()).or_default();
        if let Value::Number(number) = value {
            let series = known.series.entry(id.to_owned()).or_default();
            series.push(number);
        }
        known.values.insert(id.to_owned(), value);
        let before = self.standing.led_to.insert(due.path.clone(), target);
        if due.again_for.is_some() {
            if before == Some(target) {
                return Ok(()); // established again: on with the step that needed it
            }
            self.standing.stack = self.stack_of(&due.path)?;
        }
        self.arrive(target)
    }

    fn establish(&mut self, due: &Due<'l>) {
        for condition in &due.step.establishes {
            self.held.insert(condition.clone());
            self.standing
                .established_by
                .insert(condition.clone(), due.path.clone());
        }
        for item in &due.step.restores {
            self.restore(item);
        }
    }

    /// Conditions that hold.
    #[must_use]
    pub fn held(&self) -> &BTreeSet<Condition> {
        &self.held
    }

    /// Whether that step stands again for a crank that was: nothing turns for its answer.
    #[must_use]
    pub fn same_crank(&self, path: &str) -> bool {
        self.same_crank.as_deref() == Some(path)
    }

    /// Steps that were answered or computed, superseded ones included.
    #[must_use]
    pub fn past(&self) -> &[Past] {
        &self.past
    }

    /// Outcomes of called procedures, in order.
    #[must_use]
    pub fn returned(&self) -> &[Returned] {
        &self.returned
    }

    /// All that was met on the way, in order; what the person went back behind too.
    #[must_use]
    pub fn trail(&self) -> &[Turn] {
        &self.trail
    }

    /// Whether a step was come to that does that work.
    #[must_use]
    pub fn came_to(&self, work: Work) -> bool {
        self.trail.iter().any(|turn| {
            let procedure = self.library.procedures.get(&turn.procedure);
            let step = procedure.and_then(|procedure| procedure.steps.get(turn.at.0));
            step.is_some_and(|step| step.work.contains(&work))
        })
    }

    /// The reason of a stop, where the work was stopped.
    #[must_use]
    pub fn stopped(&self) -> Option<&str> {
        self.stopped.as_deref()
    }

    /// The step at which the work was stopped, while nothing has been put back since; none where that was for good.
    ///
    /// # Errors
    /// As [`Walk::due`].
    pub(in crate::run) fn stopped_at(&self) -> Result<Option<String>, Astray> {
        let since = |entry: &Disabling| entry.restored.is_some_and(|line| line > self.stopped_at);
        let for_good = self.stopped.as_deref().is_none_or(|why| why == REFUSED);
        if for_good || self.ledger.iter().any(since) {
            return Ok(None);
        }
        Ok(Some(self.due()?.path))
    }

    /// Lines of the record filled so far.
    #[must_use]
    pub fn lines(&self) -> &BTreeMap<RecordLine, Value> {
        &self.standing.lines
    }

    fn procedure_named(&self, name: &str) -> Result<&'l Procedure<StepIndex>, Astray> {
        self.library
            .procedures
            .get(name)
            .ok_or_else(|| Astray::NoProcedure(name.to_owned()))
    }
}

fn returns(state: &State) -> BTreeMap<String, usize> {
    let lines = state.events().iter().zip(1..);
    let gone_back = lines.filter_map(|(stamped, line)| match &stamped.event {
        Event::Reopened { step, .. } => Some((step.clone(), line)),
        _ => None,
    });
    gone_back.collect()
}
