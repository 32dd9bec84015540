//! What a person is shown at one question. Texts only; how they are laid out is the asker's business.

use std::collections::BTreeMap;

use crate::procedure::model::{
    CaptureKind, Choice, Hazard, Library, Next, NumberForm, Procedure, Question, SignalWord,
    StepIndex, TextForm,
};
use crate::run::state::State;
use crate::run::waiving;
use crate::run::walk::{Astray, Disabling, Due, Walk};

/// Prefix of the path under which something is asked to be put back.
pub const PUT_BACK: &str = "put-back/";

/// Phase under which that stands.
const PUT_BACK_PHASE: &str = "put back";

/// Shown before anything is put back outside a procedure's own steps, whose hazards are not shown then.
/// Common practice of the trade, no source.
const PUT_BACK_WARNING: &str = "Key away before you reach in. Once fuel is back the engine can start, and a fan may start by itself. \
     Take pressure out before you take a fitting off; the crank may turn as long as air is on.";

/// One question with all that belongs to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Screen {
    /// Job number.
    pub job: String,
    /// Whether it is practice.
    pub practice: bool,
    /// Path of the step.
    pub step: String,
    /// Phase of the work.
    pub phase: String,
    /// Which question it is, from 1.
    pub number: usize,
    /// About how many there will be.
    pub about: usize,
    /// The condition that must be made sure of again, where the step is asked for that.
    pub again_for: Option<String>,
    /// Hazards, strongest first.
    pub hazards: Vec<Hazard>,
    /// What to do.
    pub action: Option<String>,
    /// What is asked.
    pub asked: String,
    /// What answers it.
    pub form: Form,
    /// Why the step is there.
    pub why: Option<String>,
    /// What good looks like.
    pub good: Option<String>,
    /// Common mistakes.
    pub mistakes: Option<String>,
    /// What was asked and answered so far, in order.
    pub so_far: Vec<Said>,
    /// What is not as it was on the vehicle, and how it is put back.
    pub disabled: Vec<String>,
    /// Who may waive the step, or why nobody may.
    pub waiver: Result<Vec<String>, String>,
}

impl Screen {
    /// Whether the starter is turned for the answer.
    #[must_use]
    pub fn cranks(&self) -> bool {
        matches!(self.form, Form::Capture(CaptureKind::Cranking))
    }
}

/// Something that was asked and answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// What was asked.
    pub asked: String,
    /// What was answered.
    pub answered: String,
}

/// What answers a question.
#[derive(Debug, Clone, PartialEq)]
pub enum Form {
    /// Yes or no.
    Confirm,
    /// One of these.
    Choose(Vec<Choice>),
    /// A number.
    Number(NumberForm),
    /// A text.
    Text(TextForm),
    /// A capture file.
    Capture(CaptureKind),
    /// Yes, once it is back in place.
    PutBack,
    /// Yes to try again, after something could not be computed.
    Trouble,
}

impl Form {
    /// What is asked for, in words.
    #[must_use]
    pub fn wanted(&self) -> &'static str {
        match self {
            Form::Confirm | Form::PutBack => "yes or no",
            Form::Choose(_) => "one of the choices",
            Form::Number(_) => "a number",
            Form::Text(_) => "a line of text",
            Form::Capture(_) => "the path of a capture file",
            Form::Trouble => "yes to try again, or going back",
        }
    }
}

/// The screen of a step that is due; none where it asks nothing.
pub(super) fn of_step(
    walk: &Walk<'_>,
    state: &State,
    due: &Due<'_>,
    library: &Library,
) -> Result<Option<Screen>, Astray> {
    let form = match &due.step.question {
        Question::Confirm { .. } => Form::Confirm,
        Question::Choose { choices, .. } => Form::Choose(choices.clone()),
        Question::Measure { form, .. } => Form::Number(meant(form, state)),
        Question::Capture { kind, .. } => Form::Capture(*kind),
        Question::Note { form, .. } => Form::Text(*form),
        Question::Compute { .. } | Question::Call { .. } | Question::Outcome { .. } => {
            return Ok(None);
        }
    };
    let shown = walk.due_shown(due)?;
    let number = answered(walk) + 1;
    Ok(Some(Screen {
        job: job(state),
        practice: !state.practice().is_empty(),
        step: due.path.clone(),
        phase: shown.phase,
        number,
        about: number.max(number + remaining(walk, library).saturating_sub(1)),
        again_for: due.again_for.as_ref().map(|condition| condition.0.clone()),
        hazards: shown.hazards,
        action: shown.action,
        asked: shown.asked,
        form,
        why: due.step.why.clone(),
        good: due.step.good.clone(),
        mistakes: due.step.mistakes.clone(),
        so_far: so_far(walk),
        disabled: disabled(walk),
        waiver: waiving::who_may(walk, state, due, library),
    }))
}

/// A number's form with the unit that this shop means where none is typed.
fn meant(form: &NumberForm, state: &State) -> NumberForm {
    let units = state
        .opening()
        .map_or_else(Default::default, |o| o.limits.units);
    NumberForm {
        meant: units.meant(form.unit),
        ..form.clone()
    }
}

