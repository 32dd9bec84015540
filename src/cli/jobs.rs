//! `evenfire jobs`: the jobs that are open, each with where it stands. Nothing is repaired or locked.

use std::process::ExitCode;

use chrono::{DateTime, Local};
use clap::Args;

use crate::cli::one_job::answering;
use crate::cli::one_job::opening::{TIME, of_job};
use crate::cli::one_job::outdated::Present;
use crate::cli::one_job::which_job::{ShopArgument, shop_option};
use crate::cli::{Failure, fitted, practise, say};
use crate::procedure::model::{Library, RecordLine};
use crate::record::folder::{self, JobFolder};
use crate::record::shop::Shop;
use crate::run::drive::ASKED;
use crate::run::event::{Event, Opening};
use crate::run::journal::{self, Disk, Reading};
use crate::run::next::{Next, next};
use crate::run::screen::disabled;
use crate::run::state::State;
use crate::run::value::Value;
use crate::run::walk::Walk;
use crate::text::{clean, counted};

/// List the open jobs, each with where it stands and what must be put back
#[derive(Debug, Args)]
#[command(after_help = STATUSES)]
pub(crate) struct JobsArguments {
    #[command(flatten)]
    shop: ShopArgument,
}

const STATUSES: &str = "\
Exit status:
  0  the open jobs are listed; there may be none
  1  a job is among them that cannot be gone on with
  2  could not be done";

pub(crate) fn run(arguments: &JobsArguments) -> Result<ExitCode, Failure> {
    let shop = arguments.shop.open()?;
    let open = open(&shop)?;
    let mut broken = false;
    let mut present = Present::of(&shop);
    for job in &open {
        match told(&shop, job, &mut present) {
            Ok(text) => say(&text),
            Err(why) => {
                broken = true;
                let told = format!("Job {}: {why}", job.number());
                say(&format!("\n{}", answering::layout().sentence(&told)));
            }
        }
    }
    if open.is_empty() {
        say(&format!("No job of {} is open.\n", shop.name()));
    }
    Ok(ExitCode::from(u8::from(broken)))
}

/// The jobs of a shop that are not sealed, by number.
pub(crate) fn open(shop: &Shop) -> Result<Vec<JobFolder>, Failure> {
    let mut jobs = shop.all_jobs()?;
    jobs.retain(|job| !job.file(folder::MANIFEST).exists());
    Ok(jobs)
}

/// What is chosen from, and how it is begun and gone on with.
pub(crate) struct Kind {
    pub(crate) name: &'static str,
    pub(crate) begin: &'static str,
    pub(crate) go_on: &'static str,
}

/// The only open job that may be gone on with.
///
/// # Errors
/// Where there is none, or why not the only one there is; where there are several, with what each is about.
pub(crate) fn only(
    shop: &Shop,
    kind: &Kind,
    may: impl Fn(&str) -> Result<(), Failure>,
) -> Result<JobFolder, Failure> {
    let mut open = open(shop)?;
    let unlike = match open.as_slice() {
        [one] => may(&one.number()).err(),
        _ => None,
    };
    open.retain(|job| may(&job.number()).is_ok());
    if open.len() < 2 {
        let none = || {
            format!(
                "no {} of {} is open; begin one with `{}`",
                kind.name,
                shop.name(),
                kind.begin
            )
        };
        return open
            .pop()
            .ok_or_else(|| unlike.unwrap_or_else(|| none().into()));
    }
    let mut told = format!(
        "{} are open; say which, as in `{} {}` (`evenfire jobs` tells more of them):",
        counted(open.len() as u64, kind.name),
        kind.go_on,
        open[0].number()
    );
    for job in &open {
        let about = briefly(job).unwrap_or_else(|why| why.to_string());
        told += &format!("\n  {}  {about}", job.number());
    }
    Err(told.into())
}

/// What vehicle a job is about and its identity, as far as that was answered.
pub(crate) fn vehicle(walk: &Walk<'_>) -> Option<String> {
    let lines = [RecordLine::Vehicle, RecordLine::VehicleIdentity];
    let known = lines.iter().filter_map(|line| walk.lines().get(line));
    let known: Vec<String> = known.map(Value::shown).collect();
    (!known.is_empty()).then(|| known.join(", "))
}

/// A job in a line: its vehicle, where that is known, and its procedure's title.
fn briefly(job: &JobFolder) -> Result<String, Failure> {
    let (state, library) = begun(job, &reading(job)?)?;
    let walk = Walk::through(&library, &state)?;
    let title = state.opening().map_or("", title);
    Ok(vehicle(&walk).map_or(title.to_owned(), |vehicle| format!("{vehicle}: {title}")))
}

