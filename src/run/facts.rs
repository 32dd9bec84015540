//! The facts that branches and texts read from an analysis of relative compression.

use std::collections::BTreeMap;

use crate::cranking::answer::{Analysis, CheckName, Finding, Identified, VerdictKind};
use crate::engine::{COMPANION_TOLERANCE_DEG, CYCLE_DEG, Engine};

/// Name of the fact that says what came of a capture, and of the one that says why.
pub(super) const RESULT: &str = "result";
pub(super) const WHY: &str = "why";

/// A row of either kind: its number, percent, finding.
struct Row {
    number: usize,
    percent: f64,
    low: bool,
}

/// The facts of an analysis, by name.
#[must_use]
pub fn of_analysis(analysis: &Analysis, engine: &Engine) -> BTreeMap<String, String> {
    let rows = rows(analysis);
    let low: Vec<&Row> = rows.iter().filter(|row| row.low).collect();
    let lowest = rows.iter().min_by(|a, b| a.percent.total_cmp(&b.percent));
    let named = |row: &Row| name(row.number, analysis, engine);
    let pattern = if analysis.verdict.kind == VerdictKind::Low {
        pattern(&low, analysis, engine)
    } else {
        "none"
    };
    let low_ones: Vec<String> = low.iter().map(|row| named(row)).collect();
    let facts = [
        ("verdict", analysis.verdict.kind.name().to_owned()),
        ("pattern", pattern.to_owned()),
        (RESULT, result(analysis, pattern).to_owned()),
        ("lowest cylinder", lowest.map_or_else(none, named)),
        (
            "lowest percent",
            lowest.map_or_else(none, |row| format!("{:.0} %", row.percent)),
        ),
        (
            "low cylinders",
            if low_ones.is_empty() {
                none()
            } else {
                low_ones.join(", ")
            },
        ),
        (WHY, analysis.verdict.why.clone()),
    ];
    facts.map(|(name, text)| (name.to_owned(), text)).into()
}

