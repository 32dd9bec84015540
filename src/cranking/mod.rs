//! Relative compression per cylinder from a cranking capture, with an interval, or the reason why
//! there can be no verdict.
//!
//! A channel is cut into engine cycles and folded into a mean cycle (`slicing`), which a torque balance
//! (`physics`) explains (`fitting`); peaks become percentages with intervals, findings and a verdict, unless a
//! check fails (`judging`).

pub mod answer;
pub(crate) mod attempt;
pub(crate) mod drawing;
mod fitting;
pub(crate) mod humps;
mod judging;
mod physics;
pub mod quiet;
pub mod repeated;
pub mod scatter;
mod slicing;

// by these names other rooms know them
pub use fitting::fit;
pub(crate) use judging::quality;
pub use judging::wording;
pub use physics::model;
pub use slicing::{cycles, reference, rhythm, spline, teeth};

use std::collections::BTreeMap;

use answer::{
    Analysis, Cranking, CylinderRow, Drawing, Finding, Identified, PassedOver, PositionRow,
    SignalKind, Verdict, VerdictKind,
};
use attempt::{Attempt, attempt, attempt_teeth};
use cycles::Samples;
use judging::verdict;

use crate::capture::Capture;
use crate::capture::setup::Setup;
use crate::engine::{COMPANION_TOLERANCE_DEG, Engine};

/// An analysis and what a picture of it shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Analysed {
    /// The answer.
    pub analysis: Analysis,
    /// The picture, where anything was found.
    pub drawing: Option<Drawing>,
    /// Hump heights by cylinder (or position), percent of the highest half's mean: what reading by eye
    /// would say. Empty where nothing was found.
    pub humps: BTreeMap<usize, f64>,
}

/// Analyse a capture. Never fails: what cannot carry a verdict is answered as inconclusive.
#[must_use]
pub fn analyse(capture: &Capture, setup: &Setup) -> Analysed {
    let channels = &setup.channels;
    let analogue = [
        (SignalKind::StarterCurrent, &channels.starter_current),
        (SignalKind::BatteryVoltage, &channels.battery_voltage),
    ];
    let mut attempts: Vec<Attempt> = analogue
        .into_iter()
        .filter_map(|(kind, channel)| {
            channel
                .as_ref()
                .map(|channel| attempt(kind, channel, capture, setup))
        })
        .collect();
    attempts.extend(
        channels
            .crank_speed
            .as_ref()
            .map(|teeth| attempt_teeth(teeth, capture, setup)),
    );
    if attempts.is_empty() {
        return Analysed {
            analysis: nothing_given(setup),
            drawing: None,
            humps: BTreeMap::new(),
        };
    }
    let best = (0..attempts.len())
        .filter(|index| attempts[*index].usable())
        .min_by(|a, b| misfit(&attempts[*a]).total_cmp(&misfit(&attempts[*b])))
        .unwrap_or(0);
    let taken = attempts.remove(best);
    let passed_over = attempts
        .into_iter()
        .map(|other| PassedOver {
            source: other.kind,
            quality: quality::in_order(&other.checks),
        })
        .collect();
    let references = channels.reference.as_ref().map_or(Vec::new(), |reference| {
        let values = &capture.columns[&reference.column];
        reference::events(
            Samples {
                time: &capture.time,
                values,
            },
            reference.edge,
        )
    });
    Analysed {
        analysis: answer(&taken, setup, passed_over),
        drawing: drawing::draw(&taken, &setup.engine, &references),
        humps: hump_heights(&taken, &setup.engine),
    }
}

fn hump_heights(taken: &Attempt, engine: &Engine) -> BTreeMap<usize, f64> {
    let Some(found) = &taken.found else {
        return BTreeMap::new();
    };
    let by_position = found.identified == Identified::PositionOnly;
    let name = |place: usize| {
        if by_position {
            place + 1
        } else {
            engine.firing_order()[place]
        }
    };
    let heights = humps::heights(found, engine);
    heights
        .into_iter()
        .enumerate()
        .map(|(place, height)| (name(place), height))
        .collect()
}

/// Scatter over swing: the steadier channel is the better one.
fn misfit(attempt: &Attempt) -> f64 {
    let found = attempt.found.as_ref();
    found.map_or(f64::INFINITY, |found| found.cycle.error_share())
}

fn nothing_given(setup: &Setup) -> Analysis {
    Analysis {
        schema: answer::SCHEMA.to_owned(),
        source: None,
        identified: None,
        cranking: None,
        cylinders: Some(Vec::new()),
        positions: None,
        verdict: Verdict {
            kind: VerdictKind::Inconclusive,
            cylinders: Vec::new(),
            positions: None,
            why: "No channel that relative compression can be read from is given: name starter_current, \
                  battery_voltage or crank_speed in the set-up."
                .to_owned(),
        },
        quality: vec![quality::yes_or_no(
            answer::CheckName::NoSignal,
            false,
            "",
            "Name the column of starter current, battery voltage or crank sensor in the set-up.",
        )],
        passed_over: Vec::new(),
        remarks: Vec::new(),
        low_percent: setup.low_percent,
    }
}