/// What of the vehicle is not as it was, as the job's journal has it by now.
pub(crate) fn not_as_it_was(job: &JobFolder) -> Result<String, Failure> {
    let (state, library) = begun(job, &reading(job)?)?;
    let mut text = String::new();
    answering::layout().disabled(&mut text, &disabled(&Walk::through(&library, &state)?));
    Ok(text)
}

/// Said of a job whose journal does not say how it was opened.
const NEVER_BEGAN: &str = "it never began";

/// Where a job stands by its journal, with its procedures.
fn begun(job: &JobFolder, reading: &Reading) -> Result<(State, Library), Failure> {
    let state = State::fold(reading.lines.iter().map(|line| &line.event));
    let opening = state.opening().ok_or(NEVER_BEGAN)?;
    let (library, _) = of_job(job, opening)?;
    Ok((state, library))
}

/// The lines of a job's journal; none where it has no journal yet.
fn reading(job: &JobFolder) -> Result<Reading, Failure> {
    let bytes = match fs_err::read(job.file(folder::JOURNAL)) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Vec::new(),
        other => other?,
    };
    Ok(journal::read(&bytes)?)
}

fn title(opening: &Opening) -> &str {
    let mut procedures = opening.procedures.iter();
    let titled = procedures.find(|known| known.name == opening.procedure);
    titled.map_or(opening.procedure.as_str(), |known| known.title.as_str())
}

fn told(shop: &Shop, job: &JobFolder, present: &mut Present<'_>) -> Result<String, Failure> {
    let reading = reading(job)?;
    if reading.lines.is_empty() {
        let told = format!(
            "Job {}: cut off before its first line was written; nothing was answered in it. Begin a new one.",
            job.number()
        );
        return Ok(format!("\n{}", answering::layout().sentence(&told)));
    }
    let (state, library) = begun(job, &reading)?;
    let opening = state.opening().ok_or(NEVER_BEGAN)?;
    let walk = Walk::through(&library, &state)?;
    let layout = answering::layout();
    let practice = if opening.practice.is_empty() {
        ""
    } else {
        " (practice)"
    };
    let mut text = format!("\nJob {}  {}{practice}\n", opening.job, title(opening));
    let mut line = |what: &str| text += &layout.sentence(what);
    if let Some(vehicle) = vehicle(&walk) {
        line(&format!("Vehicle: {vehicle}"));
    }
    line(&format!(
        "Begun {} by {}.",
        local(&state.events()[0].at),
        opening.technician
    ));
    line(&stands(&next(&library, &state)?));
    let holder = Disk::holder(job.path());
    if let Some(last) = state.last_at() {
        line(&now(holder.as_deref(), &state, &local(last)));
    }
    let what = match practise::is_exercise(shop, &opening.job) {
        true => "An exercise; go on with",
        false => "Go on with",
    };
    // never broken, so that it can be taken from the screen; of one that somebody is at, nobody else takes it
    if holder.is_none() {
        text += &format!(
            "  {what}: evenfire resume {}{}\n",
            opening.job,
            shop_option(shop.root())
        );
    }
    if let Some(torn) = &reading.torn {
        let bytes = torn.bytes.len();
        text += &layout.sentence(&format!(
            "Its last {bytes} bytes are torn; resuming keeps them aside and goes on."
        ));
    }
    layout.disabled(&mut text, &disabled(&walk));
    text += &present.told(job, opening).map(fitted).unwrap_or_default();
    Ok(text)
}

fn stands(next: &Next) -> String {
    match next {
        Next::Ask(screen) => format!(
            "Asked next ({}, step {}): {}",
            screen.phase, screen.number, screen.asked
        ),
        Next::Compute { computation, .. } => {
            format!("To be computed next: {}.", computation.name())
        }
        Next::Conclude(_) | Next::Seal => "At its end; resuming seals it.".to_owned(),
        Next::Done => "Its journal is sealed; resuming writes the record.".to_owned(),
    }
}

/// Whether somebody is at it, or when and why it was left.
fn now(holder: Option<&str>, state: &State, last: &str) -> String {
    if let Some(who) = holder {
        return format!("At work in another run: {who}.");
    }
    match state.events().last().map(|stamped| &stamped.event) {
        Some(Event::Paused { reason }) if reason == ASKED => format!("Paused by you, {last}."),
        Some(Event::Paused { reason }) => format!("Paused {last}: {reason}."),
        _ => format!("Cut off after {last}."),
    }
}

/// A time of the journal on the shop's own clock, as runs note theirs.
fn local(time: &str) -> String {
    DateTime::parse_from_rfc3339(time).map_or_else(
        |_| clean(time),
        |time| time.with_timezone(&Local).format(TIME).to_string(),
    )
}
