//! The end of a job: whoever gives an answer that leads there is told before, and what was found after it.

use super::{DriveError, Hands, Job, Taken, told};
use crate::procedure::model::OutcomeKind;
use crate::run::asker::Told;
use crate::run::ended::{Cranked, found};
use crate::run::event::{Event, Stamped};
use crate::run::input::{Input, step};
use crate::run::journal::Storage;
use crate::run::next::{Next, next};
use crate::run::screen::{Ends, Form, Screen};
use crate::run::walk::Walk;

impl<S: Storage> Job<'_, S> {
    /// Write the outcome down, and tell it.
    pub(super) fn conclude(
        &mut self,
        event: &Event,
        hands: &mut Hands<'_>,
    ) -> Result<Taken, DriveError> {
        let at = hands.asker.now();
        self.put(Input::Proceed, at)?;
        let Event::Concluded { kind, .. } = event else {
            return Ok(Taken::On);
        };
        let walk = Walk::through(self.library, &self.state)?;
        let found = found(*kind, &Cranked::of_job(&self.state, &walk));
        let found = &found;
        Ok(told(hands.asker.tell(&Told::Concluded { event, found })))
    }

    /// The answers to that question after which nothing more is asked. What is typed or captured has to be judged
    /// first, so nothing is known of it.
    pub(super) fn ends(&self, screen: &Screen) -> Option<Ends> {
        let yes_or_no = || {
            let answer = |(name, yes): (&str, bool)| (name.to_owned(), Input::Confirm(yes));
            [("yes", true), ("no", false)].map(answer).to_vec()
        };
        let inputs = match &screen.form {
            Form::Confirm | Form::PutBack => yes_or_no(),
            Form::Choose(choices) => {
                let names = choices.iter().map(|choice| choice.name.clone());
                names
                    .map(|name| (name.clone(), Input::Choose(name)))
                    .collect()
            }
            _ => return None,
        };
        let ending = |(name, input)| Some((name, self.ending(input)?));
        let answers: Vec<_> = inputs.into_iter().filter_map(ending).collect();
        let back = step(self.library, &self.state, Input::Back).is_ok();
        if answers.is_empty() {
            return None;
        }
        let walk = Walk::through(self.library, &self.state).ok()?;
        let off = walk.ledger().iter().map(|entry| entry.item.0.clone());
        let mut off: Vec<String> = off.collect();
        off.sort();
        off.dedup();
        Some(Ends { answers, back, off })
    }

    /// The outcome that the job comes to by that input at once.
    fn ending(&self, input: Input) -> Option<OutcomeKind> {
        let events = step(self.library, &self.state, input).ok()?;
        let mut state = self.state.clone();
        let at = state.last_at().unwrap_or_default().to_owned();
        for event in events {
            let at = at.clone();
            state.push(Stamped { at, event });
        }
        match next(self.library, &state).ok()? {
            Next::Conclude(Event::Concluded { kind, .. }) => Some(kind),
            _ => None,
        }
    }
}
