//! Relative compression after a repair beside an earlier job's: a cylinder has changed only where the
//! difference is greater than both intervals together allow.

use std::collections::BTreeMap;

use crate::cranking::answer::{Analysis, CylinderRow, Finding as Found, Identified, VerdictKind};

/// Wider than this, the two intervals together hide what a repair changes, percentage points. Our own
/// choice: a cylinder that is worth a repair lies 15 points and more under the others.
const MOST_HALF_WIDTH: f64 = 12.0;

/// An earlier job, as its record has it.
#[derive(Debug, Clone, PartialEq)]
pub struct Earlier {
    /// Job number.
    pub job: String,
    /// Identity of its vehicle, where the record has one.
    pub identity: Option<String>,
    /// When it was sealed.
    pub sealed: String,
    /// Its last analysis that was not gone back behind.
    pub analysis: Analysis,
}

/// How something changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change {
    /// Better by more than both intervals together.
    Improved,
    /// No difference that the intervals let see.
    Same,
    /// Worse by more than both intervals together.
    Worse,
    /// Nothing to compare, or intervals too wide.
    CannotTell,
}

impl Change {
    /// Its name, as procedures test it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Change::Improved => "improved",
            Change::Same => "same",
            Change::Worse => "worse",
            Change::CannotTell => "cannot-tell",
        }
    }

    fn word(self) -> &'static str {
        match self {
            Change::CannotTell => "cannot tell",
            other => other.name(),
        }
    }
}

/// One cylinder's change: difference in points with the half-width of its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CylinderChange {
    /// Cylinder.
    pub cylinder: usize,
    /// Now less before.
    pub difference: f64,
    /// Root of the sum of both half-widths' squares (JCGM 100:2008 5.1.2, from memory).
    pub half_width: f64,
    /// How it changed.
    pub change: Change,
}

/// Compare one cylinder.
#[must_use]
pub fn cylinder(before: &CylinderRow, now: &CylinderRow) -> CylinderChange {
    let half = |row: &CylinderRow| (row.high - row.low) / 2.0;
    let half_width = half(before).hypot(half(now));
    let difference = now.relative_compression_percent - before.relative_compression_percent;
    let change = if difference > half_width {
        Change::Improved
    } else if difference < -half_width {
        Change::Worse
    } else if half_width > MOST_HALF_WIDTH {
        Change::CannotTell
    } else {
        Change::Same
    };
    CylinderChange {
        cylinder: now.cylinder,
        difference,
        half_width,
        change,
    }
}

/// Compare two analyses of one engine: how it changed as a whole, each cylinder, and why in a sentence.
#[must_use]
pub fn compare(before: &Analysis, now: &Analysis) -> (Change, Vec<CylinderChange>, String) {
    if let Some(why) = incomparable(before, now) {
        return (Change::CannotTell, Vec::new(), why);
    }
    let (old, new) = (rows(before), rows(now));
    let changes: Vec<CylinderChange> = old.iter().zip(new).map(|(o, n)| cylinder(o, n)).collect();
    let with = |wanted: Change| changes.iter().filter(move |c| c.change == wanted);
    let was_low = |cylinder: usize| {
        old.iter()
            .any(|row| row.cylinder == cylinder && row.finding == Found::Low)
    };
    let (change, why) = if with(Change::Worse).next().is_some() {
        (
            Change::Worse,
            format!("Worse than before: {}.", listed(with(Change::Worse))),
        )
    } else if !old.iter().any(|row| row.finding == Found::Low) {
        (
            Change::Same,
            "No cylinder was low in the first record, so there is nothing that this comparison could show to be repaired.".to_owned(),
        )
    } else if changes
        .iter()
        .any(|c| was_low(c.cylinder) && c.change == Change::CannotTell)
    {
        (
            Change::CannotTell,
            "The intervals of the cylinder that was low are too wide to tell.".to_owned(),
        )
    } else if changes
        .iter()
        .any(|c| was_low(c.cylinder) && c.change == Change::Same)
    {
        let same = with(Change::Same).filter(|c| was_low(c.cylinder));
        (
            Change::Same,
            format!(
                "Low before and not changed by more than the intervals: {}.",
                listed(same)
            ),
        )
    } else if now.verdict.kind == VerdictKind::Even {
        (
            Change::Improved,
            format!(
                "Better than before: {}; all cylinders are even now.",
                listed(with(Change::Improved))
            ),
        )
    } else {
        (
            Change::Improved,
            format!(
                "Better than before: {}; yet not all cylinders are even now.",
                listed(with(Change::Improved))
            ),
        )
    };
    (change, changes, why)
}

