//! The report that belongs to a record and its signatures, for the commands that write or compare it.

use super::Failure;
use crate::record::durable;
use crate::record::folder::{self, JobFolder};
use crate::record::model::Record;
use crate::record::roster::Roster;
use crate::record::signed::Signed;
use crate::record::verify::Against;
use crate::report::html;
use crate::report::signatures::{Countersignature, Signatures};

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
    let signed = Signed::read(job, record)?;
    let page = page(record, &signed);
    Ok(durable::replace(
        &job.file(folder::REPORT),
        page.as_bytes(),
    )?)
}

pub(crate) fn page(record: &Record, signed: &Signed) -> String {
    html::page(record, &signatures(signed))
}

/// The signatures of a job, for a page.
pub(crate) fn signatures_of(job: &JobFolder, record: &Record) -> Result<Signatures, Failure> {
    Ok(signatures(&Signed::read(job, record)?))
}

fn signatures(signed: &Signed) -> Signatures {
    Signatures {
        technician: signed.technician.clone(),
        countersign: signed
            .lead
            .as_ref()
            .map(|(lead, decision)| Countersignature {
                signature: lead.clone(),
                ruling: decision.decision,
                reason: decision.reason.clone(),
            }),
        ..Signatures::default()
    }
}
