//! `evenfire jobs`: the jobs that are open, each with where it stands. Nothing is repaired or locked.

use std::process::ExitCode;

use clap::Args;

use super::opening::of_job;
use super::place::ShopArgument;
use super::{Failure, answering, practise, say};
use crate::record::folder::{self, JobFolder};
use crate::record::shop::Shop;
use crate::run::event::Event;
use crate::run::journal::{self, Disk};
use crate::run::next::{Next, next};
use crate::run::screen::disabled;
use crate::run::state::State;
use crate::run::walk::Walk;

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
    let mut open = 0;
    let mut broken = false;
    for job in shop.all_jobs()? {
        if job.file(folder::MANIFEST).exists() {
            continue;
        }
        open += 1;
        match told(&shop, &job) {
            Ok(text) => say(&text),
            Err(why) => {
                broken = true;
                let told = format!("Job {}: {why}", job.number());
                say(&format!("\n{}", answering::layout().sentence(&told)));
            }
        }
    }
    if open == 0 {
        say(&format!("No job of {} is open.\n", shop.name()));
    }
    Ok(ExitCode::from(u8::from(broken)))
}

fn told(shop: &Shop, job: &JobFolder) -> Result<String, Failure> {
    let bytes = match fs_err::read(job.file(folder::JOURNAL)) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Vec::new(),
        other => other?,
    };
    let reading = journal::read(&bytes)?;
    if reading.lines.is_empty() {
        let told = format!(
            "Job {}: cut off before its first line was written; nothing was answered in it. Begin a new one.",
            job.number()
        );
        return Ok(format!("\n{}", answering::layout().sentence(&told)));
    }
    let state = State::fold(reading.lines.iter().map(|line| &line.event));
    let opening = state.opening().ok_or("it never began")?;
    let library = of_job(job, opening)?;
    let walk = Walk::through(&library, &state)?;
    let layout = answering::layout();
    let titled = opening
        .procedures
        .iter()
        .find(|p| p.name == opening.procedure);
    let title = titled.map_or(opening.procedure.as_str(), |p| p.title.as_str());
    let mut text = format!("\nJob {}  {title}\n", opening.job);
    let mut line = |what: &str| text += &layout.sentence(what);
    line(&format!(
        "Begun {} by {}.",
        state.events()[0].at,
        opening.technician
    ));
    line(&stands(&next(&library, &state)?));
    if let Some(last) = state.last_at() {
        line(&left(&state, last));
    }
    let exercise = practise::is_exercise(shop, &opening.job);
    line(&match exercise {
        true => format!(
            "An exercise; go on with: evenfire practise --resume {}",
            opening.job
        ),
        false => format!("Go on with: evenfire resume {}", opening.job),
    });
    if let Some(torn) = &reading.torn {
        let bytes = torn.bytes.len();
        line(&format!(
            "Its last {bytes} bytes are torn; resuming keeps them aside and goes on."
        ));
    }
    if let Some(who) = Disk::holder(job.path()) {
        line(&format!("Open now in another run: {who}."));
    }
    layout.disabled(&mut text, &disabled(&walk));
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

/// When and why it was left.
fn left(state: &State, last: &str) -> String {
    match state.events().last().map(|stamped| &stamped.event) {
        Some(Event::Paused { reason }) => format!("Paused {last}: {reason}."),
        _ => format!("Last written {last}; it was cut off there, or is at work."),
    }
}
