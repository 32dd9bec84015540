//! `evenfire resume`: go on with a job that was left open.

use std::process::ExitCode;

use chrono::{SecondsFormat, Utc};
use clap::Args;

use super::Failure;
use super::answering::{AnswersArgument, WatchArgument};
use super::driving::{Driven, Resumption, drive};
use super::opening::{ANSWERS_FROM_A_FILE, reopen};
use super::place::{self, ShopArgument};
use super::practise;
use super::run::{STATUSES, SigningArguments};
use crate::record::folder;
use crate::record::roster::Roster;

/// Go on with a job that was paused or cut off
///
/// What was made safe before the break may have changed since, so it is asked again.
#[derive(Debug, Args)]
#[command(after_help = STATUSES)]
pub(crate) struct ResumeArguments {
    /// Number of the job, or its folder
    job: String,
    #[command(flatten)]
    shop: ShopArgument,
    #[command(flatten)]
    answers: AnswersArgument,
    #[command(flatten)]
    watch: WatchArgument,
    #[command(flatten)]
    signing: SigningArguments,
}

pub(crate) fn run(arguments: &ResumeArguments) -> Result<ExitCode, Failure> {
    let shop = arguments.shop.open()?;
    let roster = Roster::of(&shop)?;
    let place = place::find(&shop, &arguments.job)?;
    if place.number.is_none() {
        let told = format!(
            "{}: a job is gone on with in its shop only; name it by its number",
            arguments.job
        );
        return Err(told.into());
    }
    if place.folder.file(folder::MANIFEST).exists() {
        let told = format!(
            "job {} is sealed; nothing more is asked",
            place.folder.number()
        );
        return Err(told.into());
    }
    let number = place.folder.number();
    if practise::is_exercise(&shop, &number) {
        let told = format!(
            "job {number} is an exercise; go on with `evenfire practise --resume {number}`"
        );
        return Err(told.into());
    }
    if !place.folder.file(folder::JOURNAL).exists() {
        let told = format!(
            "job {} was cut off before its first line was written; nothing was answered in it. Begin a new one",
            place.folder.number()
        );
        return Err(told.into());
    }
    arguments.signing.look()?;
    let opened = reopen(place.folder.clone(), &mut || {
        Utc::now().to_rfc3339_opts(SecondsFormat::Secs, true)
    })?;
    let procedure = opened
        .state
        .opening()
        .map(|opening| opening.procedure.clone());
    let answers = arguments.answers.read(&procedure.unwrap_or_default())?;
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
        Driven::Sealed(record) => arguments
            .signing
            .finish(&shop, &roster, &place.folder, &record),
    }
}
