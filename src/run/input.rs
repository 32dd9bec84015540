//! One input to a job, judged: the events that it makes, or why it is not taken. There is no input
//! that skips a step.

use rust_decimal::Decimal;

use crate::procedure::model::{Choice, Library};
use crate::procedure::work::Condition;
use crate::run::carry::next_carried;
use crate::run::compute::Computed;
use crate::run::event::{Answer, Attachment, CaptureFile, Event, Stamped, WaiverFile};
use crate::run::gauges;
use crate::run::going_back::{before, numbered, reopened};
use crate::run::left_off;
use crate::run::next::{Next, from_walk};
use crate::run::refusal::Refusal;
use crate::run::screen::{Form, PUT_BACK, Screen};
use crate::run::state::State;
use crate::run::typed;
use crate::run::walk::{Astray, KEY_OUT, Walk, is_looked, looked_after};
use crate::text::steers;

/// Conditions that a break in the work does not end, because they are facts of the vehicle and not
/// states of it. All others are made sure of again after a break: nobody knows what happened in it.
const LASTING: [&str; 1] = ["drive checked"];

/// An input.
#[derive(Debug, Clone, PartialEq)]
pub enum Input {
    /// Yes or no.
    Confirm(bool),
    /// A choice by name.
    Choose(String),
    /// What was typed where a number or text is asked for.
    Typed {
        /// It.
        text: String,
        /// The value that was just asked about because it is not expected.
        before: Option<Decimal>,
    },
    /// A capture that lies in the job.
    Capture(CaptureFile),
    /// What was computed.
    Computed(Computed),
    /// Back to the question before.
    Back,
    /// Not another file of the crank that was: crank anew.
    CrankAnew,
    /// Back to the question of that number, from 1.
    BackTo(usize),
    /// A free note.
    Note(String),
    /// The starter was turned, and no capture came of it, for that reason.
    Cranked(String),
    /// A capture of a crank was handed over, and could not be taken.
    NotTaken {
        /// Why.
        reason: String,
        /// SHA-256 of it, hex.
        sha256: String,
    },
    /// Leave the job open, with the reason.
    Pause(String),
    /// A photograph or another file that lies in the job.
    Attach(Attachment),
    /// A lead's signed word that the step need not be done.
    Waive(WaiverFile),
    /// Take the job up again after a break.
    Resume {
        /// The time now, UTC, RFC 3339.
        at: String,
    },
    /// Stop the work, with the reason.
    Stop(String),
    /// Go on where nothing is asked: conclude, then seal.
    Proceed,
}

/// The events that an input makes.
///
/// # Errors
/// Why it is not taken; the job stands where it stood.
pub fn step(library: &Library, state: &State, input: Input) -> Result<Vec<Event>, Refusal> {
    let walk = Walk::through(library, state)?;
    step_from(library, state, &walk, input)
}

/// The same where the job's walk is at hand.
///
/// # Errors
/// As [`step`].
pub(crate) fn step_from(
    library: &Library,
    state: &State,
    walk: &Walk<'_>,
    input: Input,
) -> Result<Vec<Event>, Refusal> {
    let next = from_walk(library, state, walk)?;
    let over = matches!(next, Next::Seal | Next::Done);
    let stop = match (&input, &next) {
        (Input::Confirm(false), Next::Ask(screen)) if screen.form == Form::Confirm => {
            left_off::stop(walk, &screen.step, &screen.asked)?
        }
        _ => None,
    };
    let event = match (input, next) {
        (Input::Proceed, Next::Conclude(event)) => event,
        (Input::Proceed, Next::Seal) => Event::Sealed,
        (_, _) if over => return Err(Refusal::Over),
        (Input::Note(text), next) => Event::Noted {
            step: step_of(&next),
            text: line(&text)?,
        },
        (Input::Pause(reason), _) => Event::Paused { reason },
        (Input::Attach(attachment), next) => Event::Attached {
            step: step_of(&next),
            attachment,
        },
        (Input::Resume { at }, _) => Event::Resumed {
            lapsed: lapsed(walk, state, &at),
        },
        (Input::Back, _) => reopened(walk, state, before(walk)?),
        (Input::BackTo(number), _) => reopened(walk, state, numbered(walk, number)?),
        (Input::CrankAnew, Next::Ask(screen)) if screen.same_crank => Event::Reopened {
            step: screen.step,
            same_crank: false,
        },
        (Input::Stop(_), _) if walk.stopped().is_some() => return Err(Refusal::Stopped),
        (Input::Stop(_), Next::Ask(screen)) if screen.closing => return Err(Refusal::Closing),
        (Input::Stop(reason), _) => Event::Stopped {
            reason: line(&reason)?,
        },
        (
            Input::Computed(computed),
            Next::Compute {
                step, computation, ..
            },
        ) => Event::Computed {
            step,
            computation: computation.name().to_owned(),
            facts: computed.facts,
            analysis: computed.analysis,
            drawing: computed.drawing,
        },
        (input, Next::Ask(screen)) => asked(walk, *screen, input)?,
        (input, _) => {
            return Err(Refusal::OtherKind {
                given: given(&input),
                wanted: "nothing of a person",
            });
        }
    };
    if let Some(stop) = stop {
        return Ok(vec![event, stop]);
    }
    Ok(with_carried(library, state, event)?)
}

