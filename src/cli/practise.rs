//! `evenfire practise`: a hidden fault behind a procedure.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::builder::PossibleValuesParser;
use clap::{Args, ValueEnum};

use crate::cli::one_job::answering::{self, AnswersArgument};
use crate::cli::one_job::driving::{Driven, Resumption, drive_with, tell};
use crate::cli::one_job::opening::{
    Beginning, Opened, Unattended, known_procedures, load, outermost, procedure_file, reopen,
};
use crate::cli::one_job::which_job::ShopArgument;
use crate::cli::person::technician::technician;
use crate::cli::simulate::options::spoiled;
use crate::cli::simulate::weak::WeakCylinder;
use crate::cli::{Failure, fitted, say};
use crate::cranking::answer::SignalKind;
use crate::engine::Fuel;
use crate::practise::{Difficulty, Escape, Exercise, is_graded};
use crate::procedure::model::Library;
use crate::record::bundle::model::Record;
use crate::record::durable;
use crate::record::shop::Shop;
use crate::record::shop::roster::Roster;
use crate::run::asker::Asker;
use crate::simulate::practice::Practice;
use crate::simulate::spoil::{self, Spoil};

mod again;
mod beginning;
mod ending;
mod grades;
mod kept;
#[cfg(test)]
mod looked_up;
mod proved;
mod resting;
mod simulated;
mod which;

use kept::Kept;
pub(super) use simulated::hand_over;
use simulated::{CAPTURE, Simulated};

/// Folder of the shop that keeps the seeds of exercises.
const FOLDER: &str = "practice";

