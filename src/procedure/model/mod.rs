//! What a procedure is, once read. `T` is what a step's target is: a name with its position while the
//! file is only loaded, a [`StepIndex`] when it is resolved.

mod outcome;
pub mod record_line;

use std::collections::BTreeMap;

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::computation::Computation;
use super::work::{Condition, Work};
use crate::quantity::Unit;
pub use outcome::OutcomeKind;
pub use record_line::RecordLine;

/// Place of a step in its procedure's list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StepIndex(pub usize);

/// Place in a file; line and column count from 1, columns in characters.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Position {
    /// The file as the user named it.
    pub file: String,
    /// Line.
    pub line: usize,
    /// Column.
    pub column: usize,
}

impl std::fmt::Display for Position {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:{}:{}", self.file, self.line, self.column)
    }
}

/// The file that a procedure was read from, byte for byte.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// The file as the user named it.
    pub file: String,
    /// Its text.
    pub text: String,
}

/// A procedure.
#[derive(Debug, Clone, PartialEq)]
pub struct Procedure<T> {
    /// Its name, also the file's stem.
    pub name: String,
    /// Its revision.
    pub revision: u32,
    /// A line for headings.
    pub title: String,
    /// What it is for.
    pub purpose: String,
    /// Names of the values that a calling procedure must hand over.
    pub takes: Vec<String>,
    /// Values that a calling procedure may read afterwards: name → where the value comes from.
    pub gives: BTreeMap<String, ValuePath>,
    /// The steps; the first is where it starts.
    pub steps: Vec<Step<T>>,
    /// The file.
    pub source: Source,
}

/// A signal word of ANSI Z535.6, strongest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "UPPERCASE")]
pub enum SignalWord {
    /// Will kill or maim if not avoided.
    Danger,
    /// Could kill or maim.
    Warning,
    /// Could hurt slightly.
    Caution,
    /// Damage to things.
    Notice,
}

impl SignalWord {
    /// As it is shown.
    #[must_use]
    pub fn text(self) -> &'static str {
        match self {
            SignalWord::Danger => "DANGER",
            SignalWord::Warning => "WARNING",
            SignalWord::Caution => "CAUTION",
            SignalWord::Notice => "NOTICE",
        }
    }
}

/// A hazard, shown before the step's action.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hazard {
    /// How bad.
    pub word: SignalWord,
    /// What can happen and how to avoid it.
    pub text: String,
}

/// Something that a step disables or disconnects and that must be put back before any outcome.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Disabled {
    /// What: `fuel pump relay`.
    pub item: Condition,
    /// How it is put back: "Refit the fuel pump relay."
    pub restore: String,
}

/// One step.
#[derive(Debug, Clone, PartialEq)]
pub struct Step<T> {
    /// Its name, unique in the procedure.
    pub id: String,
    /// The phase of the work, for the heading.
    pub phase: String,
    /// Hazards, strongest first.
    pub hazards: Vec<Hazard>,
    /// What to do; may hold `{value-path}`.
    pub action: Option<String>,
    /// The one thing that it asks.
    pub question: Question<T>,
    /// Kinds of work that the action is.
    pub work: Vec<Work>,
    /// Conditions needed beyond those of the work.
    pub needs: Vec<Condition>,
    /// Conditions that hold after the answer yes to its statement; a no takes them away again. Only a
    /// confirm step has any.
    pub establishes: Vec<Condition>,
    /// Conditions that no longer hold once the step is entered: those that it names and those that its work ends.
    pub revokes: Vec<Condition>,
    /// What the step disables.
    pub disables: Vec<Disabled>,
    /// What the step puts back, after the answer yes to its statement. Only a confirm step has any.
    pub restores: Vec<Condition>,
    /// The line of the record that the answer fills.
    pub fills: Option<RecordLine>,
    /// After how many visits the step is passed over, and to where.
    pub at_most: Option<AtMost<T>>,
    /// Why the step is there.
    pub why: Option<String>,
    /// What good looks like.
    pub good: Option<String>,
    /// Common mistakes.
    pub mistakes: Option<String>,
    /// Where it stands in the file.
    pub position: Position,
}

/// A bound on how often a step is visited.
#[derive(Debug, Clone, PartialEq)]
pub struct AtMost<T> {
    /// Visits allowed.
    pub times: u32,
    /// Where the next visit goes instead.
    pub then: T,
}