/// What an input makes of a step that asks.
fn asked(walk: &Walk<'_>, screen: Screen, input: Input) -> Result<Event, Refusal> {
    Ok(match input {
        Input::Cranked(reason) if screen.cranks() => Event::Cranked {
            lapsed: ended_by_crank(walk, &screen.step)?,
            step: screen.step,
            reason: line(&reason)?,
            sha256: None,
        },
        Input::NotTaken { reason, sha256 } if screen.cranks() => Event::Cranked {
            step: screen.step,
            reason: reason.split_whitespace().collect::<Vec<_>>().join(" "),
            sha256: Some(sha256),
            lapsed: Vec::new(), // the question stands, for the same capture with its set-up mended
        },
        Input::Waive(word) => {
            screen.waiver.map_err(Refusal::NotWaivable)?;
            Event::Waived {
                step: screen.step,
                word,
            }
        }
        input => answer(walk, &screen, input)?,
    })
}

/// What a crank ends that gave no capture: what its step ends when it is answered, and the look around.
fn ended_by_crank(walk: &Walk<'_>, path: &str) -> Result<Vec<Condition>, Astray> {
    let step = walk.step_at(path)?;
    let ends = |held: &&Condition| step.revokes.contains(held) || is_looked(held);
    let mut ended: Vec<Condition> = walk.held().iter().filter(ends).cloned().collect();
    ended.sort_by_key(looked_after);
    Ok(ended)
}

/// The event, and the answers that still count after it although the person had gone back behind them.
fn with_carried(library: &Library, state: &State, event: Event) -> Result<Vec<Event>, Astray> {
    let moves_on = matches!(
        event,
        Event::Answered { .. } | Event::Computed { .. } | Event::Waived { .. }
    );
    let mut events = vec![event];
    if !moves_on {
        return Ok(events);
    }
    let mut ahead = state.clone();
    loop {
        let at = state.last_at().unwrap_or_default().to_owned();
        let event = events[events.len() - 1].clone();
        ahead.push(Stamped { at, event });
        match next_carried(library, &ahead)? {
            Some(carried) => events.push(carried),
            None => return Ok(events),
        }
    }
}

fn answer(walk: &Walk<'_>, screen: &Screen, input: Input) -> Result<Event, Refusal> {
    let answer = match (&screen.form, input) {
        (Form::Confirm, Input::Confirm(yes)) => Answer::Confirm { yes },
        (Form::PutBack, Input::Confirm(yes)) => return put_back(screen, yes),
        (Form::Choose(choices), Input::Choose(name)) => choice(choices, &name)?,
        (Form::Number(form), Input::Typed { text, before }) => {
            let answer = typed::number(&text, form, before)?;
            gauges::beside_supply(walk, &screen.step, &answer)?;
            answer
        }
        (Form::Text(form), Input::Typed { text, .. }) => {
            let answer = typed::text(&text, *form, walk.lines())?;
            if let Some(line) = walk.step_at(&screen.step)?.fills {
                typed::of_line(&text, line)?;
            }
            answer
        }
        (Form::Capture(_), Input::Capture(file)) => Answer::Capture(file),
        (form, input) => {
            return Err(Refusal::OtherKind {
                given: given(&input),
                wanted: form.wanted(),
            });
        }
    };
    Ok(Event::Answered {
        step: screen.step.clone(),
        answer,
    })
}

