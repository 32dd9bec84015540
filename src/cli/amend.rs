//! `evenfire amend`: something is added to a signed job; nothing of it is changed.

use std::path::PathBuf;
use std::process::ExitCode;

use chrono::Utc;
use clap::Args;

use crate::cli::one_job::report_page::{against, write_report};
use crate::cli::one_job::waiving::caution;
use crate::cli::one_job::which_job::{self, ShopArgument};
use crate::cli::person::Person;
use crate::cli::person::signing_key::KeyArguments;
use crate::cli::{Failure, fitted, say};
use crate::record::bundle::amendment::{Adding, Attached, amend, amendable, may_amend};
use crate::record::bundle::manifest::shown;
use crate::record::bundle::model::Record;
use crate::record::folder;
use crate::record::shop::Shop;
use crate::record::shop::queue::{self, Wait};
use crate::record::shop::roster::{Role, Roster};

/// Add to a signed job, as a technician: what it corrects, what is to be read instead, and why
///
/// Nothing of the job is changed. A lead decides about it anew.
///
/// At a terminal, what no option gives is asked for.
#[derive(Debug, Args)]
#[command(
    after_help = "Exit status:\n  0  added and signed\n  2  refused, or could not be done; nothing was written"
)]
pub(crate) struct AmendArguments {
    /// Number of the job, or its folder; without it, one that was returned
    job: Option<String>,
    #[command(flatten)]
    shop: ShopArgument,
    /// What it corrects or completes: a step, a line of the record, a file
    #[arg(long, value_name = "TEXT")]
    corrects: Option<String>,
    /// What is to be read in its place or beside it
    #[arg(long, value_name = "TEXT")]
    adds: Option<String>,
    /// Why
    #[arg(long, value_name = "TEXT")]
    reason: Option<String>,
    /// A file to keep with it; may be given several times
    #[arg(long = "attach", value_name = "FILE")]
    attached: Vec<PathBuf>,
    #[command(flatten)]
    key: KeyArguments,
}

pub(crate) fn run(arguments: &AmendArguments) -> Result<ExitCode, Failure> {
    let shop = arguments.shop.open()?;
    let roster = Roster::of(&shop)?;
    let mut person = Person::there("nothing was signed");
    if person.is_none() {
        complete(arguments)?;
    }
    let job = match &arguments.job {
        Some(job) => job.clone(),
        None => returned(&shop, &roster, person.as_mut())?,
    };
    let place = which_job::find(&shop, &job)?;
    let key = arguments.key.choose(&shop, &roster, Role::Technician)?;
    let against = against(&roster, place.number.as_deref());
    // nobody types a text, or a passphrase, for what would be refused anyway
    amendable(&place.folder, &against, key.public(), Utc::now())?;
    let adding = adding(arguments, person.as_mut())?;
    may_amend(&place.folder, &against, key.public(), &adding, Utc::now())?;
    for file in &arguments.attached {
        caution(file);
    }
    let key = key.open()?;
    let made = amend(&place.folder, &against, key.as_ref(), adding, Utc::now())?;
    let record: Record = serde_json::from_slice(&fs_err::read(place.folder.file(folder::RECORD))?)?;
    write_report(&place.folder, &record)?;
    say(&format!(
        "Amendment {} of job {} is signed by {}.\n",
        made.number, made.job, made.name
    ));
    Ok(ExitCode::SUCCESS)
}

/// What each option says, in the words of its prompt.
const TEXTS: [(&str, &str); 3] = [
    (
        "--corrects",
        "What it corrects or completes (a step, a line of the record, a file)",
    ),
    ("--adds", "What is to be read in its place or beside it"),
    ("--reason", "Why"),
];

/// The texts that were given, in the order of [`TEXTS`].
fn given(arguments: &AmendArguments) -> [Option<&String>; 3] {
    [&arguments.corrects, &arguments.adds, &arguments.reason].map(Option::as_ref)
}

/// Where nobody can be asked, everything must have been given.
fn complete(arguments: &AmendArguments) -> Result<(), Failure> {
    let mut missing = String::new();
    if arguments.job.is_none() {
        missing += "\n  JOB: the number of the job, or its folder";
    }
    for ((option, asked), given) in TEXTS.iter().zip(given(arguments)) {
        if given.is_none() {
            missing += &format!("\n  {option} TEXT: {}", asked.to_lowercase());
        }
    }
    if missing.is_empty() {
        return Ok(());
    }
    Err(format!("there is no terminal to ask at, so nothing was added; give also:{missing}").into())
}

/// The job that was returned and not corrected since; whoever is there says which of several.
fn returned(shop: &Shop, roster: &Roster, person: Option<&mut Person>) -> Result<String, Failure> {
    let waiting = queue::waiting(shop, roster)?;
    let jobs: Vec<(String, String)> = waiting
        .into_iter()
        .filter_map(|one| match one.wait {
            Wait::Correction { reason } => {
                let told = format!("{}: was returned: {}", one.job, shown(&reason));
                Some((one.job, told))
            }
            _ => None,
        })
        .collect();
    match (jobs.as_slice(), person) {
        ([(job, told)], _) => {
            say(&fitted(format!("Job {told}\n")));
            Ok(job.clone())
        }
        ([_, _, ..], Some(person)) => {
            let told: Vec<&str> = jobs.iter().map(|(_, told)| told.as_str()).collect();
            let which = person.one_of("Which job is added to?", &told)?;
            Ok(jobs[which].0.clone())
        }
        _ => Err("no job was returned and waits for a correction; name the one that is to be added to by its number".into()),
    }
}

/// What was given, and asked for the rest.
fn adding(arguments: &AmendArguments, mut person: Option<&mut Person>) -> Result<Adding, Failure> {
    let mut texts = Vec::new();
    for ((option, asked), given) in TEXTS.iter().zip(given(arguments)) {
        texts.push(match (given, person.as_deref_mut()) {
            (Some(text), _) => text.clone(),
            (None, Some(person)) => person.text(asked)?,
            (None, None) => return Err(format!("say it with {option} TEXT").into()),
        });
    }
    let named = |from: &PathBuf| {
        let name = from.file_name().unwrap_or_default();
        Attached {
            from: from.clone(),
            name: name.to_string_lossy().into_owned(),
        }
    };
    let mut texts = texts.into_iter();
    let mut text = || texts.next().unwrap_or_default();
    Ok(Adding {
        corrects: text(),
        adds: text(),
        reason: text(),
        attached: arguments.attached.iter().map(named).collect(),
    })
}
