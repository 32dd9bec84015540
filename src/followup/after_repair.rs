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
    /// Root of the sum of both half-widths' squares (JCGM 100:2008 5.1.2, from memory); wider where the
    /// cylinder was one of several that were not low.
    pub half_width: f64,
    /// How it changed.
    pub change: Change,
}

/// Compare one cylinder of `among` that are compared. What was even has nothing to be repaired, so it is
/// never improved, and as long as it is even it is not worse either; and where it was not low, nobody expected it of all to change: then the limit holds for
/// all of them at once.
#[must_use]
pub fn cylinder(before: &CylinderRow, now: &CylinderRow, among: usize) -> CylinderChange {
    let half = |row: &CylinderRow| (row.high - row.low) / 2.0;
    let own = half(before).hypot(half(now));
    let half_width = match before.finding {
        Found::Low => own,
        Found::Even | Found::Uncertain => own * widening(among),
    };
    let difference = now.relative_compression_percent - before.relative_compression_percent;
    let stays_even = before.finding == Found::Even && now.finding == Found::Even;
    let was_even = difference > 0.0 && before.finding == Found::Even;
    let change = if difference.abs() > half_width && (stays_even || was_even) {
        Change::Same
    } else if difference > half_width {
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

/// Factor on a 95 % interval so that of `among` intervals all hold 95 times in 100 (Bonferroni): quantile of
/// the normal distribution at 1 − 0.025 / `among`, over 1.96. Between the entries the wider one counts.
fn widening(among: usize) -> f64 {
    const FACTORS: [(usize, f64); 8] = [
        (1, 1.0),
        (2, 1.144),
        (3, 1.221),
        (4, 1.274),
        (5, 1.314),
        (6, 1.346),
        (8, 1.395),
        (12, 1.462),
    ];
    /// For 24, beyond which no road engine goes.
    const MOST: f64 = 1.571;
    let mut factors = FACTORS.iter();
    factors
        .find(|(cylinders, _)| among <= *cylinders)
        .map_or(MOST, |(_, factor)| *factor)
}

/// Compare two analyses of one engine: how it changed as a whole, each cylinder, and why in a sentence.
#[must_use]
pub fn compare(before: &Analysis, now: &Analysis) -> (Change, Vec<CylinderChange>, String) {
    if let Some(why) = incomparable(before, now) {
        return (Change::CannotTell, Vec::new(), why);
    }
    let (old, new) = (rows(before), rows(now));
    let changes: Vec<CylinderChange> = old
        .iter()
        .zip(new)
        .map(|(o, n)| cylinder(o, n, old.len()))
        .collect();
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
    } else {
        let ending = match now.verdict.kind {
            VerdictKind::Even => "; all cylinders are even now",
            _ => "; yet not all cylinders are even now",
        };
        let better = listed(with(Change::Improved));
        (
            Change::Improved,
            format!("Better than before: {better}{ending}."),
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
                "cylinder {} ({:+.1} ± {:.1} points)",
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
        ("advice", advice(now).to_owned()),
    ]
    .map(|(name, value)| (name.to_owned(), value))
    .into()
}

/// What is to be done where a repair made it better.
fn advice(now: &Analysis) -> &'static str {
    let found = |wanted| rows(now).iter().any(|row| row.finding == wanted);
    if found(Found::Low) {
        "The repair was not the whole of it: go on with leak-down on the cylinder that is low."
    } else if now.verdict.kind == VerdictKind::Even {
        "Nothing more is to be done here."
    } else {
        "Whether all cylinders are even cannot be told yet: take a longer capture before it is called repaired."
    }
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
mod tests;