fn answer(taken: &Attempt, setup: &Setup, passed_over: Vec<PassedOver>) -> Analysis {
    let quality = quality::in_order(&taken.checks);
    let failed = quality.iter().find(|check| !check.passed);
    let rows = rows(taken, &setup.engine, setup.low_percent, failed.is_some());
    let kind = if failed.is_some() || rows.is_empty() {
        VerdictKind::Inconclusive
    } else if rows.iter().any(|row| row.finding == Finding::Low) {
        VerdictKind::Low
    } else if rows.iter().all(|row| row.finding == Finding::Even) {
        VerdictKind::Even
    } else {
        VerdictKind::Inconclusive
    };
    let identified = taken.found.as_ref().map(|found| found.identified);
    let by_position = identified == Some(Identified::PositionOnly);
    let verdict = verdict_of(taken, setup, &rows, kind, failed);
    let remarks = wording::remarks(taken, setup, &rows, kind);
    let positions = by_position.then(|| rows.iter().map(position_row).collect());
    let cylinders = (!by_position).then_some(rows);
    Analysis {
        schema: answer::SCHEMA.to_owned(),
        source: Some(taken.kind),
        identified,
        cranking: taken.window.as_ref().map(|window| Cranking {
            start_s: window.start,
            end_s: window.end,
            cycles: window.cycles,
            mean_rpm: 120.0 * window.cycles / (window.end - window.start),
        }),
        cylinders,
        positions,
        verdict,
        quality,
        passed_over,
        remarks,
        low_percent: setup.low_percent,
    }
}

/// Rows by cylinder number; by position where only positions are known.
fn rows(taken: &Attempt, engine: &Engine, low_percent: f64, refused: bool) -> Vec<CylinderRow> {
    let Some(found) = &taken.found else {
        return Vec::new();
    };
    let by_position = found.identified == Identified::PositionOnly;
    let mut rows: Vec<CylinderRow> = verdict::settle(&found.explained, low_percent)
        .into_iter()
        .enumerate()
        .map(|(place, (value, finding))| {
            let cylinder = match by_position {
                true => place + 1,
                false => engine.firing_order()[place],
            };
            CylinderRow {
                cylinder,
                companion: (found.identified == Identified::OneOfPair)
                    .then(|| engine.companion(cylinder, COMPANION_TOLERANCE_DEG))
                    .flatten(),
                relative_compression_percent: value.percent,
                low: value.low,
                high: value.high,
                finding: if refused { Finding::Uncertain } else { finding },
            }
        })
        .collect();
    rows.sort_by_key(|row| row.cylinder);
    rows
}

fn position_row(row: &CylinderRow) -> PositionRow {
    PositionRow {
        position: row.cylinder,
        relative_compression_percent: row.relative_compression_percent,
        low: row.low,
        high: row.high,
        finding: row.finding,
    }
}

fn verdict_of(
    taken: &Attempt,
    setup: &Setup,
    rows: &[CylinderRow],
    kind: VerdictKind,
    failed: Option<&answer::Check>,
) -> Verdict {
    let identified = taken.found.as_ref().map(|found| found.identified);
    let by_position = identified == Some(Identified::PositionOnly);
    let is_low = |row: &&CylinderRow| row.finding == Finding::Low;
    let low: Vec<&CylinderRow> = rows.iter().filter(is_low).collect();
    let name = |row: &&CylinderRow| match (by_position, row.companion) {
        (true, _) => format!("Position {} in firing sequence", row.cylinder),
        (false, Some(other)) => format!("Cylinder {} or its companion {other}", row.cylinder),
        (false, None) => format!("Cylinder {}", row.cylinder),
    };
    let named: Vec<String> = low.iter().map(name).collect();
    let undecided = rows
        .iter()
        .filter(|row| row.finding == Finding::Uncertain)
        .count();
    let numbers: Vec<usize> = low.iter().map(|row| row.cylinder).collect();
    let companions = low.iter().filter_map(|row| row.companion);
    let mut cylinders: Vec<usize> = numbers.iter().copied().chain(companions).collect();
    cylinders.sort_unstable();
    cylinders.dedup();
    if by_position {
        cylinders.clear();
    }
    Verdict {
        kind,
        cylinders,
        positions: by_position.then_some(numbers),
        why: wording::why(
            kind,
            &named,
            failed,
            Some(taken.kind),
            (undecided, setup.low_percent),
        ),
    }
}
