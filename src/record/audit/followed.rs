//! The verdict of the cranking capture held against what was measured afterwards in the same job: the
//! only way to learn how often the method accuses the right cylinder in this shop.

use super::line::JobLine;
use crate::cranking::answer::{Identified, VerdictKind};
use crate::procedure::computation::Computation;
use crate::record::bundle::model::{ComputedResult, Record};

/// Bands of a leak-down test that confirm a leak (`followup::bands`).
const LEAKS: [&str; 2] = ["poor", "fault"];

/// Fill in what follow-up tests said of the verdict.
pub(super) fn held_against(line: &mut JobLine, record: &Record) {
    let analysis = record.deciding().and_then(|c| c.analysis.as_ref());
    let low = analysis.filter(|a| a.verdict.kind == VerdictKind::Low);
    let named = low.filter(|a| a.identified != Some(Identified::PositionOnly));
    let suspects: Option<Vec<u32>> = named.map(|a| {
        let cylinders = a.verdict.cylinders.iter();
        cylinders.filter_map(|c| u32::try_from(*c).ok()).collect()
    });
    let tests: Vec<&ComputedResult> = counting(record, Computation::LeakDown).collect();
    line.leak_downs = u32::try_from(tests.len()).unwrap_or(u32::MAX);
    let tested: Vec<(&ComputedResult, Option<u32>)> = tests
        .iter()
        .map(|test| (*test, cylinder_of(test)))
        .collect();
    let of_suspect = |cylinder: &Option<u32>| {
        let suspects = suspects.as_deref().unwrap_or_default();
        cylinder.is_some_and(|cylinder| suspects.contains(&cylinder))
    };
    // a leak in any suspect confirms; so it goes before a suspect that held
    let chosen = tested
        .iter()
        .filter(|(_, cylinder)| of_suspect(cylinder))
        .max_by_key(|(test, _)| leaks(test))
        .or_else(|| tested.last());
    if let Some((test, cylinder)) = chosen {
        line.leak_down_cylinder = *cylinder;
        line.leak_down_band = test.facts.get("band").cloned();
        let loss = test.facts.get("loss");
        line.leak_down_loss = loss.and_then(|loss| loss.trim_end_matches(" %").parse().ok());
    }
    if low.is_some() {
        line.leak_down_against_verdict = Some(match (chosen, &suspects) {
            (None, _) => "not_tested".to_owned(),
            (Some(_), None) | (Some((_, None)), _) => "unnamed".to_owned(),
            (Some((_, cylinder)), _) if !of_suspect(cylinder) => "other_cylinder".to_owned(),
            (Some((test, _)), _) if leaks(test) => "confirmed".to_owned(),
            _ => "held_air".to_owned(),
        });
        line.static_against_verdict = static_low(record).zip(suspects).map(|(low, suspects)| {
            let confirmed = suspects.iter().any(|suspect| low.contains(suspect));
            if confirmed {
                "confirmed"
            } else {
                "not_confirmed"
            }
            .to_owned()
        });
    }
}

fn counting(record: &Record, computation: Computation) -> impl Iterator<Item = &ComputedResult> {
    let computed = record.computed.iter();
    computed.filter(move |result| !result.superseded && result.computation == computation.name())
}

fn leaks(test: &ComputedResult) -> bool {
    let band = test.facts.get("band").map(String::as_str);
    band.is_some_and(|band| LEAKS.contains(&band))
}

/// Cylinders that static compression found low; none where it was not measured.
fn static_low(record: &Record) -> Option<Vec<u32>> {
    let last = counting(record, Computation::StaticCompression).last()?;
    let low = last.facts.get("low cylinders").map_or("", String::as_str);
    Some(numbers(low).collect())
}

fn numbers(text: &str) -> impl Iterator<Item = u32> {
    text.split(|c: char| !c.is_ascii_digit())
        .filter_map(|digits| digits.parse().ok())
}

/// The cylinder that a test was of; none where only a pair of them was known.
fn cylinder_of(test: &ComputedResult) -> Option<u32> {
    test.facts.get("cylinder")?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_found_in_a_list() {
        assert_eq!(numbers("2 and 13").collect::<Vec<_>>(), [2, 13]);
    }
}
