//! A job driven from question to question: ask, judge, write down, and only then go on.

mod breaks;
mod doubt;
mod ending;
mod handing;
mod repeating;
mod said;

use rust_decimal::Decimal;
use thiserror::Error;

use crate::engine::Engine;
use crate::procedure::model::Library;
use crate::run::asker::{Asker, NoAnswer, Reply, Told};
use crate::run::compute::Request;
use crate::run::computing::Computing;
use crate::run::event::{Event, Stamped, WaiverFile};
use crate::run::input::{Input, step};
use crate::run::journal::{Journal, JournalError, Storage};
use crate::run::keeper::{Keeper, Waiving};
use crate::run::next::{Next, next};
use crate::run::refusal::Refusal;
use crate::run::screen::{self, Form, Screen};
use crate::run::state::State;
use crate::run::vehicle;
use crate::run::walk::{Astray, Walk};

pub(crate) use breaks::RESTS;

/// The reason of a pause that was asked for.
pub const ASKED: &str = "asked";

/// A job that is open.
#[derive(Debug)]
pub struct Job<'l, S> {
    library: &'l Library,
    journal: Journal<S>,
    state: State,
    /// Cranks before which a rest was cut short: the reason holds until the starter turns again.
    cut_after: Option<usize>,
    /// Cranks before which a rest was told and not counted down: the capture at hand may be handed over again.
    told_after: Option<usize>,
}

/// Who helps a job along.
pub struct Hands<'h> {
    /// Who answers.
    pub asker: &'h mut dyn Asker,
    /// Who keeps captures.
    pub keeper: &'h mut dyn Keeper,
    /// Who computes.
    pub computing: &'h mut dyn Computing,
}

/// How driving ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ended {
    /// The job is concluded and its journal sealed.
    Sealed,
    /// The person paused.
    Paused,
    /// No reply came; the job is left open.
    Left(NoAnswer),
}

