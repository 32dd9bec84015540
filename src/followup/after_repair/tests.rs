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
            companion: None,
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
    let of = |now: f64| cylinder(&row(70.0, 3.0), &row(now, 4.0), 4);
    assert!((of(75.1).half_width - 5.0).abs() < 1e-12);
    assert_eq!(of(75.1).change, Change::Improved);
    assert_eq!(of(74.9).change, Change::Same);
    assert_eq!(of(64.8).change, Change::Worse);
    assert_eq!(
        cylinder(&row(70.0, 12.0), &row(75.0, 12.0), 4).change,
        Change::CannotTell
    );
}

/// Of four that were not low, 1.274 times as much: 6.4 of 5 points. What was even is never improved.
#[test]
fn what_was_even_is_not_told_as_repaired() {
    let row = |percent: f64, half: f64| analysis(&[(percent, half)]).cylinders.unwrap()[0];
    let even = |now: f64| cylinder(&row(95.0, 3.0), &row(now, 4.0), 4).change;
    assert_eq!(even(110.0), Change::Same);
    let sure = |now: f64| cylinder(&row(104.0, 1.0), &row(now, 1.0), 8).change;
    assert_eq!(sure(99.0), Change::Same);
    assert_eq!(sure(83.0), Change::Worse);
    assert_eq!(even(88.8), Change::Same);
    assert_eq!(even(88.5), Change::Worse);
    let uncertain = |now: f64| cylinder(&row(85.0, 3.0), &row(now, 4.0), 4).change;
    assert_eq!(uncertain(91.0), Change::Same);
    assert_eq!(uncertain(92.0), Change::Improved);
    let before = [(100.0, 2.0), (99.0, 2.0), (57.3, 4.0), (94.9, 2.0)];
    let now = [(99.0, 2.0), (100.0, 2.0), (99.1, 3.0), (98.1, 2.0)];
    let (change, _, why) = compare(&analysis(&before), &analysis(&now));
    assert_eq!(change, Change::Improved);
    assert_eq!(
        why,
        "Better than before: cylinder 3 (+41.8 ± 5.0 points); all cylinders are even now."
    );
}

/// The factors are those of the normal distribution; its tail is summed here apart from them.
#[test]
fn the_limit_for_several_is_a_normal_quantile() {
    let beyond = |from: f64| -> f64 {
        let step = 1e-3;
        let density = |x: f64| (-x * x / 2.0).exp() / std::f64::consts::TAU.sqrt();
        let at = |n: u32| density(from + step * (f64::from(n) + 0.5));
        (0..8000).map(at).sum::<f64>() * step
    };
    for among in [1, 2, 4, 6, 8, 12, 24] {
        let tail = beyond(widening(among) * 1.959_964) * among as f64;
        assert!((tail - 0.025).abs() < 2e-4, "{among}: {tail}");
    }
    assert!(widening(10) >= widening(9) && widening(7) > widening(6));
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
    let advised = |now: &[(f64, f64)]| facts(&earlier, &analysis(now), None)["advice"].clone();
    assert_eq!(
        advised(&[(100.0, 2.0), (99.0, 2.0)]),
        "Nothing more is to be done here."
    );
    assert!(advised(&[(100.0, 2.0), (75.0, 2.0)]).contains("not the whole of it"));
    assert!(advised(&[(100.0, 2.0), (85.0, 2.0)]).contains("longer capture"));
    assert_eq!(looked_up(Ok(earlier.clone()))["vehicle"], "CLW DEMO 08");
    assert_eq!(looked_up(Err("no job 7".to_owned()))["why"], "no job 7");
    let other = facts(&earlier, &repaired, Some("CLW DEMO 09"));
    assert_eq!(other["finding"], "cannot-tell");
    assert!(other["why"].contains("CLW DEMO 09"));
}
