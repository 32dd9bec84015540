//! What stands before and behind the steps of a work sheet.

use maud::{Markup, html};

use super::ForShop;
use crate::followup::limits::ShopLimits;
use crate::procedure::model::{Procedure, StepIndex};
use crate::procedure::work::Work;

pub(super) fn head(all: &[&Procedure<StepIndex>], shop: Option<&ForShop<'_>>) -> Markup {
    html! {
        @if let Some(first) = all.first() {
            h1 { (first.title) }
            p { (first.purpose) }
        }
        p.aside {
            "Work sheet of "
            @for (number, procedure) in all.iter().enumerate() {
                @if number > 0 { ", " }
                (procedure.name) " revision " (procedure.revision)
            }
            ". The vehicle maker's procedure, local codes and licensed practice come first. A sheet filled in by hand \
             is no signed record: enter it into a job afterwards."
        }
        p.aside { (limits(shop, cranks(all))) }
        p.aside { "→ " b { "12" } " means: go on with step 12. Where no arrow stands, the next number follows." }
        p { "Job " span.blank {} " Vehicle " span.blank {} " Date " span.blank {} }
    }
}

/// What was taken off, to be ticked back on, and signatures.
pub(super) fn foot(all: &[&Procedure<StepIndex>]) -> Markup {
    let mut off: Vec<(String, String)> = Vec::new();
    for disabled in all
        .iter()
        .flat_map(|p| &p.steps)
        .flat_map(|step| &step.disables)
    {
        let item = (disabled.item.to_string(), disabled.restore.clone());
        if !off.contains(&item) {
            off.push(item);
        }
    }
    html! {
        @if !off.is_empty() {
            h3 { "Put back before the vehicle leaves" }
            table {
                tr { th { "Thing" } th { "How it is put back" } th { "off" } th { "back" } }
                @for (item, restore) in off {
                    tr { td { (item) } td { (restore) } td { span.tick {} } td { span.tick {} } }
                }
            }
        }
        h3 { "Signed" }
        table.sign {
            tr { th { "Technician" } th { "Lead" } th { "Date and time" } }
            tr { td {} td {} td {} }
        }
    }
}

/// The starter's limit, and by whose limits the sheet judges.
fn limits(shop: Option<&ForShop<'_>>, cranks: bool) -> String {
    let starter = shop
        .map_or_else(ShopLimits::default, |shop| shop.limits)
        .starter;
    let (starter, these) = if cranks {
        let starter = format!(
            "A starter turns {} s at most, then rests {} s. ",
            starter.crank_seconds, starter.rest_seconds
        );
        (starter, "This and the limits below are")
    } else {
        (String::new(), "The limits below are")
    };
    match shop {
        Some(shop) => format!("{starter}{these} those of {}.", shop.name),
        None => format!(
            "{starter}{these} the usual ones; a sheet made in a shop, or with --shop, has its own."
        ),
    }
}

/// Whether the starter turns in any step.
fn cranks(all: &[&Procedure<StepIndex>]) -> bool {
    let mut work = all
        .iter()
        .flat_map(|p| &p.steps)
        .flat_map(|step| &step.work);
    work.any(|work| {
        matches!(
            work,
            Work::ProvingCrank | Work::Crank | Work::CrankOpenCylinder
        )
    })
}