/// Practise a procedure on an engine with a hidden fault
///
/// The simulator makes every capture when the procedure asks for it. The truth is shown, and the run
/// graded, once the job is sealed. The job is marked as practice everywhere.
#[derive(Debug, Args)]
#[command(after_help = STATUSES)]
pub(crate) struct PractiseArguments {
    /// Name of a procedure of the shop, or the path of a procedure file
    procedure: Option<String>,
    #[command(flatten)]
    shop: ShopArgument,
    #[command(flatten)]
    answers: AnswersArgument,
    /// Who does the work, as in the shop's roster; needed where several could
    #[arg(long, value_name = "IDENTITY")]
    technician: Option<String>,
    /// Go on with an exercise that was left open, by its job number; without one with the only one that is open. Of one
    /// that is sealed, truth and grade are told again, for the trainer
    #[arg(long, value_name = "JOB", num_args = 0..=1, default_missing_value = "", conflicts_with_all = ["procedure", "seed", "difficulty"])]
    resume: Option<String>,
    /// For the trainer: the grades of the shop's exercises, a line each
    #[arg(long, conflicts_with_all = ["procedure", "resume", "seed", "difficulty", "signal", "firing_order", "fuel", "escape", "spoil", "page"])]
    grades: bool,
    /// Number that engine and fault are drawn from; a new one each time where not given
    #[arg(long)]
    seed: Option<u64>,
    /// How hard the fault is to find; drawn where not given
    #[arg(long, value_enum)]
    difficulty: Option<DifficultyArgument>,
    /// What is recorded; drawn where not given
    #[arg(long, value_enum)]
    signal: Option<SignalArgument>,
    /// Firing order of the engine, as in 1-3-4-2; drawn where not given
    #[arg(long, value_name = "ORDER")]
    firing_order: Option<String>,
    /// What the engine burns; with a firing order petrol where not given, else drawn
    #[arg(long, value_enum)]
    fuel: Option<FuelArgument>,
    /// For the trainer: a weak cylinder, as in 3=62, and the percent that it keeps, at a steady speed, of its peak
    /// pressure when sound; the truth at the end is of the crank and differs. Drawn where not given
    #[arg(long, value_name = "CYLINDER=PERCENT", requires = "firing_order")]
    weak: Vec<WeakCylinder>,
    /// For the trainer: where the air of a leak goes; drawn where not given
    #[arg(long, value_enum)]
    escape: Option<EscapeArgument>,
    /// For the trainer: what makes the first capture unfit for a verdict; later ones are fit
    #[arg(long, value_parser = PossibleValuesParser::new(spoil::ALL.map(Spoil::name)))]
    spoil: Option<String>,
    /// For the trainer: a text file of your own readings, for what a sheet asks and the program knows nothing of; it is laid
    /// beside the gauges' pages
    #[arg(long, value_name = "FILE")]
    page: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum DifficultyArgument {
    Easy,
    Medium,
    Hard,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum FuelArgument {
    Petrol,
    Diesel,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum SignalArgument {
    StarterCurrent,
    BatteryVoltage,
    CrankSpeed,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum EscapeArgument {
    Inlet,
    Exhaust,
    Crankcase,
    Coolant,
}

const STATUSES: &str = "\
Exit status:
  0  the job is sealed; with --grades: the list was made
  2  could not be done
  4  the job is left open; `evenfire resume JOB` goes on with it";

pub(crate) fn run(arguments: &PractiseArguments) -> Result<ExitCode, Failure> {
    let shop = arguments.shop.open()?;
    if arguments.grades {
        say(&fitted(grades::list(&shop)?));
        return Ok(ExitCode::SUCCESS);
    }
    match &arguments.resume {
        Some(job) if job.is_empty() => go_on(&shop, &which::only(&shop)?, &arguments.answers),
        Some(job) => go_on(&shop, job, &arguments.answers),
        None => begin(&shop, arguments),
    }
}

fn begin(shop: &Shop, arguments: &PractiseArguments) -> Result<ExitCode, Failure> {
    let roster = Roster::of(shop)?;
    let (named, file, library) = procedure(shop, arguments)?;
    let procedure = file.file_stem().unwrap_or_default().to_string_lossy();
    let answers = arguments.answers.read(&procedure)?;
    let begun = answers.as_ref().and_then(|answers| answers.clock);
    let technician = technician(
        &roster,
        arguments.technician.as_deref(),
        begun.unwrap_or_else(chrono::Utc::now),
        answers.is_none(),
    )?;
    let own_page = arguments.page.as_deref().map(fs_err::read_to_string);
    let own_page = own_page.transpose()?;
    let exercise = Kept {
        exercise: exercise(arguments)?,
        given: Some(named.to_owned()),
    };
    let made = exercise.unspoiled()?;
    let asked = is_graded(&library);
    let mut asker = arguments
        .answers
        .asker(answers.clone(), None, false, None)?;
    let opened = Beginning {
        shop,
        roster: &roster,
        technician: &technician,
        procedure: &procedure,
        library,
        unattended: answers.as_ref().map(Unattended::by),
        exercise: true,
    }
    .begin(asker.now())?;
    let pages = lay(shop, &opened.folder.number(), &exercise, &made)?;
    if let Some(own) = own_page {
        durable::write_new(&pages.join(beginning::OWN_PAGE), own.as_bytes())?;
    }
    begun_with(&exercise, asked, &pages)?;
    let signal = exercise.signal_told(&made);
    let mut resting = resting::Resting::new(asker.as_mut(), 0, signal);
    let asker: &mut dyn Asker = if answers.is_none() {
        &mut resting
    } else {
        resting.inner()
    };
    finish(shop, opened, asker, None, &exercise)
}

/// The procedure as it is named, its file, and it with all that it calls.
fn procedure<'a>(
    shop: &Shop,
    arguments: &'a PractiseArguments,
) -> Result<(&'a str, PathBuf, Library), Failure> {
    let Some(named) = arguments.procedure.as_deref() else {
        let known = known_procedures(&shop.procedures());
        let there = match known.is_empty() {
            true => "The shop has none yet; `evenfire init SHOP --with-procedures` puts the shipped ones there".to_owned(),
            false => format!("The shop has {}", known.join(", ")),
        };
        return Err(format!("which procedure is practised? {there}").into());
    };
    let file = procedure_file(shop, named)?;
    let library = load(&file, &shop.policy().rules)?;
    outermost(&file, &library, shop)?;
    let of_captures = [
        ("--signal", arguments.signal.is_some()),
        ("--spoil", arguments.spoil.is_some()),
    ];
    beginning::of_captures(&library, &of_captures)?;
    Ok((named, file, library))
}

/// Lay the exercise and its pages beside the shop's jobs; the folder of the pages.
fn lay(shop: &Shop, number: &str, exercise: &Kept, made: &Practice) -> Result<PathBuf, Failure> {
    let (kept, pages) = files(shop, number);
    fs_err::create_dir_all(&pages)?;
    durable::write_new(&kept, exercise.written()?.as_bytes())?;
    let known = exercise.pages(made);
    durable::write_new(&pages.join("vehicle.txt"), known.vehicle.as_bytes())?;
    for (cylinder, page) in known.cylinders {
        let file = pages.join(format!("cylinder-{cylinder}.txt"));
        durable::write_new(&file, page.as_bytes())?;
    }
    Ok(pages)
}

/// Say what the exercise is of and where it is looked up: at its beginning, and whenever it is gone on with.
fn begun_with(exercise: &Exercise, is_graded: bool, pages: &Path) -> Result<(), Failure> {
    let layout = answering::layout();
    let vehicle = exercise.vehicle(&exercise.unspoiled()?);
    for sentence in beginning::told(&vehicle, is_graded, pages) {
        say(&layout.sentence(&sentence));
    }
    Ok(())
}

/// Go on with an exercise; of one that is over, show the grade.
pub(super) fn go_on(
    shop: &Shop,
    job: &str,
    answers: &AnswersArgument,
) -> Result<ExitCode, Failure> {
    let folder = shop.job(job)?;
    let (kept, pages) = files(shop, &folder.number());
    if !kept.is_file() {
        return Err(which::no_exercise(job).into());
    }
    let exercise = kept_in(&kept)?;
    let record = folder.file(crate::record::folder::RECORD);
    if record.is_file() {
        let record: Record = serde_json::from_str(&fs_err::read_to_string(&record)?)?;
        return ending::graded(&record, &exercise, &folder, &kept);
    }
    let mut clock = || chrono::Utc::now().to_rfc3339_opts(chrono::SecondsFormat::Secs, true);
    let opened = reopen(folder, &mut clock)?;
    let read = match opened.state.opening() {
        Some(opening) => answers.read(&opening.procedure)?,
        None => None,
    };
    let simulated = opened.state.simulated_clock();
    let last = opened.state.last_at().map(str::to_owned);
    let by_hand = read.is_none();
    // by hand the clock goes on from where its rests have brought it
    let (after, ahead) = match by_hand {
        true => (None, resting::ahead(last.as_deref(), chrono::Utc::now())),
        false => (last.as_deref(), 0),
    };
    let mut asker = answers.asker(read, after, simulated, None)?;
    begun_with(&exercise, is_graded(&opened.library), &pages)?;
    let resumption = Resumption { practice: None };
    let signal = exercise.signal_told(&exercise.unspoiled()?);
    let mut resting = resting::Resting::new(asker.as_mut(), ahead, signal);
    let asker: &mut dyn Asker = if by_hand {
        &mut resting
    } else {
        resting.inner()
    };
    finish(shop, opened, asker, Some(resumption), &exercise)
}

/// Whether a job is an exercise of this shop.
pub(super) fn is_exercise(shop: &Shop, number: &str) -> bool {
    files(shop, number).0.is_file()
}

/// The exercise that a file keeps.
fn kept_in(kept: &Path) -> Result<Kept, Failure> {
    let text = fs_err::read_to_string(kept)?;
    let read = Kept::read(&text);
    read.map_err(|error| format!("{}: {error}; it was changed by hand", kept.display()).into())
}

/// The file that keeps an exercise's seed, and the folder of what may be looked up.
fn files(shop: &Shop, number: &str) -> (PathBuf, PathBuf) {
    let folder = shop.root().join(FOLDER);
    (folder.join(format!("{number}.json")), folder.join(number))
}

fn finish(
    shop: &Shop,
    opened: Opened,
    asker: &mut dyn Asker,
    resumed: Option<Resumption>,
    exercise: &Kept,
) -> Result<ExitCode, Failure> {
    let folder = opened.folder.clone();
    let mut keeper = Simulated {
        job: folder.clone(),
        exercise: exercise.exercise.clone(),
    };
    match drive_with(shop, opened, asker, resumed, &mut keeper)? {
        Driven::Open(status) => Ok(status),
        Driven::Sealed(record) => {
            tell(&record, &folder);
            let kept = files(shop, &folder.number()).0;
            ending::graded(&record, exercise, &folder, &kept)
        }
    }
}

fn exercise(arguments: &PractiseArguments) -> Result<Exercise, Failure> {
    let seed = arguments.seed.unwrap_or_else(|| {
        let now = chrono::Utc::now();
        u64::from(now.timestamp_subsec_nanos()) ^ now.timestamp().unsigned_abs()
    });
    let order = arguments.firing_order.as_ref().map(|text| {
        let order = crate::run::vehicle::order(text);
        order.map_err(|part| format!("--firing-order: {part:?} is no cylinder"))
    });
    let weak = arguments.weak.iter();
    let weak = weak.map(|weak| (weak.cylinder, weak.percent));
    let weak: std::collections::BTreeMap<usize, f64> = weak.collect();
    let signal = arguments.signal.map(|signal| match signal {
        SignalArgument::StarterCurrent => SignalKind::StarterCurrent,
        SignalArgument::BatteryVoltage => SignalKind::BatteryVoltage,
        SignalArgument::CrankSpeed => SignalKind::CrankSpeed,
    });
    let (spoil, signal) = spoiled(arguments.spoil.as_deref(), signal)?;
    Ok(Exercise {
        seed,
        difficulty: match arguments.difficulty {
            None => Difficulty::drawn(seed),
            Some(DifficultyArgument::Easy) => Difficulty::Easy,
            Some(DifficultyArgument::Medium) => Difficulty::Medium,
            Some(DifficultyArgument::Hard) => Difficulty::Hard,
        },
        signal,
        firing_order: order.transpose()?,
        fuel: arguments.fuel.map(|fuel| match fuel {
            FuelArgument::Petrol => Fuel::Petrol,
            FuelArgument::Diesel => Fuel::Diesel,
        }),
        weak: (!weak.is_empty()).then_some(weak),
        escape: arguments.escape.map(|escape| match escape {
            EscapeArgument::Inlet => Escape::Inlet,
            EscapeArgument::Exhaust => Escape::Exhaust,
            EscapeArgument::Crankcase => Escape::Crankcase,
            EscapeArgument::Coolant => Escape::Coolant,
        }),
        spoil,
    })
}
