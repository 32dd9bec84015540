//! Whether two analyses of one engine say the same: the same verdict on the same cylinders, and every
//! cylinder's 95 % intervals overlap.

use std::collections::BTreeMap;

use crate::cranking::answer::{Analysis, VerdictKind};
use crate::run::facts::WHY;
use crate::text::list;

/// The fact that says whether they do, and what it says where they do not.
pub(super) const AGREEMENT: &str = "agreement";
pub(super) const DIFFER: &str = "differ";

/// A row's number with its interval.
type Row = (usize, f64, f64);

/// The facts, by name.
#[must_use]
pub fn facts(first: &Analysis, second: &Analysis) -> BTreeMap<String, String> {
    let (agreement, why) = match judge(first, second) {
        Ok(why) => ("agree", why),
        Err(why) => (DIFFER, why),
    };
    BTreeMap::from([
        (AGREEMENT.to_owned(), agreement.to_owned()),
        (WHY.to_owned(), why),
    ])
}

/// Whether two analyses say the same.
///
/// # Errors
/// The sentence that says why they differ; where they agree, the sentence that says in what.
pub fn judge(first: &Analysis, second: &Analysis) -> Result<String, String> {
    let kinds = (first.verdict.kind, second.verdict.kind);
    if kinds.0 == VerdictKind::Inconclusive || kinds.1 == VerdictKind::Inconclusive {
        return Err("At least one of the two captures gives no verdict.".to_owned());
    }
    // two cranks never come out alike to the last bit
    if first.cranking.is_some() && first == second {
        return Err(
            "Both captures are one and the same recording, which proves nothing a second time."
                .to_owned(),
        );
    }
    if kinds.0 != kinds.1 {
        return Err(format!(
            "The first capture says {}, the second {}.",
            kinds.0.name(),
            kinds.1.name()
        ));
    }
    match (&first.positions, &second.positions) {
        (None, None) => by_cylinder(first, second),
        (Some(_), Some(_)) => by_position(first, second),
        _ => Err(
            "Only one of the two captures names cylinders, so they cannot be compared.".to_owned(),
        ),
    }
}

fn by_cylinder(first: &Analysis, second: &Analysis) -> Result<String, String> {
    let low = |analysis: &Analysis| {
        let mut cylinders = analysis.verdict.cylinders.clone();
        cylinders.sort_unstable();
        cylinders
    };
    let (ours, theirs) = (low(first), low(second));
    if ours != theirs {
        return Err(format!(
            "The first capture accuses {}, the second {}.",
            listed(&ours),
            listed(&theirs)
        ));
    }
    let (first, second) = (rows(first), rows(second));
    if first.len() != second.len() {
        return Err("The two captures give results for different cylinders.".to_owned());
    }
    for (one, other) in first.iter().zip(&second) {
        if one.0 != other.0 {
            return Err("The two captures give results for different cylinders.".to_owned());
        }
        if !overlap(one, other) {
            return Err(format!(
                "Cylinder {} reads {:.0} to {:.0} % in the first capture and {:.0} to {:.0} % in the second; \
                 they do not overlap.",
                one.0, one.1, one.2, other.1, other.2
            ));
        }
    }
    Ok(if ours.is_empty() {
        "Both captures find no cylinder under the limit, and every cylinder's intervals overlap."
            .to_owned()
    } else {
        format!(
            "Both captures accuse {}, and every cylinder's intervals overlap.",
            listed(&ours)
        )
    })
}

/// Positions are counted from an arbitrary start in each capture. Two even captures agree if some
/// turning of one lays it over the other; a low position cannot be shown to be the same one.
fn by_position(first: &Analysis, second: &Analysis) -> Result<String, String> {
    if first.verdict.kind == VerdictKind::Low {
        return Err(
            "Neither capture names cylinders, so it cannot be shown that both accuse the same one."
                .to_owned(),
        );
    }
    let (first, second) = (rows(first), rows(second));
    let count = first.len();
    let laid_over = |turn: usize| {
        let turned = second.iter().cycle().skip(turn);
        first
            .iter()
            .zip(turned)
            .all(|(one, other)| overlap(one, other))
    };
    if count == second.len() && (0..count).any(laid_over) {
        return Ok("Both captures find all positions alike.".to_owned());
    }
    Err("The positions' intervals of the two captures do not overlap.".to_owned())
}

fn rows(analysis: &Analysis) -> Vec<Row> {
    let cylinders = analysis.cylinders.iter().flatten();
    let positions = analysis.positions.iter().flatten();
    let mut rows: Vec<Row> = cylinders
        .map(|row| (row.cylinder, row.low, row.high))
        .chain(positions.map(|row| (row.position, row.low, row.high)))
        .collect();
    rows.sort_by_key(|row| row.0);
    rows
}

fn overlap(one: &Row, other: &Row) -> bool {
    one.1 <= other.2 && other.1 <= one.2
}

fn listed(cylinders: &[usize]) -> String {
    let numbers: Vec<String> = cylinders.iter().map(usize::to_string).collect();
    match numbers.len() {
        0 => "no cylinder".to_owned(),
        1 => format!("cylinder {}", numbers[0]),
        _ => format!("cylinders {}", list(&numbers)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::facts::tests::analysis;

    #[test]
    fn two_captures_agree_only_on_verdict_cylinders_and_intervals() {
        let weak = analysis(&[100.0, 99.0, 62.0, 100.0], 85.0);
        assert!(judge(&weak, &analysis(&[101.0, 97.0, 65.0, 99.0], 85.0)).is_ok());
        let said = |other: &[f64]| judge(&weak, &analysis(other, 85.0)).unwrap_err();
        assert!(said(&[100.0; 4]).contains("low, the second even"));
        assert!(said(&[100.0, 62.0, 100.0, 100.0]).contains("cylinder 3, the second cylinder 2"));
        assert!(said(&[100.0, 100.0, 70.0, 100.0]).contains("do not overlap"));
        assert!(said(&[100.0, 100.0, 85.0, 100.0]).contains("no verdict"));
        assert_eq!(facts(&weak, &weak)["agreement"], "agree");
        let mut measured = weak.clone();
        measured.cranking = Some(crate::cranking::answer::Cranking {
            start_s: 1.0,
            end_s: 5.0,
            cycles: 6.0,
            mean_rpm: 180.0,
        });
        let itself = judge(&measured, &measured).unwrap_err();
        assert!(itself.contains("the same recording"), "{itself}");
    }

    #[test]
    fn a_low_position_is_never_taken_for_the_same_one() {
        let unnamed = |percents: &[f64]| {
            let mut analysis = analysis(percents, 85.0);
            let rows = analysis.cylinders.take().unwrap();
            analysis.positions = Some(
                rows.iter()
                    .map(|row| crate::cranking::answer::PositionRow {
                        position: row.cylinder,
                        relative_compression_percent: row.relative_compression_percent,
                        low: row.low,
                        high: row.high,
                        finding: row.finding,
                    })
                    .collect(),
            );
            analysis
        };
        assert!(judge(&unnamed(&[100.0, 60.0]), &unnamed(&[100.0, 60.0])).is_err());
        assert!(judge(&unnamed(&[100.0, 90.0]), &unnamed(&[90.0, 100.0])).is_ok());
        assert!(judge(&unnamed(&[100.0, 100.0]), &analysis(&[100.0, 100.0], 85.0)).is_err());
    }
}
