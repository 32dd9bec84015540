//! Two jobs of one engine side by side: before a repair and after it. It changes neither bundle and is
//! signed by nobody; it names both, so that each can be verified.

use maud::{Markup, html};

use super::{bars, document, summary};
use crate::cranking::answer::{Analysis, CylinderRow};
use crate::followup::after_repair::{Change, CylinderChange, compare};
use crate::procedure::model::{OutcomeKind, RecordLine};
use crate::record::audit::vehicle_key;
use crate::record::bundle::model::Record;
use crate::record::moment;
use crate::report::signatures::{Ruling, Signatures};
use crate::report::text::{number, time};
use crate::report::wording;
use crate::text::clean;

/// A job to be compared.
#[derive(Debug, Clone, Copy)]
pub struct Side<'a> {
    /// Its record.
    pub record: &'a Record,
    /// Who signed it.
    pub signatures: &'a Signatures,
}

/// The page. The same records give the same bytes.
#[must_use]
pub fn page(before: Side<'_>, after: Side<'_>) -> String {
    let practice = [before, after].iter().any(|side| side.record.is_practice());
    let mark = if practice { "PRACTICE: " } else { "" };
    let jobs = [before, after].map(|side| clean(&side.record.job));
    let title = format!(
        "{mark}Before and after: job {} and job {}",
        jobs[0], jobs[1]
    );
    let body = html! {
        header {
            p.shop { (clean(&after.record.shop)) }
            h1 { (title) }
        }
        main { (comparison(before, after)) }
        footer { p {
            "This page is made from " (sources(before, after)) " and is not signed itself; verify each with "
            code { "evenfire verify" } ". Times are UTC."
        } }
    };
    document(&title, practice, &body)
}

/// What it is made from, and which of them nobody has signed yet.
fn sources(before: Side<'_>, after: Side<'_>) -> String {
    let unsigned = |side: &Side<'_>| side.signatures.technician.is_none();
    let unsigned: Vec<String> = [before, after]
        .iter()
        .filter(|side| unsigned(side))
        .map(|side| clean(&side.record.job))
        .collect();
    match unsigned.as_slice() {
        [] => "two signed jobs".to_owned(),
        [one] => format!("two jobs, of which nobody has signed {one},"),
        _ => "two jobs that nobody has signed".to_owned(),
    }
}

fn comparison(before: Side<'_>, after: Side<'_>) -> Markup {
    let analyses = [before, after].map(|side| side.record.deciding()?.analysis.as_ref());
    let untold = untold(before.record, after.record);
    html! {
        section.summary aria-labelledby="result" {
            h2 id="result" { "Result" }
            @for warning in doubts(before.record, after.record) { p.open { (warning) } }
            @for warning in [before, after].into_iter().filter_map(returned) { p.open { (warning) } }
            @match analyses {
                [Some(_), Some(_)] if untold.is_some() => p { (untold.unwrap_or_default()) },
                [Some(old), Some(new)] => {
                    (changed(old, new))
                    p { (wording::COMMON_LOSS) }
                },
                _ => p { "One of the jobs has no analysed capture, so there is nothing to compare." },
            }
        }
        section aria-labelledby="sides" {
            h2 id="sides" { "Side by side" }
            div.beside {
                (side(before, "Before", "before"))
                (side(after, "After", "after"))
            }
        }
    }
}

/// The line of the record that tells one vehicle from another.
const VEHICLE: &str = RecordLine::VehicleIdentity.name();

/// Why the two might not be of one engine in that order.
pub(crate) fn doubts(before: &Record, after: &Record) -> Vec<String> {
    // one vehicle may be typed with and without spaces
    let same = |name: &str, old: &str, new: &str| match name {
        VEHICLE => vehicle_key(old) == vehicle_key(new),
        _ => old == new,
    };
    let mut doubts: Vec<String> = [VEHICLE, "firing order", "numbering source"]
        .into_iter()
        .filter_map(|name| {
            let told = match (before.lines.get(name), after.lines.get(name)) {
                (None, None) => return None,
                (Some(old), Some(new)) if same(name, old, new) => return None,
                (Some(_), Some(_)) => format!("The two jobs give different entries for {name}"),
                _ => format!("Only one of the two jobs has an entry for {name}"),
            };
            Some(format!("{told}: make sure that both are of one engine."))
        })
        .collect();
    for record in [before, after] {
        if record.outcome.kind == OutcomeKind::NoVerdict {
            doubts.push(format!(
                "Job {} came to no verdict; what is shown of it is its last recording's own.",
                clean(&record.job)
            ));
        }
    }
    let [first, second] = [before, after].map(|r| moment::read(&r.sealed));
    if first
        .zip(second)
        .is_some_and(|(first, second)| second < first)
    {
        doubts.push("The job that is shown as after was sealed before the other.".to_owned());
    }
    doubts
}