/// Why a job cannot be driven on.
#[derive(Debug, Error)]
pub enum DriveError {
    /// The journal.
    #[error(transparent)]
    Journal(#[from] JournalError),
    /// The journal and the procedures do not go together.
    #[error(transparent)]
    Astray(#[from] Astray),
    /// An input of the program's own was not taken.
    #[error("the run took a wrong turn: {0}")]
    Refused(#[from] Refusal),
}

/// What an input came to.
enum Taken {
    On,
    Refused(Refusal),
    Left(Ended),
}

impl<'l, S: Storage> Job<'l, S> {
    /// A job whose journal holds these events.
    pub fn new(library: &'l Library, journal: Journal<S>, state: State) -> Self {
        Job {
            library,
            journal,
            state,
            cut_after: None,
            told_after: None,
        }
    }

    /// Its procedures.
    #[must_use]
    pub fn library(&self) -> &'l Library {
        self.library
    }

    /// Where it stands.
    #[must_use]
    pub fn state(&self) -> &State {
        &self.state
    }

    /// Its journal.
    #[must_use]
    pub fn journal(&self) -> &Journal<S> {
        &self.journal
    }

    /// Write an event down.
    ///
    /// # Errors
    /// Where it could not be written.
    pub fn record(&mut self, event: Event, at: String) -> Result<(), JournalError> {
        let written = self.journal.append(&Stamped { at, event })?;
        self.state.push(written);
        Ok(())
    }

    /// Take the job up again: what was true of the vehicle before the break is asked again.
    ///
    /// # Errors
    /// Where it could not be written, or the job is over.
    pub fn resume(&mut self, at: String) -> Result<(), DriveError> {
        self.put(Input::Resume { at: at.clone() }, at)
    }

    fn put(&mut self, input: Input, at: String) -> Result<(), DriveError> {
        for event in step(self.library, &self.state, input)? {
            self.record(event, at.clone())?;
        }
        Ok(())
    }

    /// Go from question to question until the job is sealed or left.
    ///
    /// # Errors
    /// Where the journal cannot be written, or the events do not fit the procedures.
    pub fn drive(&mut self, hands: &mut Hands<'_>) -> Result<Ended, DriveError> {
        loop {
            let before = self.state.events().len();
            let taken = match next(self.library, &self.state)? {
                Next::Ask(screen) => match self.rest(&screen, hands)? {
                    None => {
                        let screen = self.with_rest(*screen, hands)?;
                        self.ask(&screen, hands)?
                    }
                    Some(taken) => taken,
                },
                Next::Compute {
                    step,
                    request,
                    computation,
                } => self.compute(&step, computation.name(), request, hands)?,
                Next::Conclude(event) => self.conclude(&event, hands)?,
                Next::Seal => {
                    let at = hands.asker.now();
                    self.put(Input::Proceed, at)?;
                    Taken::On
                }
                Next::Done => return Ok(Ended::Sealed),
            };
            let taken = match taken {
                Taken::On => self.tell_returned(before, hands)?,
                other => other,
            };
            if let Taken::Left(ended) = taken {
                return self.leave(ended, hands);
            }
        }
    }

    /// The engine, as far as the job knows it.
    fn engine(&self) -> Result<Option<Engine>, DriveError> {
        let walk = Walk::through(self.library, &self.state)?;
        Ok(vehicle::engine(walk.lines()).ok())
    }

    /// Ask one question until a reply is taken.
    fn ask(&mut self, screen: &Screen, hands: &mut Hands<'_>) -> Result<Taken, DriveError> {
        let mut refused: Option<Refusal> = None;
        let mut screen = screen.clone();
        screen.ends = self.ends(&screen);
        let screen = &screen;
        loop {
            let reply = match hands.asker.ask(screen, refused.as_ref()) {
                Ok(reply) => reply,
                Err(why) => return Ok(Taken::Left(Ended::Left(why))),
            };
            let taken = match self.consider(&reply, screen, refused.as_ref(), hands)? {
                Some(taken) => taken,
                None => self.reply(reply, screen, unexpected(refused.as_ref()), hands)?,
            };
            match taken {
                Taken::Refused(why) => refused = Some(why),
                other => return Ok(other),
            }
        }
    }

    fn reply(
        &mut self,
        reply: Reply,
        screen: &Screen,
        before: Option<Decimal>,
        hands: &mut Hands<'_>,
    ) -> Result<Taken, DriveError> {
        let input = match reply {
            Reply::Pause => return Ok(Taken::Left(Ended::Paused)),
            Reply::Yes if screen.form == Form::Trouble => return Ok(Taken::On),
            Reply::Yes => Input::Confirm(true),
            Reply::No => Input::Confirm(false),
            Reply::Choice(name) => Input::Choose(name),
            Reply::Typed(text) => Input::Typed { text, before },
            Reply::File(path) => match &screen.form {
                Form::Capture(kind) => match self.keep(&path, *kind, screen, hands)? {
                    Ok(file) => Input::Capture(file),
                    Err(taken) => return Ok(taken),
                },
                form => {
                    let (given, wanted) = ("a capture file", form.wanted());
                    return Ok(Taken::Refused(Refusal::OtherKind { given, wanted }));
                }
            },
            Reply::Attach(path) => match hands.keeper.attach(&path) {
                Ok(attachment) => Input::Attach(attachment),
                Err(why) => return Ok(Taken::Refused(Refusal::NotKept(why))),
            },
            Reply::Waive { reason, key } => match self.waive(screen, &reason, &key, hands) {
                Ok(waiver) => Input::Waive(waiver),
                Err(refusal) => return Ok(Taken::Refused(refusal)),
            },
            Reply::Back => Input::Back,
            Reply::CrankAnew => Input::CrankAnew,
            Reply::BackTo(number) => Input::BackTo(number),
            Reply::Note(text) => Input::Note(text),
            Reply::Cranked(reason) => Input::Cranked(reason),
            Reply::Stop(reason) => Input::Stop(reason),
        };
        let understood = said::understood(&input);
        let typed = handing::typed(&input);
        let beside = said::beside(&input);
        let at = hands.asker.now();
        if self.long_ago(screen, &input, &at)? {
            return Ok(Taken::On);
        }
        match step(self.library, &self.state, input) {
            Ok(events) => {
                let converted = |event| said::converted(event, &typed);
                let beside = beside.or_else(|| events.iter().find_map(converted));
                let since = self.state.events().len();
                for event in events {
                    self.record(event, at.clone())?;
                }
                if let Some(beside) = self.with_claims(beside, since, hands)? {
                    return Ok(told(hands.asker.tell(&Told::Said(&beside))));
                }
                // how a capture was read is seen before anything is computed from it
                if understood.is_empty() {
                    return Ok(Taken::On);
                }
                Ok(told(hands.asker.tell(&Told::Understood(&understood))))
            }
            Err(Refusal::Astray(astray)) => Err(astray.into()),
            Err(refusal) => Ok(Taken::Refused(refusal)),
        }
    }

    fn waive(
        &mut self,
        screen: &Screen,
        reason: &str,
        key: &str,
        hands: &mut Hands<'_>,
    ) -> Result<WaiverFile, Refusal> {
        let may = screen.waiver.as_ref();
        let may = may.map_err(|why| Refusal::NotWaivable(why.clone()))?;
        if reason.trim().is_empty() {
            return Err(Refusal::Empty);
        }
        let waiving = Waiving {
            step: &screen.step,
            asked: &screen.asked,
            reason: reason.trim(),
            key,
            may,
            head: self.journal.head(),
            at: &hands.asker.now(),
        };
        hands.keeper.waive(&waiving).map_err(Refusal::NotKept)
    }

    fn compute(
        &mut self,
        step: &str,
        computation: &str,
        request: Result<Box<Request>, String>,
        hands: &mut Hands<'_>,
    ) -> Result<Taken, DriveError> {
        if let Err(why) = hands.asker.tell(&Told::Computing(computation)) {
            return Ok(Taken::Left(Ended::Left(why)));
        }
        let computed = request.and_then(|request| request.compute(hands.computing));
        let computed = match computed {
            Ok(computed) => computed,
            Err(message) => {
                let walk = Walk::through(self.library, &self.state)?;
                let so_far = screen::so_far(&walk);
                let screen = screen::of_trouble(&self.state, step, &message, so_far);
                return self.ask(&screen, hands);
            }
        };
        let at = hands.asker.now();
        self.put(Input::Computed(computed.clone()), at)?;
        Ok(told(hands.asker.tell(&Told::Computed {
            step,
            computation,
            computed: &computed,
        })))
    }

    /// Tell of called procedures that came to their outcome since.
    fn tell_returned(&self, before: usize, hands: &mut Hands<'_>) -> Result<Taken, DriveError> {
        let walk = Walk::through(self.library, &self.state)?;
        for returned in walk.returned() {
            if returned.line > before {
                let told = hands.asker.tell(&Told::Returned(returned));
                if let Err(why) = told {
                    return Ok(Taken::Left(Ended::Left(why)));
                }
            }
        }
        Ok(Taken::On)
    }

    fn leave(&mut self, ended: Ended, hands: &mut Hands<'_>) -> Result<Ended, DriveError> {
        let reason = match &ended {
            Ended::Left(why) => why.reason(),
            _ => ASKED,
        };
        if self.state.concluded().is_none() {
            let at = hands.asker.now();
            self.put(Input::Pause(reason.to_owned()), at)?;
        }
        Ok(ended)
    }
}

fn told(result: Result<(), NoAnswer>) -> Taken {
    match result {
        Ok(()) => Taken::On,
        Err(why) => Taken::Left(Ended::Left(why)),
    }
}

fn unexpected(refused: Option<&Refusal>) -> Option<Decimal> {
    match refused {
        Some(Refusal::Unexpected { value, .. }) => Some(*value),
        _ => None,
    }
}
