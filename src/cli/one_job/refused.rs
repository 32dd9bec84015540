//! A job that is taken up again, and whose own procedure this version of the program refuses: nothing more is done by it
//! than to put back what it took off.

use crate::cli::one_job::answering;
use crate::cli::{Failure, say};
use crate::run::drive::Job;
use crate::run::event::Event;
use crate::run::journal::Disk;
use crate::run::walk::{REFUSED, Walk};

/// What whoever takes it up is told, after what is wrong with the procedure.
const TOLD: &str = "An earlier version of the program took this job's procedure; this one refuses it, for the reasons above. So the \
                    work is stopped: what was taken off is put back, then the job ends. Do the work again by the procedure as it \
                    is today.";

/// Stop the work, unless it is over.
pub(super) fn stop(job: &mut Job<'_, Disk>, problems: &str, at: String) -> Result<(), Failure> {
    let walk = Walk::through(job.library(), job.state())?;
    if job.state().concluded().is_some() || walk.stopped().is_some() {
        return Ok(());
    }
    say(&format!(
        "\n{problems}\n{}",
        answering::layout().sentence(TOLD)
    ));
    // no person's stop: it comes where none is offered to them, too
    let reason = REFUSED.to_owned();
    job.record(Event::Stopped { reason }, at)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::one_job::opening::{Beginning, reopen};
    use crate::procedure::{read_library, read_unproved};
    use crate::record::shop::founding::{KeySource, NewSigner, found};
    use crate::record::shop::roster::Roster;
    use crate::run::input::{Input, step};
    use crate::run::next::{Next, next};
    use crate::run::refusal::Refusal;

    const AT: &str = "2026-03-02T08:00:00Z";

    /// The relay is out by a sheet that was sound once; by today's proofs it is not.
    #[test]
    fn a_procedure_that_is_refused_by_now_only_puts_back() {
        // before the proof, and where its own putting back has begun
        for is_out in [true, false] {
            puts_back(is_out);
        }
    }

    fn puts_back(is_out: bool) {
        let folder = tempfile::tempdir().unwrap();
        let (identity, key) = ("jo".to_owned(), KeySource::Practice);
        let shop = found(
            &folder.path().join("shop"),
            "A",
            &NewSigner { identity, key },
            None,
        );
        let shop = shop.unwrap();
        let text = include_str!("../../procedure/check/tests/sound.yaml").replace(
            "    then: crank\n    if-not: back-not-done",
            "    at-most: {times: 3, then: back-not-done}\n    then: crank\n    if-not: again",
        );
        let source = |_: &str| Some(("sound.yaml".to_owned(), text.clone()));
        assert!(read_library("sound", &source).is_err());
        let opened = Beginning {
            shop: &shop,
            roster: &Roster::of(&shop).unwrap(),
            technician: "jo",
            procedure: "sound",
            library: read_unproved("sound", &source).unwrap(),
            unattended: None,
            exercise: false,
        }
        .begin(AT.to_owned())
        .unwrap();
        let place = opened.folder.clone();
        let mut job = Job::new(&opened.library, opened.journal, opened.state);
        let typed = Input::Typed {
            text: "12.60".to_owned(),
            before: None,
        };
        for input in [
            Input::Confirm(true),
            Input::Confirm(true),
            typed,
            Input::Confirm(is_out),
        ] {
            for event in step(job.library(), job.state(), input).unwrap() {
                job.record(event, AT.to_owned()).unwrap();
            }
        }
        drop(job);
        // whoever breaks off reads the same, from the journal alone
        let off = crate::cli::jobs::not_as_it_was(&place).unwrap();
        assert!(off.contains("fuel pump relay"), "{off}");

        let opened = reopen(place, &mut || AT.to_owned()).unwrap();
        let problems = opened.refused.unwrap();
        assert!(problems.contains("needs `fuel off`"), "{problems}");
        let mut job = Job::new(&opened.library, opened.journal, opened.state);
        // a person is refused one where all goes back already; the program is not
        let by_hand = step(
            job.library(),
            job.state(),
            Input::Stop("no time".to_owned()),
        );
        assert_eq!(by_hand.is_err(), !is_out);
        stop(&mut job, &problems, AT.to_owned()).unwrap();
        let Next::Ask(screen) = next(job.library(), job.state()).unwrap() else {
            panic!("nothing is put back");
        };
        assert_eq!(screen.step, "put-back/fuel pump relay");
        let action = screen.action.unwrap();
        assert!(
            action.contains(REFUSED) && !action.contains("takes the stop back"),
            "{action}"
        );
        let back = step(job.library(), job.state(), Input::Back);
        assert_eq!(back.unwrap_err(), Refusal::Stopped);
        let lines = job.journal().lines();
        stop(&mut job, &problems, AT.to_owned()).unwrap();
        assert_eq!(job.journal().lines(), lines, "it is stopped already");
    }
}