fn put_back(screen: &Screen, yes: bool) -> Result<Event, Refusal> {
    let item = screen.step.strip_prefix(PUT_BACK).unwrap_or(&screen.step);
    if yes {
        return Ok(Event::PutBack {
            item: Condition(item.to_owned()),
        });
    }
    Err(match item {
        KEY_OUT => Refusal::EngineMayRun,
        item => Refusal::MustBePutBack(item.to_owned()),
    })
}

fn choice(choices: &[Choice], name: &str) -> Result<Answer, Refusal> {
    if choices.iter().any(|choice| choice.name == name) {
        return Ok(Answer::Choice {
            name: name.to_owned(),
        });
    }
    let names: Vec<&str> = choices.iter().map(|choice| choice.name.as_str()).collect();
    Err(Refusal::NoChoice {
        name: name.to_owned(),
        choices: names.join(", "),
    })
}

/// What a break has put in doubt: nothing where it was no longer than the shop allows and the clock did
/// not go back.
fn lapsed(walk: &Walk<'_>, state: &State, at: &str) -> Vec<Condition> {
    if !is_long(state, at) {
        return Vec::new();
    }
    in_doubt(walk)
}

/// What holds now and may not hold after a break, in the order in which it is made sure of again.
#[must_use]
pub fn in_doubt(walk: &Walk<'_>) -> Vec<Condition> {
    let held = walk.held().iter();
    let lasts = |condition: &&Condition| LASTING.contains(&condition.0.as_str());
    let mut in_doubt: Vec<Condition> = held.filter(|held| !lasts(held)).cloned().collect();
    in_doubt.sort_by_key(looked_after);
    in_doubt
}

/// Whether more time went by since somebody was at the job than the shop lets a break last. A clock that went
/// back says nothing about how long it was; neither does a time that cannot be read.
#[must_use]
pub fn is_long(state: &State, at: &str) -> bool {
    let minutes = state
        .opening()
        .map_or(0, |o| o.breaks_and_waivers.pause_minutes);
    lasted_longer(state, at, i64::from(minutes))
}

/// Whether more than so many minutes went by since somebody was at the job, or nobody can say.
#[must_use]
pub fn lasted_longer(state: &State, at: &str, minutes: i64) -> bool {
    let read = |text: &str| chrono::DateTime::parse_from_rfc3339(text).ok();
    let (Some(then), Some(now)) = (state.last_attended().and_then(read), read(at)) else {
        return true;
    };
    let gone = now - then;
    minutes == 0 || gone > chrono::TimeDelta::minutes(minutes) || gone < chrono::TimeDelta::zero()
}

fn line(text: &str) -> Result<String, Refusal> {
    let text = text.trim();
    if text.is_empty() {
        return Err(Refusal::Empty);
    }
    if text.contains(steers) {
        return Err(Refusal::ControlCharacter);
    }
    Ok(text.to_owned())
}

/// Path of the step that comes next, for notes.
#[must_use]
pub fn step_of(next: &Next) -> String {
    match next {
        Next::Ask(screen) => screen.step.clone(),
        Next::Compute { step, .. } | Next::Conclude(Event::Concluded { step, .. }) => step.clone(),
        _ => String::new(),
    }
}

fn given(input: &Input) -> &'static str {
    match input {
        Input::Confirm(_) => "yes or no",
        Input::Choose(_) => "a choice",
        Input::Typed { .. } => "a typed text",
        Input::Capture(_) => "a capture",
        Input::Computed(_) => "a computed result",
        Input::Back | Input::BackTo(_) => "going back",
        Input::CrankAnew => "cranking anew",
        Input::Note(_) => "a note",
        Input::Cranked(_) => "a crank without a capture",
        Input::NotTaken { .. } => "a capture that was not taken",
        Input::Pause(_) => "a pause",
        Input::Attach(_) => "an attachment",
        Input::Waive(_) => "a waiver",
        Input::Resume { .. } => "taking up again",
        Input::Stop(_) => "a stop",
        Input::Proceed => "going on",
    }
}
