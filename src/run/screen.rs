//! What a person is shown at one question. Texts only; how they are laid out is the asker's business.

use crate::procedure::model::{
    CaptureKind, Choice, Hazard, Library, NumberForm, OutcomeKind, Question, Step, StepIndex,
    TextForm,
};
use crate::run::carry;
use crate::run::closing;
use crate::run::differs;
use crate::run::putting_back::KEY_FIRST;
use crate::run::starter;
use crate::run::state::State;
use crate::run::used_up;
use crate::run::waiving;
use crate::run::walk::{Astray, Due, KEY_OUT, Walk};

/// Prefix of the path under which something is asked to be put back.
pub const PUT_BACK: &str = "put-back/";

/// What is done where a file of a crank that was is asked for again.
const SAME_CRANK: &str = "Do not crank. This asks once more for the file of the crank that was: name it again to say its \
     columns anew, or name another file of it. To crank anew, type :n; rest and look around come first.";

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
    /// Which question of the sheets it is, from 1; 0 where the program itself asks. How many will come nobody knows: it
    /// hangs on the answers.
    pub number: usize,
    /// Which time the step is asked and how often it can be, where it is asked again in a loop.
    pub time: Option<(u32, u32)>,
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
    /// What was typed here before the person went back to it.
    pub was: Option<Was>,
    /// What was asked and answered so far, in order.
    pub so_far: Vec<Said>,
    /// What is not as it was on the vehicle, and how it is put back.
    pub disabled: Vec<String>,
    /// Who may waive the step, or why nobody may.
    pub waiver: Result<Vec<String>, String>,
    /// How it is answered, where that is otherwise than its form says.
    pub hint: Option<String>,
    /// Whether it was answered before, and the person went back behind that.
    pub again: bool,
    /// What ends the job here; none where no answer does.
    pub ends: Option<Ends>,
    /// Whether it stands again for a crank that was, so that nobody cranks for it.
    pub same_crank: bool,
    /// Whether nothing comes any more but to put back: there is nothing left to stop.
    pub closing: bool,
}

/// Answers that end the job at once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ends {
    /// Each with the outcome that it leads to: `yes`, `no`, or a choice by its name.
    pub answers: Vec<(String, OutcomeKind)>,
    /// Whether the person can still go back.
    pub back: bool,
    /// What was switched off or taken off in this job.
    pub off: Vec<String>,
}

impl Screen {
    /// Whether the starter is turned for the answer.
    #[must_use]
    pub fn cranks(&self) -> bool {
        matches!(self.form, Form::Capture(CaptureKind::Cranking))
    }

    /// Whether an answer that was given unread could hurt somebody, or end the job.
    #[must_use]
    pub fn must_be_read(&self) -> bool {
        !self.hazards.is_empty() || self.ends.is_some()
    }
}

/// A number or text that was typed before the person went back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Was {
    /// It, so that typed again it comes to the same answer.
    pub text: String,
    /// Whether it may be kept unread: not where a hazard stands before the question or another answer has
    /// changed that it hangs on.
    pub keeps: bool,
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
    let mut screen = Screen {
        job: job(state),
        practice: !state.practice().is_empty(),
        step: due.path.clone(),
        phase: shown.phase,
        number: answered(walk) + 1,
        time: time(walk, due),
        again_for: due.again_for.as_ref().map(|condition| condition.0.clone()),
        hazards: shown.hazards,
        action: shown.action,
        asked: shown.asked,
        form,
        why: due.step.why.clone(),
        good: due.step.good.clone(),
        mistakes: due.step.mistakes.clone(),
        was: None,
        so_far: so_far(walk),
        disabled: disabled(walk),
        waiver: waiving::who_may(walk, state, due, library),
        hint: None,
        again: false,
        ends: None,
        same_crank: walk.same_crank(&due.path),
        closing: closing::is_closing(walk, due)?,
    };
    if screen.same_crank {
        screen.action = Some(SAME_CRANK.to_owned());
    }
    let how_long = match screen.cranks() && !screen.same_crank {
        true => starter::how_long(library, state, walk, &due.path),
        false => None,
    };
    let lines = how_long.into_iter().chain(put_back_here(walk, due.step));
    let differs = differs::told(walk, due, screen.action.as_deref());
    let before = used_up::told(walk, due).into_iter().chain(differs);
    let lines = before.chain(screen.action.take()).chain(lines);
    let lines: Vec<String> = lines.collect();
    screen.action = (!lines.is_empty()).then(|| lines.join("\n"));
    screen.hint = match screen.cranks() && !screen.same_crank {
        true => Some(FIRED.to_owned()),
        false => closing::told(walk, due)?,
    };
    screen.was = carry::was(walk, &screen);
    screen.again = carry::was_answered(walk, &screen);
    Ok(Some(screen))
}

