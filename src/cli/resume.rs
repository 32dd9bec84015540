//! `evenfire resume`: go on with a job that was left open.

use std::process::ExitCode;

use chrono::{DateTime, SecondsFormat, Utc};
use clap::Args;

use crate::cli::jobs;
use crate::cli::one_job::answering::{AnswersArgument, WatchArgument};
use crate::cli::one_job::driving::{Driven, Resumption, drive};
use crate::cli::one_job::opening::{ANSWERS_FROM_A_FILE, Opened, reopen};
use crate::cli::one_job::outdated::Present;
use crate::cli::one_job::which_job::{self, ShopArgument};
use crate::cli::person::technician::technician;
use crate::cli::practise;
use crate::cli::run::{STATUSES, SigningArguments};
use crate::cli::{Failure, fitted, say};
use crate::record::folder::{self, JobFolder};
use crate::record::shop::Shop;
use crate::record::shop::roster::Roster;

/// Go on with a job that was paused or cut off
///
/// What was made safe before the break may have changed since, so it is asked again.
#[derive(Debug, Args)]
#[command(after_help = STATUSES)]
pub(crate) struct ResumeArguments {
    /// Number of the job, or its folder; may be left out where one job alone is open
    job: Option<String>,
    #[command(flatten)]
    shop: ShopArgument,
    #[command(flatten)]
    answers: AnswersArgument,
    #[command(flatten)]
    watch: WatchArgument,
    #[command(flatten)]
    signing: SigningArguments,
}

const JOBS: jobs::Kind = jobs::Kind {
    name: "job",
    begin: "evenfire run PROCEDURE",
    go_on: "evenfire resume",
};

pub(crate) fn run(arguments: &ResumeArguments) -> Result<ExitCode, Failure> {
    let shop = arguments.shop.open()?;
    let roster = Roster::of(&shop)?;
    let folder = match &arguments.job {
        Some(job) => named(&shop, job)?,
        None => jobs::only(&shop, &JOBS, |job| named(&shop, job).map(|_| ()))?,
    };
    if practise::is_exercise(&shop, &folder.number()) {
        return practise::go_on(&shop, &folder.number(), &arguments.answers);
    }
    arguments.signing.look()?;
    let opened = reopen(folder.clone(), &mut || {
        Utc::now().to_rfc3339_opts(SecondsFormat::Secs, true)
    })?;
    let procedure = opened
        .state
        .opening()
        .map(|opening| opening.procedure.clone());
    let answers = arguments.answers.read(&procedure.unwrap_or_default())?;
    let clock = answers.as_ref().and_then(|answers| answers.clock);
    if let Some(told) = opened
        .state
        .opening()
        .and_then(|opening| Present::of(&shop).told(&folder, opening))
    {
        say(&fitted(told));
    }
    still_signs(&roster, &opened, clock.unwrap_or_else(Utc::now))?;
    let practice = answers
        .as_ref()
        .map(|answers| (ANSWERS_FROM_A_FILE.to_owned(), answers.clock.is_some()));
    let after = opened.state.last_at().map(str::to_owned);
    let simulated = opened.state.simulated_clock();
    let watched = arguments.watch.watched()?;
    let mut asker = arguments
        .answers
        .asker(answers, after.as_deref(), simulated, watched)?;
    let resumption = Some(Resumption { practice });
    match drive(&shop, opened, asker.as_mut(), resumption)? {
        Driven::Open(status) => Ok(status),
        Driven::Sealed(record) => arguments.signing.finish(&shop, &roster, &folder, &record),
    }
}

/// The folder of the job that was named, where it can be gone on with.
fn named(shop: &Shop, job: &str) -> Result<JobFolder, Failure> {
    let place = which_job::find(shop, job)?;
    let number = place.folder.number();
    let why = if place.number.is_none() {
        format!("{job}: a job is gone on with in its shop only; name it by its number")
    } else if place.folder.file(folder::MANIFEST).exists() {
        format!("job {number} is sealed; nothing more is asked")
    } else if !place.folder.file(folder::JOURNAL).exists() {
        format!(
            "job {number} was cut off before its first line was written; nothing was answered in it. Begin a new one"
        )
    } else {
        return Ok(place.folder);
    };
    Err(why.into())
}

/// Work that its technician could not sign any more is not gone on with. A job at its end is sealed all the same.
fn still_signs(roster: &Roster, opened: &Opened, at: DateTime<Utc>) -> Result<(), Failure> {
    let Some(opening) = opened.state.opening() else {
        return Ok(());
    };
    if opened.state.concluded().is_some() {
        return Ok(());
    }
    technician(roster, Some(&opening.technician), at, false).map_err(|why| {
        format!(
            "job {} was begun by {}, who must be able to sign it. {why}. The job stays open; `evenfire jobs` says what \
             of the vehicle must be put back. To end it, move the end of their key (valid-before) to a later day, go \
             on, and stop the work there; it is signed as stopped",
            opening.job, opening.technician
        )
    })?;
    Ok(())
}
