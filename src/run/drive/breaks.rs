//! What time does to a job: the starter's rest, and questions that stood unanswered.

use chrono::TimeDelta;

use super::{DriveError, Ended, Hands, Job, Taken};
use crate::run::event::Event;
use crate::run::input::{Input, in_doubt, lasted_longer};
use crate::run::journal::Storage;
use crate::run::next::{Next, next};
use crate::run::screen::Screen;
use crate::run::starter::{self, Rested};
use crate::run::walk::{Walk, is_looked, turns_starter};

/// The reason of a break that nobody asked for: the question stood unanswered.
const UNATTENDED: &str = "nobody answered";

/// The reason of a break in which the starter rests.
pub(crate) const RESTS: &str = "the starter rests";

/// How long a look around is fresh. Our own choice: time to walk from the front of a vehicle to its key.
const FRESH: TimeDelta = TimeDelta::seconds(10);

/// Minutes that a question may stand unanswered before what was made safe is asked again, where the shop's
/// own limit for breaks is shorter. Common practice, no source.
const UNATTENDED_MINUTES: i64 = 30;

impl<S: Storage> Job<'_, S> {
    /// The rest that the starter is due before a step that turns it; one that is cut short stands in the
    /// journal with its reason. None where the step can be asked then.
    pub(super) fn rest(
        &mut self,
        screen: &Screen,
        hands: &mut Hands<'_>,
    ) -> Result<Option<Taken>, DriveError> {
        let now = hands.asker.now();
        let Some(due) = starter::rest_due(self.library, &self.state, &screen.step, &now)? else {
            return Ok(None);
        };
        if [self.cut_after, self.told_after].contains(&Some(due.cranks)) {
            return Ok(None);
        }
        let walk = Walk::through(self.library, &self.state)?;
        let turns = walk.step_at(&screen.step).is_ok_and(turns_starter);
        if turns && walk.key_is_in() && i64::from(due.seconds) > FRESH.num_seconds() {
            // the key goes away first; the rest comes before the look around that is asked again
            return self.look_lapses(&walk, now).map(Some);
        }
        match hands.asker.rest(&due) {
            Ok(Rested::Whole) => {}
            Ok(Rested::Cut { left_s, reason }) => {
                let at = hands.asker.now();
                self.put(Input::Note(due.cut_short(left_s, &reason)), at)?;
                self.cut_after = Some(due.cranks);
            }
            Ok(Rested::Back) => {
                let at = hands.asker.now();
                self.put(Input::Back, at)?;
                return Ok(Some(Taken::On));
            }
            Err(why) => return Ok(Some(Taken::Left(Ended::Left(why)))),
        }
        self.look_again(screen, &now, hands)
    }

    /// A question with what came of the starter's rest, where its step makes sure of that.
    pub(super) fn with_rest(
        &self,
        mut screen: Screen,
        hands: &mut Hands<'_>,
    ) -> Result<Screen, DriveError> {
        let now = hands.asker.now();
        let path = &screen.step;
        let told = starter::rest_told(self.library, &self.state, path, &now, self.cut_after)?;
        let lines: Vec<String> = screen.action.take().into_iter().chain(told).collect();
        screen.action = (!lines.is_empty()).then(|| lines.join("\n"));
        Ok(screen)
    }

    /// Whoever looked around before a rest of some length, wherever it is counted down, looks again before the starter
    /// turns.
    fn look_again(
        &mut self,
        screen: &Screen,
        began: &str,
        hands: &mut Hands<'_>,
    ) -> Result<Option<Taken>, DriveError> {
        let at = hands.asker.now();
        let read = |text: &str| chrono::DateTime::parse_from_rfc3339(text).ok();
        let rested = read(&at).zip(read(began)).map(|(end, begin)| end - begin);
        let walk = Walk::through(self.library, &self.state)?;
        let turns = walk.step_at(&screen.step).is_ok_and(turns_starter);
        let fresh = rested.is_some_and(|rested| rested <= FRESH);
        if fresh || !(turns || walk.held().iter().any(is_looked)) {
            return Ok(None);
        }
        self.look_lapses(&walk, at).map(Some)
    }

    fn look_lapses(&mut self, walk: &Walk<'_>, at: String) -> Result<Taken, DriveError> {
        let looked = walk.held().iter().filter(|held| is_looked(held));
        let lapsed = looked.cloned().collect();
        self.put(Input::Pause(RESTS.to_owned()), at.clone())?;
        self.record(Event::Resumed { lapsed }, at)?;
        Ok(Taken::On)
    }

    /// Nobody answered for so long that what was made safe is asked again before this answer counts. Work
    /// that needs nothing to hold is not touched by that.
    pub(super) fn long_ago(
        &mut self,
        screen: &Screen,
        input: &Input,
        at: &str,
    ) -> Result<bool, DriveError> {
        let answers = !matches!(
            input,
            Input::Back
                | Input::CrankAnew
                | Input::BackTo(_)
                | Input::Note(_)
                | Input::Cranked(_)
                | Input::Stop(_)
                | Input::Attach(_)
        );
        let opening = self.state.opening();
        let minutes = opening.map_or(0, |o| i64::from(o.breaks_and_waivers.pause_minutes));
        if !answers || !lasted_longer(&self.state, at, minutes.max(UNATTENDED_MINUTES)) {
            return Ok(false);
        }
        self.put(Input::Pause(UNATTENDED.to_owned()), at.to_owned())?;
        self.state_is_in_doubt(at)?;
        let next = next(self.library, &self.state)?;
        Ok(
            !matches!(next, Next::Ask(next) if next.step == screen.step && next.again_for == screen.again_for),
        )
    }

    fn state_is_in_doubt(&mut self, at: &str) -> Result<(), DriveError> {
        let walk = Walk::through(self.library, &self.state)?;
        let lapsed = in_doubt(&walk);
        self.record(Event::Resumed { lapsed }, at.to_owned())?;
        Ok(())
    }
}
