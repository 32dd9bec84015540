//! The report that belongs to a record and its signatures, for the commands that write or compare it.

use std::path::PathBuf;

use crate::cli::Failure;
use crate::record::bundle::decision::Decision;
use crate::record::bundle::model::Record;
use crate::record::bundle::signed::{Signature, Signed};
use crate::record::durable;
use crate::record::folder::{self, JobFolder};
use crate::record::shop::roster::Roster;
use crate::record::verify::Against;
use crate::report::html;
use crate::report::signatures::{Amendment, Countersignature, Signatures, Waiver};

/// What a job is held against.
pub(crate) fn against<'a>(roster: &'a Roster, number: Option<&'a str>) -> Against<'a> {
    Against {
        roster,
        number,
        report: &page,
    }
}

/// Write the report anew: it is derived, so an older one is replaced.
pub(crate) fn write_report(job: &JobFolder, record: &Record) -> Result<(), Failure> {
    write(job, record, &page_of(job, record)?)
}

fn page_of(job: &JobFolder, record: &Record) -> Result<String, Failure> {
    Ok(page(record, &Signed::read(job, record)?))
}

fn write(job: &JobFolder, record: &Record, page: &str) -> Result<(), Failure> {
    let written = durable::replace(&job.file(folder::REPORT), page.as_bytes());
    written.map_err(|why| {
        let job = &record.job;
        format!("{why}. What was sealed and signed stands; only its report is to be made: evenfire report {job}").into()
    })
}

/// Whether another page lies there than the one that the job's files give: somebody may have read it.
pub(crate) fn is_false_page(job: &JobFolder, record: &Record) -> Result<bool, Failure> {
    Ok(is_another(job, &page_of(job, record)?))
}

fn is_another(job: &JobFolder, page: &str) -> bool {
    let there = std::fs::read(job.file(folder::REPORT)).ok();
    there.is_some_and(|bytes| bytes != page.as_bytes())
}

/// Write the report anew; another page that lay there is kept beside the job, where this says.
pub(crate) fn renew_report(job: &JobFolder, record: &Record) -> Result<Option<PathBuf>, Failure> {
    let page = page_of(job, record)?;
    let mut kept = None;
    if is_another(job, &page) {
        let whole = job.path().canonicalize()?;
        let name = |number: u32| format!("{}-other-report-{number}.html", record.job);
        let place = |number| whole.with_file_name(name(number));
        kept = Some(durable::put_aside(&job.file(folder::REPORT), place)?);
    }
    write(job, record, &page)?;
    Ok(kept)
}

pub(crate) fn page(record: &Record, signed: &Signed) -> String {
    html::page(record, &signatures(signed))
}

/// The signatures of a job, for a page.
pub(crate) fn signatures_of(job: &JobFolder, record: &Record) -> Result<Signatures, Failure> {
    Ok(signatures(&Signed::read(job, record)?))
}

fn signatures(signed: &Signed) -> Signatures {
    let waivers = signed
        .waivers
        .iter()
        .map(|(number, waiver, signature)| Waiver {
            number: *number,
            step: waiver.step.clone(),
            reason: waiver.reason.clone(),
            signature: signature.clone(),
        });
    let amendments = signed.amendments.iter().map(|amended| {
        let said = &amended.amendment;
        Amendment {
            number: said.number,
            corrects: said.corrects.clone(),
            says: format!("{}: {} ({})", said.corrects, said.adds, said.reason),
            signature: amended.signature.clone(),
            countersign: amended.lead.as_ref().map(countersignature),
        }
    });
    Signatures {
        technician: signed.technician.clone(),
        countersign: signed.lead.as_ref().map(countersignature),
        waivers: waivers.collect(),
        amendments: amendments.collect(),
        attachments: signed.attachments.clone(),
    }
}

fn countersignature((lead, decision): &(Signature, Decision)) -> Countersignature {
    Countersignature {
        signature: lead.clone(),
        ruling: decision.decision,
        reason: decision.reason.clone(),
    }
}