fn incomparable(before: &Analysis, now: &Analysis) -> Option<String> {
    let inconclusive =
        |a: &Analysis| a.quality.iter().any(|check| !check.passed) || rows(a).is_empty();
    let named = |a: &Analysis| a.identified == Some(Identified::Cylinder);
    if inconclusive(before) {
        Some(
            "The first record has no analysis that passed its checks with cylinders named."
                .to_owned(),
        )
    } else if inconclusive(now) {
        Some(
            "The capture of this job gives no rows by cylinder that passed their checks."
                .to_owned(),
        )
    } else if !(named(before) && named(now)) {
        Some("In one of the two a cylinder cannot be told from its companion, so they cannot be compared.".to_owned())
    } else if !rows(before)
        .iter()
        .map(|r| r.cylinder)
        .eq(rows(now).iter().map(|r| r.cylinder))
    {
        Some(
            "The two records have different cylinders: they are not of the same engine.".to_owned(),
        )
    } else {
        None
    }
}

fn rows(analysis: &Analysis) -> &[CylinderRow] {
    analysis.cylinders.as_deref().unwrap_or_default()
}

fn listed<'a>(changes: impl Iterator<Item = &'a CylinderChange>) -> String {
    let told: Vec<String> = changes
        .map(|c| {
            format!(
                "cylinder {} ({:+.0} ± {:.0} points)",
                c.cylinder, c.difference, c.half_width
            )
        })
        .collect();
    told.join(", ")
}

/// The facts of computation "after repair". `identity` is that of this job's vehicle.
#[must_use]
pub fn facts(
    earlier: &Earlier,
    now: &Analysis,
    identity: Option<&str>,
) -> BTreeMap<String, String> {
    let (mut change, changes, mut why) = compare(&earlier.analysis, now);
    if let (Some(first), Some(this)) = (earlier.identity.as_deref(), identity)
        && !alike(first, this)
    {
        change = Change::CannotTell;
        why = format!(
            "Job {} is about {first}, this one about {this}.",
            earlier.job
        );
    }
    let cylinders: Vec<String> = changes
        .iter()
        .map(|c| {
            format!(
                "{}: {:+.1} ± {:.1}, {}",
                c.cylinder,
                c.difference,
                c.half_width,
                c.change.word()
            )
        })
        .collect();
    [
        ("finding", change.name().to_owned()),
        (
            "cylinders",
            if cylinders.is_empty() {
                "–".to_owned()
            } else {
                cylinders.join("; ")
            },
        ),
        (
            "first record",
            format!("job {}, sealed {}", earlier.job, earlier.sealed),
        ),
        ("why", why),
    ]
    .map(|(name, value)| (name.to_owned(), value))
    .into()
}

/// The facts of computation "first record": what an earlier job holds, or why it cannot be compared with.
#[must_use]
pub fn looked_up(found: Result<Earlier, String>) -> BTreeMap<String, String> {
    let (word, record, vehicle, why) = match found {
        Ok(earlier) => (
            "found",
            format!("Job {}, sealed {}", earlier.job, earlier.sealed),
            earlier
                .identity
                .unwrap_or_else(|| "not written down".to_owned()),
            earlier.analysis.verdict.why,
        ),
        Err(why) => ("not-found", "–".to_owned(), "–".to_owned(), why),
    };
    [
        ("found", word.to_owned()),
        ("record", record),
        ("vehicle", vehicle),
        ("why", why),
    ]
    .map(|(name, value)| (name.to_owned(), value))
    .into()
}

/// Registrations are written with and without spaces, hyphens and capitals.
fn alike(first: &str, second: &str) -> bool {
    let bare = |text: &str| -> String {
        let letters = text.chars().filter(|c| c.is_alphanumeric());
        letters.flat_map(char::to_lowercase).collect()
    };
    bare(first) == bare(second)
}

#[cfg(test)]
mod tests {
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
}
