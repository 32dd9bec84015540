//! The look after a repair, by worked examples.

use super::*;
use crate::cranking::answer::{SCHEMA, Verdict};

/// Percent and half-width of each cylinder.
fn analysis(rows: &[(f64, f64)]) -> Analysis {
    let finding = |percent: f64, half: f64| {
        if percent + half < 85.0 {
            Found::Low
        } else if percent - half >= 85.0 {
            Found::Even
        } else {
            Found::Uncertain
        }
    };
    let rows: Vec<CylinderRow> = (1..)
        .zip(rows)
        .map(|(cylinder, (percent, half))| CylinderRow {
            cylinder,
            relative_compression_percent: *percent,
            low: percent - half,
            high: percent + half,
            finding: finding(*percent, *half),
        })
        .collect();
    let all = |wanted| rows.iter().all(|row| row.finding == wanted);
    let any_low = rows.iter().any(|row| row.finding == Found::Low);
    let kind = match (any_low, all(Found::Even)) {
        (true, _) => VerdictKind::Low,
        (_, true) => VerdictKind::Even,
        _ => VerdictKind::Inconclusive,
    };
    Analysis {
        schema: SCHEMA.to_owned(),
        source: None,
        identified: Some(Identified::Cylinder),
        cranking: None,
        cylinders: Some(rows),
        positions: None,
        verdict: Verdict {
            kind,
            cylinders: Vec::new(),
            positions: None,
            why: String::new(),
        },
        quality: Vec::new(),
        passed_over: Vec::new(),
        remarks: Vec::new(),
        low_percent: 85.0,
    }
}

fn change(before: &[(f64, f64)], now: &[(f64, f64)]) -> Change {
    compare(&analysis(before), &analysis(now)).0
}

/// Half-widths of 3 and 4 points make 5 together (root of the sum of squares, JCGM 100:2008 5.1.2,
/// from memory); a difference of 5.1 counts, one of 4.9 does not.
#[test]
fn both_intervals_together_decide() {
    let row = |percent: f64, half: f64| analysis(&[(percent, half)]).cylinders.unwrap()[0];
    let of = |now: f64| cylinder(&row(70.0, 3.0), &row(now, 4.0));
    assert!((of(75.1).half_width - 5.0).abs() < 1e-12);
    assert_eq!(of(75.1).change, Change::Improved);
    assert_eq!(of(74.9).change, Change::Same);
    assert_eq!(of(64.8).change, Change::Worse);
    assert_eq!(
        cylinder(&row(70.0, 12.0), &row(75.0, 12.0)).change,
        Change::CannotTell
    );
}

#[test]
fn a_repair_is_judged_by_the_cylinder_that_was_low() {
    let before = [(100.0, 2.0), (99.0, 2.0), (62.0, 4.0), (100.0, 2.0)];
    let with = |third: (f64, f64)| {
        let mut now = before;
        now[2] = third;
        now
    };
    assert_eq!(change(&before, &with((98.0, 3.0))), Change::Improved);
    assert_eq!(change(&before, &with((64.0, 3.0))), Change::Same);
    assert_eq!(change(&before, &with((50.0, 3.0))), Change::Worse);
    assert_eq!(change(&before, &with((70.0, 15.0))), Change::CannotTell);
    let mut other = with((98.0, 3.0));
    other[0] = (80.0, 2.0);
    assert_eq!(change(&before, &other), Change::Worse);
    assert_eq!(
        change(&[(100.0, 2.0), (99.0, 2.0)], &[(99.0, 2.0), (100.0, 2.0)]),
        Change::Same
    );
    let partly = compare(&analysis(&before), &analysis(&with((75.0, 3.0))));
    assert_eq!(partly.0, Change::Improved);
    assert!(
        partly.2.contains("not all cylinders are even"),
        "{}",
        partly.2
    );
}

#[test]
fn what_cannot_be_compared_is_said() {
    let sound = analysis(&[(100.0, 2.0), (62.0, 2.0)]);
    let mut pair = sound.clone();
    pair.identified = Some(Identified::OneOfPair);
    assert!(compare(&sound, &pair).2.contains("companion"));
    assert!(
        compare(&analysis(&[(62.0, 2.0)]), &sound)
            .2
            .contains("not of the same engine")
    );
    let mut unnamed = sound.clone();
    unnamed.cylinders = None;
    assert_eq!(compare(&unnamed, &sound).0, Change::CannotTell);
    let earlier = Earlier {
        job: "0001".to_owned(),
        identity: Some("CLW DEMO 08".to_owned()),
        sealed: "2026-03-02T08:00:00Z".to_owned(),
        analysis: sound.clone(),
    };
    let repaired = analysis(&[(100.0, 2.0), (99.0, 2.0)]);
    assert_eq!(
        facts(&earlier, &repaired, Some("clw-demo 08"))["finding"],
        "improved"
    );
    assert_eq!(looked_up(Ok(earlier.clone()))["vehicle"], "CLW DEMO 08");
    assert_eq!(looked_up(Err("no job 7".to_owned()))["why"], "no job 7");
    let other = facts(&earlier, &repaired, Some("CLW DEMO 09"));
    assert_eq!(other["finding"], "cannot-tell");
    assert!(other["why"].contains("CLW DEMO 09"));
}