/// Why nothing can be said of what changed, whatever the recordings say.
pub(crate) fn untold(before: &Record, after: &Record) -> Option<String> {
    let vehicles = [before, after].map(|record| vehicle_key(record.lines.get(VEHICLE)?));
    if let [Some(old), Some(new)] = &vehicles
        && old != new
    {
        return Some(
            "The two jobs are of two vehicles, so nothing is told of what changed.".to_owned(),
        );
    }
    let undecided = |record: &&&Record| record.outcome.kind == OutcomeKind::NoVerdict;
    let undecided = [&before, &after].into_iter().find(undecided)?;
    Some(format!(
        "Job {} came to no verdict, so nothing is told of what changed.",
        clean(&undecided.job)
    ))
}

/// That a lead returned a job.
fn returned(side: Side<'_>) -> Option<String> {
    let decision = side.signatures.decision()?;
    let is_returned = decision.ruling == Ruling::Returned;
    is_returned.then(|| {
        let reason = decision
            .reason
            .as_deref()
            .map_or_else(String::new, |why| format!(": {}", clean(why)));
        format!(
            "Job {} was RETURNED for correction{reason}",
            clean(&side.record.job)
        )
    })
}

fn changed(before: &Analysis, after: &Analysis) -> Markup {
    let (change, cylinders, why) = compare(before, after);
    let old = before.cylinders.as_deref().unwrap_or_default();
    let new = after.cylinders.as_deref().unwrap_or_default();
    html! {
        dl.answer {
            dt { "What changed" }
            dd { div.found { (word(change)) } div { (clean(&why)) } }
        }
        @if !cylinders.is_empty() {
            table.compared {
                caption { "Relative compression, percent of the good cylinders, with 95 % intervals" }
                thead { tr {
                    th scope="col" { "Cylinder" }
                    th.number scope="col" { "Before" }
                    th.number scope="col" { "After" }
                    th.number scope="col" { "Difference, points" }
                    th scope="col" { "Change" }
                } }
                tbody { @for cylinder in &cylinders { (row(cylinder, old, new)) } }
            }
            p.aside {
                "A cylinder has changed only where the difference is greater than both intervals together allow; of those that were not low before, than they allow for all of them at once. What was even before and is even now is not told as changed."
            }
        }
    }
}

fn row(change: &CylinderChange, old: &[CylinderRow], new: &[CylinderRow]) -> Markup {
    let shown = |rows: &[CylinderRow]| {
        let mut rows = rows.iter();
        rows.find(|row| row.cylinder == change.cylinder)
            .map_or_else(String::new, |row| {
                let percent = number(row.relative_compression_percent, 0);
                format!(
                    "{percent} ({} – {})",
                    number(row.low, 0),
                    number(row.high, 0)
                )
            })
    };
    let changed = change.change != Change::Same;
    html! {
        tr {
            th scope="row" { (change.cylinder) }
            td.number { (shown(old)) }
            td.number { (shown(new)) }
            td.number { (number(change.difference, 1)) " ± " (number(change.half_width, 1)) }
            td { @if changed { strong { (word(change.change)) } } @else { (word(change.change)) } }
        }
    }
}

fn word(change: Change) -> &'static str {
    match change {
        Change::Improved => "improved",
        Change::Same => "no change to be seen",
        Change::Worse => "WORSE",
        Change::CannotTell => "cannot be told",
    }
}

