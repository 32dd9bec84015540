//! `evenfire report`: write a job's report again.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;

use crate::cli::one_job::report_page::{against, renew_report, signatures_of};
use crate::cli::one_job::which_job::{self, ShopArgument};
use crate::cli::{Failure, fitted, say, warn};
use crate::record::bundle::model::Record;
use crate::record::durable;
use crate::record::folder::{self, JobFolder};
use crate::record::shop::Shop;
use crate::record::shop::roster::Roster;
use crate::record::verify::{Severity, verify};
use crate::report::html::compare::{self, Side};

/// Write a sealed job's report.html again from its other files
#[derive(Debug, Args)]
pub(crate) struct ReportArguments {
    /// Number of the job, or its folder
    job: String,
    /// Set it beside the job before the repair, given by number or folder, in a page of its own
    #[arg(long, value_name = "EARLIER")]
    compare: Option<String>,
    /// Where that page goes; by default compare-EARLIER-JOB.html in the working folder
    #[arg(long, value_name = "FILE", requires = "compare")]
    into: Option<PathBuf>,
    #[command(flatten)]
    shop: ShopArgument,
}

pub(crate) fn run(arguments: &ReportArguments) -> Result<ExitCode, Failure> {
    let shop = arguments.shop.open()?;
    let roster = Roster::of(&shop)?;
    let (job, record) = sound(&shop, &roster, &arguments.job)?;
    let file = match &arguments.compare {
        None => {
            if let Some(other) = renew_report(&job, &record)? {
                warn(&format!(
                    "The page that lay there was not the one that the job's files give; it is kept as {}.\n",
                    other.display()
                ));
            }
            job.file(folder::REPORT)
        }
        Some(earlier) => {
            let (before, old) = sound(&shop, &roster, earlier)?;
            if same_place(&before, &job) {
                let told = format!(
                    "{}: a job is not compared with itself; name the job before the repair after --compare",
                    job.path().display()
                );
                return Err(told.into());
            }
            let shown = [signatures_of(&before, &old)?, signatures_of(&job, &record)?];
            let side = |record, signatures| Side { record, signatures };
            let page = compare::page(side(&old, &shown[0]), side(&record, &shown[1]));
            let file = arguments.into.clone().unwrap_or_else(|| {
                PathBuf::from(format!("compare-{}-{}.html", before.number(), job.number()))
            });
            durable::replace(&file, page.as_bytes())?;
            let untold = compare::untold(&old, &record);
            for doubt in compare::doubts(&old, &record).into_iter().chain(untold) {
                warn(&fitted(format!("{doubt}\n")));
            }
            file
        }
    };
    say(&format!("{}\n", file.display()));
    Ok(ExitCode::SUCCESS)
}

/// Whether both are one folder, however it was named.
fn same_place(one: &JobFolder, other: &JobFolder) -> bool {
    let whole = |job: &JobFolder| fs_err::canonicalize(job.path()).ok();
    one.path() == other.path() || whole(one).is_some_and(|path| whole(other) == Some(path))
}

/// A job in which nothing is wrong, with its record: a report made from files that were changed would
/// lend them its looks.
fn sound(shop: &Shop, roster: &Roster, job: &str) -> Result<(JobFolder, Record), Failure> {
    let place = which_job::find(shop, job)?;
    let findings = verify(&place.folder, &against(roster, place.number.as_deref()))?;
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
    Ok((place.folder, serde_json::from_slice(&bytes)?))
}
