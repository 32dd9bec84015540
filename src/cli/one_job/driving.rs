//! A job driven to its end or until it is left, then sealed, and what is said of it.

use std::process::ExitCode;
use std::sync::Arc;

use crate::cli::jobs::not_as_it_was;
use crate::cli::one_job::answering;
use crate::cli::one_job::computing::Bench;
use crate::cli::one_job::interrupt::Watch;
use crate::cli::one_job::opening::Opened;
use crate::cli::one_job::refused;
use crate::cli::one_job::report_page::write_report;
use crate::cli::one_job::waiving::Keeping;
use crate::cli::one_job::which_job::{from_here, shop_option};
use crate::cli::{Failure, say, warn};
use crate::record::bundle::assemble::{JournalEnd, assemble};
use crate::record::bundle::model::Record;
use crate::record::bundle::seal;
use crate::record::folder::{self, JobFolder};
use crate::record::shop::Shop;
use crate::run::asker::Asker;
use crate::run::drive::{Ended, Hands, Job};
use crate::run::event::Event;
use crate::run::journal::Disk;
use crate::run::keeper::Keeper;
use crate::run::screen::{disabled, so_far};
use crate::run::walk::Walk;
use crate::text::wrap;

/// Exit status of a job that was left open; `verify` has the same for it.
const OPEN: u8 = 4;

/// Answers that are shown again when a job goes on; more would push the question off the screen.
const SHOWN_ON_RESUMING: usize = 6;

/// How driving a job ended.
pub(crate) enum Driven {
    /// Sealed; the record is written.
    Sealed(Box<Record>),
    /// Left open; the status says so.
    Open(ExitCode),
}

/// Drive a job on, and seal it where it comes to its end.
pub(crate) fn drive(
    shop: &Shop,
    opened: Opened,
    asker: &mut dyn Asker,
    resumed: Option<Resumption>,
) -> Result<Driven, Failure> {
    let folder = opened.folder.clone();
    let opening = opened.state.opening();
    let mut keeping = Keeping {
        shop,
        job: &folder,
        technician: opening.map_or_else(String::new, |o| o.technician.clone()),
        practice: !opened.state.practice().is_empty(),
    };
    drive_with(shop, opened, asker, resumed, &mut keeping)
}

/// The same, with somebody else to keep the captures.
pub(crate) fn drive_with(
    shop: &Shop,
    opened: Opened,
    asker: &mut dyn Asker,
    resumed: Option<Resumption>,
    keeper: &mut dyn Keeper,
) -> Result<Driven, Failure> {
    let Opened {
        folder,
        library,
        journal,
        state,
        refused,
    } = opened;
    let on = format!(
        "Nothing is lost. Go on with:\n  evenfire resume {}{}",
        folder.number(),
        shop_option(shop.root())
    );
    let place = folder.clone();
    // a job that cannot be read any more is left all the same
    let off = move || not_as_it_was(&place).unwrap_or_default();
    let told = format!("Job {} is left open. {on}", folder.number());
    let watch = Watch::begin_with(Some(Arc::new(off)), told)?;
    let mut job = Job::new(&library, journal, state);
    let mut hands = Hands {
        asker,
        keeper,
        computing: &mut Bench { job: &folder, shop },
    };
    let ended = (|| {
        if let Some(resumption) = resumed {
            resumption.put(&mut job, hands.asker)?;
        }
        if let Some(problems) = refused {
            refused::stop(&mut job, &problems, hands.asker.now())?;
        }
        Ok::<_, Failure>(job.drive(&mut hands)?)
    })()
    .map_err(|error| format!("{error}\n{on}"))?;
    watch.over();
    match ended {
        Ended::Sealed => {
            let record = seal_job(shop, &folder, &job)?;
            Ok(Driven::Sealed(Box::new(record)))
        }
        Ended::Paused => {
            still_disabled(&job)?;
            say(&format!("\nJob {} is paused. {on}\n", folder.number()));
            Ok(Driven::Open(ExitCode::from(OPEN)))
        }
        Ended::Left(why) => {
            warn(&format!(
                "\n{}",
                answering::layout().refusal(&why.to_string())
            ));
            still_disabled(&job)?;
            warn(&format!("\nJob {} is left open. {on}\n", folder.number()));
            Ok(Driven::Open(ExitCode::from(OPEN)))
        }
    }
}

