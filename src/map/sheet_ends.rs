//! What stands before and behind the steps of a work sheet.

use std::cmp::Reverse;

use maud::{Markup, html};

use super::{ForShop, starter};
use crate::procedure::model::{Disabled, Procedure, StepIndex};
use crate::procedure::work::Work;
use crate::run::putting_back::{KEY_FIRST, turn};

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

/// What was taken off, to be ticked back on in this order, and signatures.
pub(super) fn foot(all: &[&Procedure<StepIndex>]) -> Markup {
    let off = off(all);
    html! {
        @if !off.is_empty() {
            h3 { "Put back before the vehicle leaves, in this order" }
            p { b { (KEY_FIRST) } }
            table {
                tr { th { "No." } th { "Thing" } th { "How it is put back" } th { "off" } th { "back" } }
                @for (number, disabled) in off.iter().enumerate() {
                    tr {
                        td { (number + 1) } td { (disabled.item) } td { (disabled.restore) }
                        td { span.tick {} } td { span.tick {} }
                    }
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

/// What is taken off, in the order in which it goes back: as a job that was stopped puts it back.
fn off<'l>(all: &[&'l Procedure<StepIndex>]) -> Vec<&'l Disabled> {
    let mut off: Vec<(usize, &Disabled)> = Vec::new();
    for (number, procedure) in all.iter().enumerate() {
        for disabled in procedure.steps.iter().flat_map(|step| &step.disables) {
            let same =
                |other: &Disabled| other.item == disabled.item && other.restore == disabled.restore;
            if !off.iter().any(|(_, other)| same(other)) {
                off.push((number, disabled));
            }
        }
    }
    // what is taken off last comes first, where no closing says otherwise
    off.reverse();
    off.sort_by_key(|(number, disabled)| {
        // its own procedure puts it back, or one that stands before that and calls it
        let closing = all.iter().enumerate().take(number + 1).rev();
        let mut turns = closing.filter_map(|(at, p)| Some((at, turn(p, &disabled.item)?)));
        let (at, turn) = turns.next().unwrap_or((*number, (Reverse(usize::MAX), 0)));
        (Reverse(at), turn)
    });
    off.into_iter().map(|(_, disabled)| disabled).collect()
}

/// The starter's limit, and by whose limits the sheet judges.
fn limits(shop: Option<&ForShop<'_>>, cranks: bool) -> String {
    let starter = starter(shop);
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

#[cfg(test)]
mod tests {
    use super::super::in_order;
    use super::*;
    use crate::map::tests::library;

    /// What is on the last page stands as the closing has it, not as it came off: leads and lines before the bonnet
    /// shuts, the chocks last, and what a called procedure took off before all that.
    #[test]
    fn what_is_off_is_listed_as_it_goes_back() {
        let library = library("relative-compression");
        let all = in_order(&library, "relative-compression");
        let items: Vec<&str> = off(&all)
            .into_iter()
            .map(|off| off.item.0.as_str())
            .collect();
        let at = |item: &str| items.iter().position(|one| *one == item).unwrap();
        let order = [
            "turning tool",
            "plugs",
            "steering wheel note",
            "battery charger",
            "fuel pump relay",
            "fault memory",
            "remote start and stop-start",
            "wheel chocks",
        ];
        let places = order.map(at);
        assert!(places.is_sorted(), "{items:?}");
        assert_eq!(places[7], items.len() - 1, "{items:?}");
        let page = foot(&all).into_string();
        assert!(page.contains("<td>1</td>"), "{page}");
        assert!(page.contains("in this order"), "{page}");
        assert!(page.find(KEY_FIRST) < page.find("<table>"), "{page}");
    }
}
