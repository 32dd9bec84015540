//! What is looked at before a reply is taken: a yes that was spoken against before, and a stop without a vehicle.

use super::{DriveError, Ended, Hands, Job, Taken};
use crate::procedure::model::RecordLine;
use crate::run::asker::{Reply, Told};
use crate::run::input::{Input, step};
use crate::run::journal::Storage;
use crate::run::refusal::Refusal;
use crate::run::screen::{Form, Screen};
use crate::run::voltage;
use crate::run::walk::Walk;

/// The lines by which a job is told from others.
const VEHICLE: [RecordLine; 2] = [RecordLine::Vehicle, RecordLine::VehicleIdentity];

impl<S: Storage> Job<'_, S> {
    /// What keeps a reply from being taken; none where nothing does.
    pub(super) fn consider(
        &mut self,
        reply: &Reply,
        screen: &Screen,
        refused: Option<&Refusal>,
        hands: &mut Hands<'_>,
    ) -> Result<Option<Taken>, DriveError> {
        match (reply, &screen.form) {
            (Reply::Yes, Form::Confirm) => self.spoken_against(screen, refused, hands),
            (Reply::Stop(_), Form::Text(_)) => self.name_vehicle(screen, hands),
            _ => Ok(None),
        }
    }

    /// A yes that the vehicle's description speaks against is asked once more; given again it counts, and stands in
    /// the journal as given twice.
    fn spoken_against(
        &mut self,
        screen: &Screen,
        refused: Option<&Refusal>,
        hands: &mut Hands<'_>,
    ) -> Result<Option<Taken>, DriveError> {
        let walk = Walk::through(self.library, &self.state)?;
        let Some(vehicle) = voltage::spoken_against(&walk, &screen.step)? else {
            return Ok(None);
        };
        if !matches!(refused, Some(Refusal::Described { .. })) {
            return Ok(Some(Taken::Refused(Refusal::Described { vehicle })));
        }
        let twice = format!(
            "Asked once more, because the vehicle is described as {vehicle:?}: yes, given twice."
        );
        let at = hands.asker.now();
        self.put(Input::Note(twice), at)?;
        Ok(None)
    }

    /// Whoever stops at the question for the vehicle is asked for it once, or the sealed job would be nobody's. Where
    /// they give none, it is sealed without.
    fn name_vehicle(
        &mut self,
        screen: &Screen,
        hands: &mut Hands<'_>,
    ) -> Result<Option<Taken>, DriveError> {
        let walk = Walk::through(self.library, &self.state)?;
        let known = VEHICLE.iter().any(|line| walk.lines().contains_key(line));
        let fills = walk.step_at(&screen.step).ok().and_then(|step| step.fills);
        if known || !fills.is_some_and(|line| VEHICLE.contains(&line)) || walk.stopped().is_some() {
            return Ok(None);
        }
        loop {
            let text = match hands.asker.vehicle() {
                Ok(Some(text)) => text,
                Ok(None) => return Ok(None),
                Err(why) => return Ok(Some(Taken::Left(Ended::Left(why)))),
            };
            let typed = Input::Typed { text, before: None };
            match step(self.library, &self.state, typed.clone()) {
                Ok(_) => {
                    let at = hands.asker.now();
                    self.put(typed, at)?;
                    return Ok(None);
                }
                Err(Refusal::Astray(astray)) => return Err(astray.into()),
                Err(why) => {
                    if let Err(why) = hands.asker.tell(&Told::Said(&why.to_string())) {
                        return Ok(Some(Taken::Left(Ended::Left(why))));
                    }
                }
            }
        }
    }
}
