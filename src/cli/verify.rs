//! `evenfire verify`: whether a job's folder is what was signed.

use std::process::ExitCode;

use clap::Args;

use crate::cli::one_job::report_page::{against, page};
use crate::cli::one_job::which_job::{self, Place, ShopArgument};
use crate::cli::{Failure, fitted, say};
use crate::record::audit::{Counts, StandIn, stand_ins};
use crate::record::bundle::decision::{Decision, Ruling};
use crate::record::bundle::signed::{self, Signature, Signed};
use crate::record::shop::Shop;
use crate::record::shop::queue::after_revocation;
use crate::record::shop::roster::Roster;
use crate::record::verify::{Finding, Severity, Status, verify};

/// Check that a job's folder is what was signed, and by whom it should
///
/// The files are compared with what was listed, the signatures with the shop's own roster, the record
/// with the journal, and the report with one made anew. Times are the signers' word.
#[derive(Debug, Args)]
#[command(after_help = STATUSES)]
pub(crate) struct VerifyArguments {
    /// Number of the job, or its folder
    job: String,
    #[command(flatten)]
    shop: ShopArgument,
}

pub(super) const STATUSES: &str = "\
Exit status:
  0  sound: signed, and countersigned where the shop has somebody who could; an exercise needs neither
  1  not sound: the folder is not what was signed, or not signed by whom it should
  2  could not be done
  3  sound, but report.html is missing or is not the one that the files give
  4  sound so far, but not sealed, not signed, not countersigned, or returned";

pub(crate) fn run(arguments: &VerifyArguments) -> Result<ExitCode, Failure> {
    let shop = arguments.shop.open()?;
    let roster = Roster::of(&shop)?;
    let place = which_job::find(&shop, &arguments.job)?;
    let findings = verify(&place.folder, &against(&roster, place.number.as_deref()))?;
    let status = Status::of(&findings);
    let mut text = told(&findings);
    if let Some(number) = &place.number
        && matches!(status, Status::Unsound | Status::Open)
    {
        text += &done_again(&shop, &roster, number, status == Status::Unsound)?;
    }
    if status != Status::Unsound {
        text += &signatures(&place);
    }
    text += &format!("{}: {}\n", place.folder.path().display(), sum(status));
    say(&fitted(text));
    Ok(ExitCode::from(status as u8))
}

/// What was done instead of a job that a revoked key signed or a lead returned; of an unsound one, how that is done.
fn done_again(
    shop: &Shop,
    roster: &Roster,
    number: &str,
    is_unsound: bool,
) -> Result<String, Failure> {
    let Some(found) = stand_ins(shop, number, roster, &page)? else {
        return Ok(String::new());
    };
    let mut text = String::new();
    for StandIn { job, counts } in &found {
        let told = match counts {
            Counts::Yes => "It is sound and accepted, so it answers for this one where the chain of jobs holds (`evenfire audit`)".to_owned(),
            Counts::NotYet => "It answers for this one once it is sound and accepted".to_owned(),
            Counts::Never(why) => format!("That does not count: {why}"),
        };
        text += &format!("AGAIN   Job {job} says that it was done instead of this one. {told}.\n");
    }
    let may_count = |one: &StandIn| !matches!(one.counts, Counts::Never(_));
    if is_unsound && !found.iter().any(may_count) {
        text += &format!("AGAIN   {}\n", after_revocation(number));
    }
    Ok(text)
}

fn told(findings: &[Finding]) -> String {
    let line = |finding: &Finding| {
        let word = match finding.kind.severity() {
            Severity::Broken => "WRONG",
            Severity::Open => "OPEN",
            Severity::Report => "REPORT",
            Severity::Remark => "note",
        };
        format!("{word:8}{}\n", finding.sentence)
    };
    findings.iter().map(line).collect()
}

fn sum(status: Status) -> &'static str {
    match status {
        Status::Sound => "sound",
        Status::Unsound => "NOT SOUND",
        Status::ReportStale => "sound, but its report is not the one that its files give",
        Status::Open => "sound so far, but not finished",
    }
}

/// Who signed; only of a bundle in which nothing is wrong, so that every line of it holds.
fn signatures(place: &Place) -> String {
    let record = signed::record(&place.folder);
    let signed = record.and_then(|record| Signed::read(&place.folder, &record).ok());
    let Some(signed) = signed else {
        return String::new();
    };
    let technician = signed.technician.as_ref();
    let mut text = technician.map_or_else(String::new, sealed);
    text += &decided(signed.lead.as_ref());
    for amended in &signed.amendments {
        text += &line("amended", &amended.signature);
        text += &decided(amended.lead.as_ref());
    }
    text
}

fn decided(lead: Option<&(Signature, Decision)>) -> String {
    let Some((lead, decision)) = lead else {
        return String::new();
    };
    match decision.decision {
        Ruling::Accepted => line("accepted", lead),
        Ruling::Returned => line("returned", lead),
    }
}

/// A technician's signature holds no time of its own; the job's is that of its sealing.
fn sealed(signature: &Signature) -> String {
    let Signature {
        identity,
        time,
        fingerprint,
    } = signature;
    format!("signed by {identity}, {fingerprint}; the job was sealed {time}\n")
}

fn line(what: &str, signature: &Signature) -> String {
    let Signature {
        identity,
        time,
        fingerprint,
    } = signature;
    format!("{what} by {identity}, {time} by their word, {fingerprint}\n")
}
