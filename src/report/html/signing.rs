//! Signatures: name, time and meaning of each.

use maud::{Markup, html};

use crate::record::bundle::model::Record;
use crate::report::signatures::{Amendment, Countersignature, Ruling, Signature, Signatures};
use crate::report::text::time;
use crate::text::clean;

/// Who signed what.
pub(super) fn section(record: &Record, signatures: &Signatures) -> Markup {
    html! {
        h3 { "Signatures" }
        (table(signatures))
        @if !record.needs_signatures() && signatures.technician.is_none() {
            p { strong { "Not signed." } " An exercise need not be." }
        } @else if signatures.technician.is_none() {
            p { strong { "Not signed." } }
        }
        @if record.needs_signatures() && signatures.decision().is_none() {
            @if signatures.amendments.is_empty() {
                p { strong { "Not countersigned." } " Nobody but the technician has reviewed this job." }
            } @else {
                p { strong { "Not countersigned." } " Nobody else has reviewed this job since it was added to." }
            }
        }
        p.aside { "The technician's signature of a job holds no time of its own; the other times are the signers' word. Whether a signature is good is not told by this page but by the commands below." }
    }
}

fn table(signatures: &Signatures) -> Markup {
    if signatures.technician.is_none() {
        return html! {};
    }
    html! {
        table.keep {
            thead { tr {
                th scope="col" { "Name" }
                th scope="col" { "Time, UTC" }
                th scope="col" { "Meaning" }
                th scope="col" { "Key" }
            } }
            tbody {
                @if let Some(technician) = &signatures.technician {
                    (row(technician, "sealed ", "technician: did this work and found this"))
                }
                @if let Some(countersign) = &signatures.countersign {
                    (row(&countersign.signature, "", &meaning(countersign)))
                }
                @for amendment in &signatures.amendments { (amended(amendment)) }
            }
        }
    }
}

/// Steps that the lead waived; nothing where there are none.
pub(super) fn waivers(signatures: &Signatures) -> Markup {
    html! {
        @if !signatures.waivers.is_empty() {
            h3 { "Waived steps" }
            table.waived {
                thead { tr {
                    th scope="col" { "Waiver" }
                    th scope="col" { "Step" }
                    th scope="col" { "Reason" }
                    th scope="col" { "Allowed by" }
                    th scope="col" { "Time, UTC" }
                } }
                tbody { @for waiver in &signatures.waivers { tr {
                    th scope="row" { "waivers/" (waiver.number) ".txt" }
                    td.step { (clean(&waiver.step)) }
                    td { (clean(&waiver.reason)) }
                    td { (clean(&waiver.signature.identity)) }
                    td.time { (time(&waiver.signature.time)) }
                } } }
            }
        }
    }
}

fn meaning(countersign: &Countersignature) -> String {
    let decided = match countersign.ruling {
        Ruling::Accepted => "lead: reviewed and accepted this job",
        Ruling::Returned => "lead: reviewed this job and RETURNED it for correction",
    };
    match &countersign.reason {
        Some(reason) => format!("{decided}: {reason}"),
        None => decided.to_owned(),
    }
}

fn amended(amendment: &Amendment) -> Markup {
    let text = format!("amendment {}: {}", amendment.number, amendment.says);
    html! {
        (row(&amendment.signature, "", &text))
        @if let Some(countersign) = &amendment.countersign {
            (row(&countersign.signature, "", &format!("amendment {}, {}", amendment.number, meaning(countersign))))
        }
    }
}

/// `of` says what the time is of, where it is not that of signing.
fn row(signature: &Signature, of: &str, meaning: &str) -> Markup {
    html! {
        tr {
            th scope="row" { (clean(&signature.identity)) }
            td.time { (of) (time(&signature.time)) }
            td { (clean(meaning)) }
            td { code { (clean(&signature.fingerprint)) } }
        }
    }
}