/// Verdict and pattern in one; without a verdict, what it is due to.
fn result(analysis: &Analysis, pattern: &'static str) -> &'static str {
    let failed = |name| {
        let mut checks = analysis.quality.iter();
        checks.any(|check| check.check == name && !check.passed)
    };
    let mut checks = analysis.quality.iter();
    let cause = checks.find(|check| !check.passed).map(|check| check.check);
    match analysis.verdict.kind {
        VerdictKind::Even => "even",
        VerdictKind::Low => pattern,
        // an engine that may have run is made safe first, whatever else failed
        VerdictKind::Inconclusive if failed(CheckName::EngineRunning) => "running",
        VerdictKind::Inconclusive if cause == Some(CheckName::Clipped) => "range",
        VerdictKind::Inconclusive => "unclear",
    }
}

fn none() -> String {
    "none".to_owned()
}

fn rows(analysis: &Analysis) -> Vec<Row> {
    let cylinders = analysis.cylinders.iter().flatten().map(|row| Row {
        number: row.cylinder,
        percent: row.relative_compression_percent,
        low: row.finding == Finding::Low,
    });
    let positions = analysis.positions.iter().flatten().map(|row| Row {
        number: row.position,
        percent: row.relative_compression_percent,
        low: row.finding == Finding::Low,
    });
    cylinders.chain(positions).collect()
}

/// "3"; "3 or 2" where only a pair is known; "position 3" where no cylinder is.
fn name(number: usize, analysis: &Analysis, engine: &Engine) -> String {
    match analysis.identified {
        Some(Identified::PositionOnly) => format!("position {number}"),
        Some(Identified::OneOfPair) => engine
            .companion(number, COMPANION_TOLERANCE_DEG)
            .map_or_else(
                || number.to_string(),
                |other| format!("{number} or {other}"),
            ),
        _ => number.to_string(),
    }
}

fn pattern(low: &[&Row], analysis: &Analysis, engine: &Engine) -> &'static str {
    let (first, second) = match low {
        [] => return "none",
        [_] => return "one",
        [first, second] => (first.number, second.number),
        _ => return "several",
    };
    let place = |number: usize| match analysis.identified {
        Some(Identified::PositionOnly) => Some(number - 1),
        _ => engine.place_of(number),
    };
    let (Some(first), Some(second)) = (place(first), place(second)) else {
        return "several";
    };
    let count = engine.cylinders();
    let apart = first.abs_diff(second);
    if apart == 1 || apart + 1 == count {
        return "neighbours";
    }
    let angles = engine.firing_angles_deg();
    let turned = (angles[first % count] - angles[second % count]).abs();
    if (turned - CYCLE_DEG / 2.0).abs() <= COMPANION_TOLERANCE_DEG {
        return "companions";
    }
    "several"
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::cranking::answer::{CylinderRow, SCHEMA, Verdict};

    /// An analysis with these percents by cylinder, each with an interval of ±3.
    pub(crate) fn analysis(percents: &[f64], limit: f64) -> Analysis {
        let finding = |percent: f64| match percent {
            p if p + 3.0 < limit => Finding::Low,
            p if p - 3.0 >= limit => Finding::Even,
            _ => Finding::Uncertain,
        };
        let rows: Vec<CylinderRow> = (1..)
            .zip(percents)
            .map(|(cylinder, percent)| CylinderRow {
                cylinder,
                companion: None,
                relative_compression_percent: *percent,
                low: percent - 3.0,
                high: percent + 3.0,
                finding: finding(*percent),
            })
            .collect();
        let low: Vec<usize> = rows
            .iter()
            .filter(|row| row.finding == Finding::Low)
            .map(|row| row.cylinder)
            .collect();
        let kind = if !low.is_empty() {
            VerdictKind::Low
        } else if rows.iter().all(|row| row.finding == Finding::Even) {
            VerdictKind::Even
        } else {
            VerdictKind::Inconclusive
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
                cylinders: low,
                positions: None,
                why: "because".to_owned(),
            },
            quality: Vec::new(),
            passed_over: Vec::new(),
            remarks: Vec::new(),
            low_percent: limit,
        }
    }

    fn fact(analysis: &Analysis, engine: &Engine, name: &str) -> String {
        of_analysis(analysis, engine)[name].clone()
    }

    /// V8 1-8-4-3-6-5-7-2: 3 and 6 fire one after the other, 1 and 6 stand 360° apart.
    #[test]
    fn patterns_follow_the_firing_order() {
        let eight = Engine::new(8, &[1, 8, 4, 3, 6, 5, 7, 2], None, None).unwrap();
        let with = |weak: &[usize]| {
            let mut percents = [100.0; 8];
            for cylinder in weak {
                percents[cylinder - 1] = 60.0;
            }
            fact(&analysis(&percents, 85.0), &eight, "pattern")
        };
        assert_eq!(with(&[]), "none");
        assert_eq!(with(&[3]), "one");
        assert_eq!(with(&[3, 6]), "neighbours");
        assert_eq!(with(&[1, 2]), "neighbours"); // last and first of the order
        assert_eq!(with(&[1, 6]), "companions");
        assert_eq!(with(&[3, 5]), "several");
        assert_eq!(with(&[1, 2, 3]), "several");
    }

    /// An engine that ran is made safe again, whatever else is wrong with the capture.
    #[test]
    fn a_result_without_a_verdict_says_where_it_leads() {
        use crate::cranking::quality::{engine_running, yes_or_no};
        let four = Engine::new(4, &[1, 3, 4, 2], None, None).unwrap();
        let mut refused = analysis(&[100.0, 100.0, 85.0, 100.0], 85.0);
        assert_eq!(fact(&refused, &four, "result"), "unclear");
        refused.quality = vec![yes_or_no(CheckName::Clipped, false, "", "")];
        assert_eq!(fact(&refused, &four, "result"), "range");
        refused.quality.push(engine_running(800.0));
        assert_eq!(fact(&refused, &four, "result"), "running");
        refused.quality = vec![
            yes_or_no(CheckName::LooseConnection, false, "", ""),
            yes_or_no(CheckName::Clipped, false, "", ""),
        ];
        assert_eq!(fact(&refused, &four, "result"), "unclear");
        let weak = analysis(&[100.0, 60.0, 60.0, 100.0], 85.0);
        assert_eq!(fact(&weak, &four, "result"), "companions");
        let sound = analysis(&[100.0; 4], 85.0);
        assert_eq!(fact(&sound, &four, "result"), "even");
    }

    #[test]
    fn a_pair_is_named_as_a_pair() {
        let four = Engine::new(4, &[1, 3, 4, 2], None, None).unwrap();
        let mut weak = analysis(&[100.0, 100.0, 61.6, 100.0], 85.0);
        assert_eq!(fact(&weak, &four, "lowest cylinder"), "3");
        assert_eq!(fact(&weak, &four, "lowest percent"), "62 %");
        weak.identified = Some(Identified::OneOfPair);
        weak.verdict.cylinders = vec![2, 3];
        assert_eq!(fact(&weak, &four, "lowest cylinder"), "3 or 2");
        assert_eq!(fact(&weak, &four, "pattern"), "one");
        weak.cylinders = None;
        assert_eq!(fact(&weak, &four, "lowest cylinder"), "none");
    }

    #[test]
    fn every_fact_of_the_closed_list_is_given() {
        use crate::procedure::computation::{Computation, Domain};
        let four = Engine::new(4, &[1, 3, 4, 2], None, None).unwrap();
        let given = of_analysis(&analysis(&[100.0; 4], 85.0), &four);
        for fact in Computation::RelativeCompression.facts() {
            let text = &given[fact.name];
            if let Domain::Choice(names) = fact.domain {
                assert!(names.contains(text), "{}: {text}", fact.name);
            }
        }
    }
}