/// What a job that is taken up again is told first.
pub(crate) struct Resumption {
    /// Why it becomes practice by that, and whether its clock becomes a simulated one.
    pub(crate) practice: Option<(String, bool)>,
}

impl Resumption {
    fn put(self, job: &mut Job<'_, Disk>, asker: &mut dyn Asker) -> Result<(), Failure> {
        if job.state().concluded().is_some() {
            return Ok(()); // only the seal is missing
        }
        if let Some((reason, simulated_clock)) = self.practice {
            let at = asker.now();
            job.record(
                Event::Practice {
                    reason,
                    simulated_clock,
                },
                at,
            )?;
        }
        done_so_far(job)?;
        still_disabled(job)?;
        let at = asker.now();
        job.resume(at)?;
        lapsed(job);
        Ok(())
    }
}

/// What is not as it was on the vehicle: whoever comes next must know.
fn still_disabled(job: &Job<'_, Disk>) -> Result<(), Failure> {
    let walk = Walk::through(job.library(), job.state())?;
    let mut text = String::new();
    answering::layout().disabled(&mut text, &disabled(&walk));
    say(&text);
    Ok(())
}

/// What was done so far: the last of it where it is much.
fn done_so_far(job: &Job<'_, Disk>) -> Result<(), Failure> {
    let layout = answering::layout();
    let walk = Walk::through(job.library(), job.state())?;
    let counts = so_far(&walk);
    let skipped = counts.len().saturating_sub(SHOWN_ON_RESUMING);
    let mut text = layout.sentence(&format!(
        "Job {} goes on. Answered so far: {}; r (where you type a line, :r) shows all of it.",
        job.state()
            .opening()
            .map_or("", |opening| opening.job.as_str()),
        counts.len()
    ));
    for said in &counts[skipped..] {
        text += &layout.sentence(&format!("{} → {}", said.asked, said.answered));
    }
    say(&format!("\n{text}"));
    Ok(())
}

/// What lapsed in the break: it is asked again before work that needs it.
fn lapsed(job: &Job<'_, Disk>) {
    let last = job.state().events().last().map(|stamped| &stamped.event);
    let Some(Event::Resumed { lapsed }) = last else {
        return;
    };
    let lapsed: Vec<&str> = lapsed
        .iter()
        .map(|condition| condition.0.as_str())
        .collect();
    let mut text = String::new();
    answering::layout().lapsed(&mut text, &lapsed);
    say(&text);
}

fn seal_job(shop: &Shop, folder: &JobFolder, job: &Job<'_, Disk>) -> Result<Record, Failure> {
    let end = JournalEnd {
        lines: job.journal().lines(),
        head: job.journal().head().to_owned(),
    };
    let record = assemble(job.library(), job.state(), &end)?;
    let record = seal::seal(shop, folder, &record)?;
    write_report(folder, &record)?;
    Ok(record)
}

/// Say where a sealed job lies. What it measured and its outcome were told when they were reached; told
/// again they would push the outcome off a small screen.
pub(crate) fn tell(record: &Record, folder: &JobFolder) {
    let mut text = String::from("\n");
    if record.is_practice() {
        let practice = format!("PRACTICE: {}.", record.practice.join("; "));
        text += &format!("{}\n", wrap(&practice, answering::COLUMNS, 0));
    }
    let report = folder.file(folder::REPORT);
    text += &format!(
        "Job {} is sealed. Report: {}\n",
        record.job,
        from_here(&report)
    );
    say(&text);
}
