//! `evenfire audit`: the shop's register as a whole.

use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::SystemTime;

use chrono::NaiveDate;
use clap::{Args, ValueEnum};
use indicatif::{ProgressBar, ProgressStyle};

use crate::cli::one_job::report_page;
use crate::cli::one_job::which_job::ShopArgument;
use crate::cli::{Failure, fitted, say, warn};
use crate::record::audit::trust::{self, Ground};
use crate::record::audit::{Audit, Auditing, audit};
use crate::record::digest;
use crate::record::shop::Shop;
use crate::record::shop::roster::Roster;
use crate::report::audit::{Told, export, text, wrongs};

/// Verify every job of a shop and the chain of them, and count what they found
///
/// Every job is verified as by `evenfire verify`, the chain of jobs is followed, and the jobs are
/// summed up. Practice jobs are left out and counted. A second audit does not read again what it has
/// verified before and what has not changed since by its files' names, lengths and times; it says so.
/// What it remembers lies in the shop's folder as audit-trust.ndjson and is signed by nobody: an audit
/// that others shall rely on is made with --full. That jobs were taken off the end of the chain shows
/// only against an earlier audit's memory: a number once seen is never forgotten, by --full neither.
#[derive(Debug, Args)]
#[command(after_help = STATUSES)]
pub(crate) struct AuditArguments {
    #[command(flatten)]
    shop: ShopArgument,
    /// What is printed
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Read every job, whatever an earlier audit found; only the numbers that it saw are looked for
    #[arg(long)]
    full: bool,
    /// Look at the practice jobs, for exercise, and leave out those that count
    #[arg(long)]
    practice: bool,
    /// Count only jobs that were sealed, or else begun, on this day (UTC, as 2026-11-01) or later; what is lost
    /// or unsound is told whenever it was
    #[arg(long, value_name = "DATE", value_parser = day)]
    since: Option<NaiveDate>,
    /// Count only jobs that were sealed, or else begun, until the end of this day (UTC)
    #[arg(long, value_name = "DATE", value_parser = day)]
    until: Option<NaiveDate>,
    /// Read every job, and leave nothing behind for the next audit
    #[arg(long)]
    no_memory: bool,
    /// Keep what is remembered in this file, out of reach of those who write to the shop's folder
    #[arg(long, value_name = "FILE", conflicts_with = "no_memory")]
    memory: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// A summary for people
    Text,
    /// One JSON object a line for each job
    Ndjson,
    /// One line a job, with a heading line; safe in spreadsheets
    Csv,
    /// One JSON object: figures, what is wrong, and all jobs
    Json,
}

const STATUSES: &str = "\
Exit status:
  0  every job is sound and finished, and the chain is whole
  1  not sound: a job is not what was signed, a revoked key signed it and it was not done again, or the chain is broken
  2  could not be done
  3  sound, but reports are missing or are not those that the files give
  4  sound so far, but jobs are not sealed, signed or countersigned, or stand returned
With --since or --until, 3 and 4 are said of the jobs of that period only.

`evenfire schema audit` prints what the fields of a job's line are.";

pub(crate) fn run(arguments: &AuditArguments) -> Result<ExitCode, Failure> {
    if let Some((since, until)) = arguments.since.zip(arguments.until)
        && until < since
    {
        return Err(format!(
            "--until lies before --since: {until} is before {since}; exchange the two days"
        )
        .into());
    }
    let shop = arguments.shop.open()?;
    let roster = Roster::of(&shop)?;
    let ground = ground(&shop)?;
    let own = || shop.root().join(trust::FILE);
    let file = arguments.memory.clone().unwrap_or_else(own);
    let mut memory = trust::read(&file, &ground);
    let (void, is_damaged, is_missing) = (memory.void, memory.is_damaged, memory.is_missing);
    if arguments.full || arguments.no_memory {
        memory = memory.numbers_only();
    }
    let bar = ProgressBar::new(shop.all_jobs()?.len() as u64);
    bar.set_style(ProgressStyle::with_template(
        "{pos} of {len} jobs  {bar:30}  {eta} left",
    )?);
    let auditing = Auditing {
        roster: &roster,
        report: &report_page::page,
        practice: arguments.practice,
        since: arguments.since,
        until: arguments.until,
        memory,
        now: SystemTime::now(),
        done: &|| bar.inc(1),
    };
    let mut found = audit(&shop, &auditing)?;
    bar.finish_and_clear();
    if is_damaged {
        found.memory_lost(&match arguments.no_memory {
            true => format!("it lies at {}", file.display()),
            false => match trust::put_aside(&file) {
                Ok(aside) => format!("it is kept as {}", aside.display()),
                Err(fault) => format!("it cannot be kept aside: {fault}"),
            },
        });
    }
    if is_missing {
        found.memory_missing();
    }
    if !arguments.no_memory
        && let Err(fault) = found.remember(&file, &ground)
    {
        // the audit itself holds, in a shop that may only be read as well
        warn(&format!(
            "nothing is remembered for the next audit: {fault}\n"
        ));
    }
    let told = Told {
        shop: shop.name(),
        full: arguments.full,
        void,
    };
    print(&found, arguments.format, told)?;
    Ok(ExitCode::from(found.status() as u8))
}

fn day(text: &str) -> Result<NaiveDate, &'static str> {
    NaiveDate::parse_from_str(text, "%Y-%m-%d")
        .ok()
        .filter(|day| day.to_string() == text)
        .ok_or("write a day of the calendar as year-month-day, as in 2026-11-01")
}

/// What a memory rests on: this program, and the shop's files that decide who and what counts.
fn ground(shop: &Shop) -> Result<Ground, Failure> {
    let program = digest::of_file(&std::env::current_exe()?)?;
    let read = |path: PathBuf| fs_err::read(path);
    let roster = read(shop.roster_file())?;
    let revoked = read(shop.revoked_file())?;
    let policy = read(Shop::policy_file(shop.root()))?;
    Ok(Ground::of(program, [&roster, &revoked, &policy]))
}

fn print(found: &Audit, format: Format, told: Told<'_>) -> Result<(), Failure> {
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    if matches!(format, Format::Csv | Format::Ndjson) {
        // what has no line, such as a job that is gone, must not be lost with it
        warn(&wrongs(found));
    }
    match format {
        Format::Text => {
            drop(out);
            say(&fitted(text(found, told)));
            return Ok(());
        }
        Format::Ndjson => export::ndjson(found, &mut out)?,
        Format::Csv => export::csv(found, &mut out)?,
        Format::Json => export::json(found, &mut out)?,
    }
    Ok(out.flush()?)
}
