//! Captures handed over: copied, read, and counted for the starter, which has turned whether they are taken or not.

use super::{DriveError, Ended, Hands, Job, Taken};
use crate::procedure::model::CaptureKind;
use crate::run::asker::Told;
use crate::run::event::CaptureFile;
use crate::run::input::Input;
use crate::run::journal::Storage;
use crate::run::keeper::{Headings, Unkept};
use crate::run::planned::Planned;
use crate::run::refusal::Refusal;
use crate::run::screen::Screen;
use crate::run::starter::{self, RestDue};
use crate::run::walk::Walk;

/// Why a table was not taken that was handed over and left.
const LEFT: &str = "the job was left before its columns were told";

impl<S: Storage> Job<'_, S> {
    /// Have a capture copied and read.
    pub(super) fn keep(
        &mut self,
        path: &str,
        kind: CaptureKind,
        screen: &Screen,
        hands: &mut Hands<'_>,
    ) -> Result<Result<CaptureFile, Taken>, DriveError> {
        if let Err(why) = hands.asker.tell(&Told::Reading) {
            return Ok(Err(Taken::Left(Ended::Left(why))));
        }
        let engine = self.engine()?;
        let given = match kind {
            CaptureKind::Cranking => hands.keeper.keep(path, engine.as_ref()),
            CaptureKind::AtRest => hands.keeper.keep_at_rest(path, engine.as_ref()),
        };
        let kept = match given {
            Err(Unkept::Columns(headings)) => {
                match self.by_columns(path, kind, *headings, screen, hands)? {
                    Ok(kept) => kept,
                    Err(taken) => return Ok(Err(taken)),
                }
            }
            kept => kept,
        };
        if let (CaptureKind::Cranking, Ok(file)) = (kind, &kept)
            && let Some(before) = self.had_before(file, &screen.step, hands)?
        {
            hands.keeper.drop_kept(file);
            return Ok(Err(Taken::Refused(Refusal::Capture(before))));
        }
        let again = self.refused_before(&kept);
        if let Some(remark) = self.taken_before(&kept)?
            && let Err(why) = hands.asker.tell(&Told::Said(&remark))
        {
            return Ok(Err(Taken::Left(Ended::Left(why))));
        }
        let counted = match kind {
            CaptureKind::Cranking => self.count(&kept, screen, hands)?,
            CaptureKind::AtRest => Taken::On,
        };
        if let Taken::Left(ended) = counted {
            return Ok(Err(Taken::Left(ended)));
        }
        Ok(kept.map_err(|why| Taken::Refused(Refusal::Capture(format!("{why}{again}")))))
    }

    /// Have a table kept by what the person says of its columns. One that is left there was recorded all the same.
    fn by_columns(
        &mut self,
        path: &str,
        kind: CaptureKind,
        headings: Headings,
        screen: &Screen,
        hands: &mut Hands<'_>,
    ) -> Result<Result<Result<CaptureFile, Unkept>, Taken>, DriveError> {
        let cranks = kind == CaptureKind::Cranking;
        // before anything is asked about a file that is refused whatever is said
        if cranks && let Some(before) = self.same_bytes(&screen.step, &headings.sha256, None)? {
            return Ok(Err(Taken::Refused(Refusal::Capture(before))));
        }
        let headings = self.planned(headings)?;
        let of_file = |why: String| Unkept::Refused(why).of_file(&headings.sha256);
        Ok(Ok(match hands.asker.columns(&headings) {
            Ok(Some(columns)) => {
                let engine = self.engine()?;
                hands.keeper.keep_by(path, engine.as_ref(), &columns)
            }
            Ok(None) => Err(of_file(headings.refused.clone())),
            Err(why) => {
                if cranks {
                    self.count(&Err(of_file(LEFT.to_owned())), screen, hands)?;
                }
                return Ok(Err(Taken::Left(Ended::Left(why))));
            }
        }))
    }

    /// The headings, with the signal that the job was planned for.
    fn planned(&self, headings: Headings) -> Result<Headings, DriveError> {
        let walk = Walk::through(self.library, &self.state)?;
        let planned = Planned::of_job(&walk, &self.state).map(|planned| planned.signal);
        Ok(Headings {
            planned,
            ..headings
        })
    }

    /// That a crank is one that this procedure has had already; none where it is a new one.
    fn had_before(
        &self,
        file: &CaptureFile,
        path: &str,
        hands: &mut Hands<'_>,
    ) -> Result<Option<String>, DriveError> {
        match self.same_bytes(path, &file.sha256, Some(&file.setup_sha256))? {
            None => self.same_crank(path, file, hands),
            same => Ok(same),
        }
    }

    /// That a refused file is one that was refused before; nothing where it is a new one.
    fn refused_before(&self, kept: &Result<CaptureFile, Unkept>) -> String {
        let Err(Unkept::Read { sha256, .. }) = kept else {
            return String::new();
        };
        let told = starter::refused_at(&self.state, sha256).map(|at| {
            format!(
                "\nThis is the same recording that was refused at {at}; correct what was said, or save a new one"
            )
        });
        told.unwrap_or_default()
    }

    /// That a file is one that was taken before; none where it is a new one.
    fn taken_before(
        &self,
        kept: &Result<CaptureFile, Unkept>,
    ) -> Result<Option<String>, DriveError> {
        let Ok(file) = kept else {
            return Ok(None);
        };
        let walk = Walk::through(self.library, &self.state)?;
        Ok(starter::taken_at(&self.state, &walk, &file.sha256).map(|at| {
            format!(
                "This is the same recording that was taken at {at}. It says nothing new: where another one is asked \
                 for, go back and hand over its own recording."
            )
        }))
    }

    /// Count the crank of a capture that was not handed over before.
    fn count(
        &mut self,
        kept: &Result<CaptureFile, Unkept>,
        screen: &Screen,
        hands: &mut Hands<'_>,
    ) -> Result<Taken, DriveError> {
        let (sha256, why) = match kept {
            Ok(file) => (&file.sha256, None),
            Err(Unkept::Read { why, sha256 }) => (sha256, Some(why)),
            Err(_) => return Ok(Taken::On),
        };
        if starter::is_known(&self.state, sha256) {
            return Ok(Taken::On);
        }
        if screen.same_crank {
            return self.note_not_taken(why, hands);
        }
        if let Some(due) = self.due(screen, hands)?
            && self.told_after == Some(due.cranks)
        {
            let not_kept = due.not_kept();
            let at = hands.asker.now();
            self.put(Input::Note(not_kept.clone()), at)?;
            if let Err(why) = hands.asker.tell(&Told::Said(&not_kept)) {
                return Ok(Taken::Left(Ended::Left(why)));
            }
        }
        let Some(why) = why else {
            return Ok(Taken::On); // its answer is what counts
        };
        let not_taken = Input::NotTaken {
            reason: why.clone(),
            sha256: sha256.clone(),
        };
        let at = hands.asker.now();
        self.put(not_taken, at)?;
        let Some(due) = self.due(screen, hands)? else {
            return Ok(Taken::On);
        };
        self.told_after = Some(due.cranks);
        Ok(super::told(hands.asker.tell(&Told::Said(&due.counted()))))
    }

    /// Keep why another file of a crank that was is not taken: no other crank is counted for it.
    fn note_not_taken(
        &mut self,
        why: Option<&String>,
        hands: &mut Hands<'_>,
    ) -> Result<Taken, DriveError> {
        if let Some(why) = why {
            let why: Vec<&str> = why.split_whitespace().collect();
            let at = hands.asker.now();
            self.put(Input::Note(format!("Not taken: {}", why.join(" "))), at)?;
        }
        Ok(Taken::On)
    }

    fn due(&self, screen: &Screen, hands: &mut Hands<'_>) -> Result<Option<RestDue>, DriveError> {
        let now = hands.asker.now();
        Ok(starter::rest_due(
            self.library,
            &self.state,
            &screen.step,
            &now,
        )?)
    }
}

/// What was typed; nothing where nothing was.
pub(super) fn typed(input: &Input) -> String {
    match input {
        Input::Typed { text, .. } => text.clone(),
        _ => String::new(),
    }
}