/// What a step asks.
#[derive(Debug, Clone, PartialEq)]
pub enum Question<T> {
    /// A statement to confirm; yes and no both lead on.
    Confirm {
        /// The statement.
        statement: String,
        /// After yes.
        yes: T,
        /// After no.
        no: T,
    },
    /// One of several.
    Choose {
        /// The question.
        ask: String,
        /// What can be chosen.
        choices: Vec<Choice>,
        /// Where each leads.
        next: Next<T>,
    },
    /// A number with unit.
    Measure {
        /// The question.
        ask: String,
        /// What is measured.
        form: NumberForm,
        /// Where the value leads.
        next: Next<T>,
    },
    /// A capture file.
    Capture {
        /// The question.
        ask: String,
        /// What is captured.
        kind: CaptureKind,
        /// Where it goes on.
        next: Next<T>,
    },
    /// A line of text.
    Note {
        /// The question.
        ask: String,
        /// Form of the text, where it must be of one.
        form: TextForm,
        /// Where it goes on.
        next: Next<T>,
    },
    /// Nothing of the person: something is computed.
    Compute {
        /// What.
        computation: Computation,
        /// Its inputs by name.
        with: BTreeMap<String, ValuePath>,
        /// The fact that the branches test.
        tested: Option<String>,
        /// Where it leads.
        next: Next<T>,
    },
    /// Another procedure is gone through.
    Call {
        /// Its name.
        procedure: String,
        /// Its inputs by name.
        with: BTreeMap<String, ValuePath>,
        /// What the branches test: `outcome` (the id of the called procedure's outcome step) or one of
        /// the values that it gives.
        tested: Option<String>,
        /// Where it leads.
        next: Next<T>,
    },
    /// The end.
    Outcome {
        /// How it ended.
        kind: OutcomeKind,
        /// The finding in words; may hold `{value-path}`.
        finding: String,
        /// What to do next; may hold `{value-path}`.
        advice: Option<String>,
    },
}

/// One choice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// Its name, which branches test.
    pub name: String,
    /// What it says.
    pub label: String,
}

/// The form of a measured number.
#[derive(Debug, Clone, PartialEq)]
pub struct NumberForm {
    /// The unit in which branches are written.
    pub unit: Unit,
    /// The unit that a number without one is meant in: the shop's choice, else the same.
    pub meant: Unit,
    /// Step of the grid on which values lie.
    pub resolution: Decimal,
    /// What can be at all: outside is refused.
    pub possible: Interval,
    /// What is expected: outside is asked again and noted.
    pub expected: Option<Interval>,
}

/// A closed range of numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Interval {
    /// Least.
    pub least: Decimal,
    /// Greatest.
    pub greatest: Decimal,
}

/// The form of a line of text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum TextForm {
    /// Anything but nothing.
    Text,
    /// Anything, nothing included.
    Optional,
    /// A firing order, as in "1-3-4-2".
    FiringOrder,
    /// Firing intervals in degrees, as in "90 150 90 150 90 150", or "even".
    FiringIntervals,
    /// A calendar date, as in "2026-03-02".
    Date,
}

/// What kind of capture a step asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CaptureKind {
    /// Several seconds of cranking.
    Cranking,
    /// Some seconds in which nothing turns.
    AtRest,
}

/// Where a step leads.
#[derive(Debug, Clone, PartialEq)]
pub enum Next<T> {
    /// Always there.
    Always(T),
    /// By unary tests over one value; a sound procedure has exactly one that holds.
    When(Vec<Branch<T>>),
}

/// One branch.
#[derive(Debug, Clone, PartialEq)]
pub struct Branch<T> {
    /// The tests as written.
    pub written: String,
    /// The tests.
    pub tests: UnaryTests,
    /// Where it leads.
    pub target: T,
}

/// The subset of OMG DMN FEEL's simple unary tests that branches are written in.
#[derive(Debug, Clone, PartialEq)]
pub enum UnaryTests {
    /// Holds where no other branch does.
    Otherwise,
    /// Any of these holds.
    Any(Vec<UnaryTest>),
    /// None of these holds.
    Not(Vec<UnaryTest>),
}

/// One unary test.
#[derive(Debug, Clone, PartialEq)]
pub enum UnaryTest {
    /// The value is this name.
    Name(String),
    /// The number lies between two ends, each included or not; an end that is missing is open to
    /// that side.
    Range {
        /// Lower end and whether it is included.
        low: Option<(Decimal, bool)>,
        /// Upper end and whether it is included.
        high: Option<(Decimal, bool)>,
    },
}

/// A value to be read: a step, a fact of a step (`judge.verdict`), or an input of the procedure.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct ValuePath {
    /// Step id or input name.
    pub of: String,
    /// The fact, where the step has several.
    pub fact: Option<String>,
}

impl std::fmt::Display for ValuePath {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.fact {
            Some(fact) => write!(f, "{}.{fact}", self.of),
            None => f.write_str(&self.of),
        }
    }
}

/// A procedure that can be run, together with those that it calls, by name.
#[derive(Debug, Clone, PartialEq)]
pub struct Library {
    /// Resolved and proved procedures.
    pub procedures: BTreeMap<String, Procedure<StepIndex>>,
}