/// The screen on which something disabled is put back.
pub(super) fn of_put_back(walk: &Walk<'_>, state: &State, item: &Disabling) -> Screen {
    let number = answered(walk) + 1;
    let left = walk.disabled().count();
    Screen {
        job: job(state),
        practice: !state.practice().is_empty(),
        step: format!("{PUT_BACK}{}", item.item),
        phase: PUT_BACK_PHASE.to_owned(),
        number,
        about: number + left.saturating_sub(1),
        again_for: None,
        hazards: vec![Hazard {
            word: SignalWord::Warning,
            text: PUT_BACK_WARNING.to_owned(),
        }],
        action: Some(item.restore.clone()),
        asked: format!("Back as it was: {}.", item.item),
        form: Form::PutBack,
        why: Some("The vehicle must leave the workshop as it came.".to_owned()),
        good: None,
        mistakes: None,
        so_far: so_far(walk),
        disabled: disabled(walk),
        waiver: Err("it puts back what was disabled".to_owned()),
    }
}

/// The screen after something could not be computed.
#[must_use]
pub fn of_trouble(state: &State, step: &str, message: &str) -> Screen {
    Screen {
        job: job(state),
        practice: !state.practice().is_empty(),
        step: step.to_owned(),
        phase: "computing".to_owned(),
        number: 0,
        about: 0,
        again_for: None,
        hazards: Vec::new(),
        action: Some(message.to_owned()),
        asked: "This could not be computed. Try again, or go back and answer differently?"
            .to_owned(),
        form: Form::Trouble,
        why: None,
        good: None,
        mistakes: None,
        so_far: Vec::new(),
        disabled: Vec::new(),
        waiver: Err("nothing is asked of anybody here".to_owned()),
    }
}

/// What was asked and answered so far and counts; what the person went back behind stands in the record.
#[must_use]
pub fn so_far(walk: &Walk<'_>) -> Vec<Said> {
    let past = walk.past().iter();
    let past = past.filter(|past| past.asked && !past.superseded);
    past.map(|past| Said {
        asked: past.shown.asked.clone(),
        answered: past.value.shown(),
    })
    .collect()
}

/// What is not as it was on the vehicle, each with how it is put back.
#[must_use]
pub fn disabled(walk: &Walk<'_>) -> Vec<String> {
    walk.disabled()
        .map(|entry| format!("{}: {}", entry.item, entry.restore))
        .collect()
}

fn job(state: &State) -> String {
    state.opening().map(|o| o.job.clone()).unwrap_or_default()
}

fn answered(walk: &Walk<'_>) -> usize {
    let past = walk.past().iter();
    past.filter(|past| past.asked && !past.superseded).count()
}

/// About how many questions are still to come: the longest way on that meets no step twice, in every
/// procedure that is open.
fn remaining(walk: &Walk<'_>, library: &Library) -> usize {
    walk.places()
        .map(|(procedure, at)| Way::new(library, procedure).from(at))
        .sum()
}

struct Way<'l> {
    library: &'l Library,
    procedure: &'l Procedure<StepIndex>,
    known: BTreeMap<StepIndex, usize>,
    depth: usize,
}

/// Calls within calls that are still counted.
const DEEPEST_CALL: usize = 4;

impl<'l> Way<'l> {
    fn new(library: &'l Library, procedure: &'l Procedure<StepIndex>) -> Self {
        Way {
            library,
            procedure,
            known: BTreeMap::new(),
            depth: 0,
        }
    }

    fn from(&mut self, at: StepIndex) -> usize {
        if let Some(known) = self.known.get(&at) {
            return *known;
        }
        self.known.insert(at, 0); // a step met again on the way adds nothing
        let Some(step) = self.procedure.steps.get(at.0) else {
            return 0;
        };
        let own = match &step.question {
            Question::Compute { .. } | Question::Outcome { .. } => 0,
            Question::Call { procedure, .. } => self.called(procedure),
            _ => 1,
        };
        let on = targets(&step.question);
        let longest = on.into_iter().map(|target| self.from(target)).max();
        let all = own + longest.unwrap_or(0);
        self.known.insert(at, all);
        all
    }

    fn called(&self, name: &str) -> usize {
        match self.library.procedures.get(name) {
            Some(procedure) if self.depth < DEEPEST_CALL => {
                let mut way = Way::new(self.library, procedure);
                way.depth = self.depth + 1;
                way.from(StepIndex(0))
            }
            _ => 0,
        }
    }
}

/// Where a question leads; of a statement only where yes leads.
fn targets(question: &Question<StepIndex>) -> Vec<StepIndex> {
    match question {
        Question::Confirm { yes, .. } => vec![*yes],
        Question::Outcome { .. } => Vec::new(),
        Question::Choose { next, .. }
        | Question::Measure { next, .. }
        | Question::Capture { next, .. }
        | Question::Note { next, .. }
        | Question::Compute { next, .. }
        | Question::Call { next, .. } => match next {
            Next::Always(target) => vec![*target],
            Next::When(branches) => branches.iter().map(|branch| branch.target).collect(),
        },
    }
}
