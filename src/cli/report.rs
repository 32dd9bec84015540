//! `evenfire report`: write a job's report again.

use std::process::ExitCode;

use clap::Args;

use super::Failure;
use super::judging::{against, write_report};
use super::place::{self, ShopArgument};
use crate::record::folder;
use crate::record::model::Record;
use crate::record::roster::Roster;
use crate::record::verify::{Severity, verify};

/// Write a sealed job's report.html again from its other files
#[derive(Debug, Args)]
pub(crate) struct ReportArguments {
    /// Number of the job, or its folder
    job: String,
    #[command(flatten)]
    shop: ShopArgument,
}

pub(crate) fn run(arguments: &ReportArguments) -> Result<ExitCode, Failure> {
    let shop = arguments.shop.open()?;
    let roster = Roster::of(&shop)?;
    let place = place::find(&shop, &arguments.job)?;
    let findings = verify(&place.folder, &against(&roster, place.number.as_deref()))?;
    // A report made from files that were changed would lend them its looks.
    let broken = findings
        .iter()
        .find(|finding| finding.kind.severity() == Severity::Broken);
    if let Some(broken) = broken {
        let told = format!(
            "{}: not sound, so no report is made: {}",
            place.folder.path().display(),
            broken.sentence
        );
        return Err(told.into());
    }
    let bytes = fs_err::read(place.folder.file(folder::RECORD)).map_err(|error| {
        format!("the job is not sealed yet, so there is nothing to report: {error}")
    })?;
    let record: Record = serde_json::from_slice(&bytes)?;
    write_report(&place.folder, &record)?;
    println!("{}", place.folder.file(folder::REPORT).display());
    Ok(ExitCode::SUCCESS)
}