fn side(side: Side<'_>, heading: &str, id: &str) -> Markup {
    let record = side.record;
    let line = |name: &str| {
        record
            .lines
            .get(name)
            .map_or("not recorded".to_owned(), |text| clean(text))
    };
    html! {
        div {
            h3 { (heading) ": job " (clean(&record.job)) }
            dl.facts {
                div { dt { "test" } dd { (clean(record.title())) } }
                div { dt { "vehicle" } dd { (line("vehicle")) } }
                div { dt { "identity" } dd { (line("vehicle identity")) } }
                div { dt { "odometer" } dd { (line("odometer")) } }
                div { dt { "sealed" } dd { (time(&record.sealed)) } }
                div { dt { "signatures" } dd { (summary::reviewed(side.record, side.signatures)) } }
                @if !side.signatures.amendments.is_empty() { div { (summary::added(side.signatures)) } }
            }
            p { strong { (wording::found(record)) ". " } (clean(&record.outcome.finding)) }
            @if let Some(analysis) = record.deciding().and_then(|capture| capture.analysis.as_ref()) {
                @if wording::judged(analysis) { (bars::figure(analysis, id)) } @else {
                    p { strong { (wording::verdict(analysis)) ". " } (clean(&analysis.verdict.why)) }
                }
                p.aside { (wording::basis(analysis)) }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::example;

    #[test]
    fn a_repair_is_told_cylinder_by_cylinder() {
        let before = example::record();
        let mut after = example::record();
        after.job = "0077".to_owned();
        for capture in &mut after.captures {
            let rows = capture
                .analysis
                .iter_mut()
                .flat_map(|a| a.cylinders.iter_mut().flatten());
            for row in rows.filter(|row| row.cylinder == 3) {
                (row.relative_compression_percent, row.low, row.high) = (99.0, 96.0, 102.0);
                row.finding = crate::cranking::answer::Finding::Even;
            }
        }
        let signatures = example::signatures();
        fn side<'a>(record: &'a Record, signatures: &'a Signatures) -> Side<'a> {
            Side { record, signatures }
        }
        let page = page(side(&before, &signatures), side(&after, &signatures));
        assert!(page.contains("Before and after: job 0042 and job 0077"));
        assert!(
            page.contains("62 (59 – 65)") && page.contains("99 (96 – 102)"),
            "{page}"
        );
        assert!(page.contains("<strong>improved</strong>"));
        let untold = |edit: &dyn Fn(&mut Record)| {
            let mut after = after.clone();
            edit(&mut after);
            let page = super::page(side(&before, &signatures), side(&after, &signatures));
            assert!(
                page.contains("so nothing is told of what changed"),
                "{page}"
            );
            assert!(!page.contains("What changed") && !page.contains("<strong>improved"));
        };
        untold(&|after| after.outcome.kind = OutcomeKind::NoVerdict);
        untold(&|after| {
            let other = "EX 9".to_owned();
            after.lines.insert(VEHICLE.to_owned(), other);
        });
        let mut returned = signatures.clone();
        let decision = returned.countersign.as_mut().unwrap();
        (decision.ruling, decision.reason) = (Ruling::Returned, Some("no source".to_owned()));
        let warned = super::page(side(&before, &returned), side(&after, &signatures));
        let result = warned.split("Side by side").next().unwrap();
        assert!(result.contains("was RETURNED for correction: no source"));
        assert!(page.contains("made from two signed jobs and"));
        let nobody = Signatures::default();
        let unsigned = super::page(side(&before, &signatures), side(&after, &nobody));
        assert!(unsigned.contains("of which nobody has signed 0077, and is not signed"));
        assert_eq!(page.matches("<svg").count(), 2);
        let mut undecided = before.clone();
        undecided.captures.pop();
        undecided.captures[0].superseded = false;
        let without = super::page(side(&undecided, &signatures), side(&after, &signatures));
        assert_eq!(
            without.matches("<svg").count(),
            1,
            "no bars without a verdict"
        );
        assert!(without.contains("No verdict. </strong>The signal ran into the scope's range"));
        assert!(!without.contains(">uncertain<"));
        after
            .lines
            .insert("vehicle identity".to_owned(), "<b>other".to_owned());
        after.lines.remove("numbering source");
        let other = super::page(side(&before, &signatures), side(&after, &signatures));
        assert!(other.contains("Only one of the two jobs has an entry for numbering source"));
        assert!(other.contains("different entries for vehicle identity"));
        assert!(!other.contains("<b>other") && !other.contains("<script"));
    }

    #[test]
    fn one_vehicle_typed_in_two_ways_raises_no_doubt() {
        let before = example::record();
        let doubts = |identity: &str| {
            let mut after = before.clone();
            after.lines.insert(VEHICLE.to_owned(), identity.to_owned());
            doubts(&before, &after)
        };
        assert_eq!(before.lines[VEHICLE], "EX 1234");
        assert_eq!(doubts("ex1234"), [""; 0]);
        assert_eq!(doubts("EX 1235").len(), 1);
        let mut without = before.clone();
        without.lines.remove(VEHICLE);
        assert!(super::doubts(&without, &before)[0].starts_with("Only one of the two jobs"));
    }
}
