//! `evenfire amend`: something is added to a signed job; nothing of it is changed.

use std::path::PathBuf;
use std::process::ExitCode;

use chrono::Utc;
use clap::Args;

use super::Failure;
use super::judging::{against, write_report};
use super::place::{self, ShopArgument};
use super::signing_key::KeyArguments;
use crate::record::amendment::{Adding, Attached, amend, may_amend};
use crate::record::folder;
use crate::record::model::Record;
use crate::record::roster::{Role, Roster};

/// Add to a signed job, as a technician: what it corrects, what is to be read instead, and why
///
/// Nothing of the job is changed. A lead decides about it anew.
#[derive(Debug, Args)]
#[command(
    after_help = "Exit status:\n  0  added and signed\n  2  refused, or could not be done; nothing was written"
)]
pub(crate) struct AmendArguments {
    /// Number of the job, or its folder
    job: String,
    #[command(flatten)]
    shop: ShopArgument,
    /// What it corrects or completes: a step, a line of the record, a file
    #[arg(long, value_name = "TEXT")]
    corrects: String,
    /// What is to be read in its place or beside it
    #[arg(long, value_name = "TEXT")]
    adds: String,
    /// Why
    #[arg(long, value_name = "TEXT")]
    reason: String,
    /// A file to keep with it; may be given several times
    #[arg(long = "attach", value_name = "FILE")]
    attached: Vec<PathBuf>,
    #[command(flatten)]
    key: KeyArguments,
}

pub(crate) fn run(arguments: &AmendArguments) -> Result<ExitCode, Failure> {
    let shop = arguments.shop.open()?;
    let roster = Roster::of(&shop)?;
    let place = place::find(&shop, &arguments.job)?;
    let key = arguments.key.choose(&roster, Role::Technician)?;
    let named = |from: &PathBuf| {
        let name = from.file_name().unwrap_or_default();
        Attached {
            from: from.clone(),
            name: name.to_string_lossy().into_owned(),
        }
    };
    let adding = Adding {
        corrects: arguments.corrects.clone(),
        adds: arguments.adds.clone(),
        reason: arguments.reason.clone(),
        attached: arguments.attached.iter().map(named).collect(),
    };
    let against = against(&roster, place.number.as_deref());
    // nobody types a passphrase for what would be refused anyway
    may_amend(&place.folder, &against, key.public(), &adding, Utc::now())?;
    let key = key.open()?;
    let made = amend(&place.folder, &against, key.as_ref(), adding, Utc::now())?;
    let record: Record = serde_json::from_slice(&fs_err::read(place.folder.file(folder::RECORD))?)?;
    write_report(&place.folder, &record)?;
    println!(
        "Amendment {} of job {} is signed by {}.",
        made.number, made.job, made.name
    );
    Ok(ExitCode::SUCCESS)
}
