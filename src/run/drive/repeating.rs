//! A crank that this procedure has had already: its recording agrees with itself and proves nothing a second time.

use super::{DriveError, Hands, Job};
use crate::run::event::{Answer, CaptureFile, Event};
use crate::run::journal::Storage;
use crate::run::walk::{Past, Walk, split};

/// What is done about it.
const REMEDY: &str = "Two captures prove something only if the engine was cranked twice. If you picked the wrong file, \
     name the one of the new crank. If there was no new crank, rest the starter, crank again and save a new file.";

/// A capture that counts as an answer of this procedure.
struct Taken<'s> {
    file: &'s CaptureFile,
    /// Path of its step.
    step: &'s str,
    /// What that step asked, and when it was answered.
    asked: &'s str,
    at: &'s str,
}

impl Taken<'_> {
    /// When it was taken, and for which question.
    fn told(&self) -> String {
        format!("it was taken at {} for \"{}\"", self.at, self.asked)
    }
}

impl<S: Storage> Job<'_, S> {
    /// That the bytes are those of a capture at another step, or at the same one by the same set-up; none where they
    /// are new. Another set-up may mend what was wrong at its own step: `setup` is none where it is still to be told.
    pub(super) fn same_bytes(
        &self,
        path: &str,
        sha256: &str,
        setup: Option<&str>,
    ) -> Result<Option<String>, DriveError> {
        let walk = Walk::through(self.library, &self.state)?;
        let told_anew = |taken: &Taken<'_>| {
            taken.step == path && setup.is_none_or(|setup| taken.file.setup_sha256 != setup)
        };
        let taken = self.taken(&walk, path);
        let same = taken
            .iter()
            .find(|taken| taken.file.sha256 == sha256 && !told_anew(taken));
        Ok(same.map(|taken| {
            format!(
                "This is {} again, byte for byte; {}. {REMEDY}",
                taken.file.original,
                taken.told()
            )
        }))
    }

    /// That the crank is the one of a capture at another step, cut or saved anew; none where it is a new one.
    pub(super) fn same_crank(
        &self,
        path: &str,
        file: &CaptureFile,
        hands: &mut Hands<'_>,
    ) -> Result<Option<String>, DriveError> {
        let walk = Walk::through(self.library, &self.state)?;
        let taken = self.taken(&walk, path);
        let mut elsewhere = taken.iter().filter(|taken| taken.step != path);
        let same = elsewhere.find(|taken| hands.keeper.is_one_crank(taken.file, file));
        Ok(same.map(|taken| {
            format!(
                "This is the crank of {} again, cut or saved otherwise; {}. {REMEDY}",
                taken.file.original,
                taken.told()
            )
        }))
    }

    /// Captures that count as answers of the procedure that the path stands in.
    fn taken<'w>(&'w self, walk: &'w Walk<'_>, path: &str) -> Vec<Taken<'w>> {
        let (scope, _) = split(path);
        let counts = |past: &&Past| !past.superseded && split(&past.step).0 == scope;
        let past = walk.past().iter().filter(counts);
        let taken = past.filter_map(|past| {
            let stamped = self.state.events().get(past.said.checked_sub(1)?)?;
            match &stamped.event {
                Event::Answered {
                    answer: Answer::Capture(file),
                    ..
                } => Some(Taken {
                    file,
                    step: &past.step,
                    asked: &past.shown.asked,
                    at: &stamped.at,
                }),
                _ => None,
            }
        });
        taken.collect()
    }
}