/// What a step puts back of all that is not as it was, by name, in the step's own order: its text cannot know what was
/// taken off. Of one thing alone that the text has in the same words it is left out.
fn put_back_here(walk: &Walk<'_>, step: &Step<StepIndex>) -> Vec<String> {
    let said = |restore: &str| {
        let action = step.action.as_deref().unwrap_or_default();
        step.restores.len() == 1 && action.contains(restore.trim_end_matches('.'))
    };
    let restores = step.restores.iter();
    let off = restores.filter_map(|item| walk.disabled().find(|entry| entry.item == *item));
    off.filter(|entry| !said(&entry.restore))
        .map(|entry| format!("- {}: {}", entry.item, entry.restore))
        .collect()
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

/// Said where a crank is recorded: no key of its own answers for an engine that fired.
const FIRED: &str =
    "Did the engine fire? Key out first. Then hand the recording over all the same.";

/// What is asked of something that is put back.
pub(crate) fn asked_back(item: &str) -> String {
    match item {
        KEY_OUT => "The engine stands, and the key is out and away.".to_owned(),
        item => format!("Back as it was: {item}."),
    }
}

/// The screen after something could not be computed. `so_far` is what was asked and answered.
#[must_use]
pub fn of_trouble(state: &State, step: &str, message: &str, so_far: Vec<Said>) -> Screen {
    Screen {
        job: job(state),
        practice: !state.practice().is_empty(),
        step: step.to_owned(),
        phase: "computing".to_owned(),
        number: 0,
        time: None,
        again_for: None,
        hazards: Vec::new(),
        action: Some(message.to_owned()),
        asked: "This could not be computed. Go back to the answer that is wrong (b; or :b and its number, which r has), or try \
                again once a file that is named above is mended?"
            .to_owned(),
        form: Form::Trouble,
        why: None,
        good: None,
        mistakes: None,
        was: None,
        so_far,
        disabled: Vec::new(),
        waiver: Err("nothing is asked of anybody here".to_owned()),
        hint: None,
        again: false,
        ends: None,
        same_crank: false,
        closing: false,
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

/// What is not as it was on the vehicle, each with how it is put back; a key that may be in before all else.
#[must_use]
pub fn disabled(walk: &Walk<'_>) -> Vec<String> {
    let key = walk.key_may_be_in().then(|| format!("key: {KEY_FIRST}"));
    let off = walk.disabled();
    let off = off.map(|entry| format!("{}: {}", entry.item, entry.restore));
    key.into_iter().chain(off).collect()
}

pub(super) fn job(state: &State) -> String {
    state.opening().map(|o| o.job.clone()).unwrap_or_default()
}

fn answered(walk: &Walk<'_>) -> usize {
    let past = walk.past().iter();
    past.filter(|past| past.asked && !past.superseded).count()
}

/// Which time of how many at most, from the second on.
fn time(walk: &Walk<'_>, due: &Due<'_>) -> Option<(u32, u32)> {
    let most = due.step.at_most.as_ref()?.times;
    let time = walk.visits(&due.path);
    (time > 1).then_some((time, most))
}
