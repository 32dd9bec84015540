//! Records made by hand for the tests of this room and of `report`: an invented workshop, invented vehicles.

use std::collections::BTreeMap;

use crate::cranking::answer::{
    Analysis, Bound, Check, CheckName, Cranking, CylinderRow, Drawing, Finding, Identified,
    PassedOver, PositionRow, SCHEMA, SignalKind, Verdict, VerdictKind,
};
use crate::procedure::model::{Hazard, OutcomeKind, SignalWord};
use crate::record::bundle::model::{
    CaptureResult, ComputedResult, Note, Outcome, PathEntry, PutBackEntry, Record,
};
use crate::run::event::{CaptureFile, ProcedureFile};

/// Firing order of the example's engine.
pub(crate) const ORDER: [usize; 8] = [1, 8, 4, 3, 6, 5, 7, 2];

/// Seconds of one engine cycle at 187 rpm.
const CYCLE_S: f64 = 120.0 / 187.0;

/// First firing of the analysed window, seconds.
const FIRST_S: f64 = 1.1;

fn firing_times() -> Vec<(f64, usize)> {
    (0..72)
        .map(|i| {
            (
                FIRST_S + CYCLE_S * f64::from(i) / 8.0,
                ORDER[i as usize % 8],
            )
        })
        .collect()
}

/// An inrush, then one hump per firing, that of cylinder 3 lower: a shape to draw, no physics.
fn level(time: f64) -> f64 {
    if time < 0.5 {
        return 0.02;
    }
    let inrush = 4.0 * (-(time - 0.5) / 0.08).exp();
    let place = (time - FIRST_S) / (CYCLE_S / 8.0) + 800.0;
    let nearest = place.round();
    let height = if ORDER[nearest as usize % 8] == 3 {
        0.35
    } else {
        0.62
    };
    let hump = height * (0.5 + 0.5 * (std::f64::consts::TAU * (place - nearest)).cos());
    if time > 7.0 {
        return -0.3 * (-(time - 7.0) / 0.2).exp();
    }
    1.2 + inrush + hump + 0.02 * (time * 977.0).sin()
}

fn thinned(start: f64, end: f64, stretches: usize) -> Vec<(f64, f64)> {
    let step = (end - start) / stretches as f64;
    let mut points = Vec::new();
    for stretch in 0..stretches {
        let inside = (0..20).map(|i| {
            let time = start + step * (stretch as f64 + f64::from(i) / 20.0);
            (time, level(time))
        });
        let mut sorted: Vec<(f64, f64)> = inside.collect();
        sorted.sort_by(|a, b| a.1.total_cmp(&b.1));
        let mut ends = [sorted[0], sorted[sorted.len() - 1]];
        ends.sort_by(|a, b| a.0.total_cmp(&b.0));
        points.extend(ends);
    }
    points
}

/// A picture of a capture.
pub(crate) fn drawing() -> Drawing {
    let window = (FIRST_S - 0.02, FIRST_S + 9.0 * CYCLE_S);
    let middle = FIRST_S + 3.0 * CYCLE_S;
    Drawing {
        label: "battery voltage, drawn upside down so that load points up".to_owned(),
        unit: "V".to_owned(),
        trace: thinned(0.0, 8.0, 400),
        detail: thinned(middle - 0.1, middle + 2.0 * CYCLE_S + 0.1, 400),
        window,
        firings: firing_times(),
        references: (0..9)
            .map(|i| FIRST_S + CYCLE_S * f64::from(i) - 0.007)
            .collect(),
    }
}

fn check(check: CheckName, passed: bool, measured: Option<f64>, limit: f64) -> Check {
    let (bound, unit, advice) = match check {
        CheckName::TooFewCycles => (Bound::Min, "cycles", "enough whole cycles"),
        CheckName::Clipped => (
            Bound::Max,
            "%",
            "choose a larger range on the scope and capture again",
        ),
        _ => (Bound::Max, "% of ripple", "the trace is quiet"),
    };
    Check {
        check,
        passed,
        measured,
        limit,
        bound,
        unit: unit.to_owned(),
        advice: advice.to_owned(),
    }
}

/// A V8 whose cylinder 3 is at 62 %.
pub(crate) fn low_analysis() -> Analysis {
    let percents = [100.4, 101.2, 62.3, 98.1, 99.0, 100.0, 97.6, 98.8];
    let row = |(at, percent): (usize, f64)| CylinderRow {
        cylinder: at + 1,
        companion: None,
        relative_compression_percent: percent,
        low: percent - 3.4,
        high: percent + 3.1,
        finding: if percent < 85.0 {
            Finding::Low
        } else {
            Finding::Even
        },
    };
    Analysis {
        schema: SCHEMA.to_owned(),
        source: Some(SignalKind::BatteryVoltage),
        identified: Some(Identified::Cylinder),
        cranking: Some(Cranking {
            start_s: 1.08,
            end_s: 6.87,
            cycles: 9.0,
            mean_rpm: 187.0,
        }),
        cylinders: Some(percents.into_iter().enumerate().map(row).collect()),
        positions: None,
        verdict: Verdict {
            kind: VerdictKind::Low,
            cylinders: vec![3],
            positions: None,
            why: "Cylinder 3 compresses less than the others: at most 65 % with 95 % confidence, the limit is 85 %. Next: leak-down on cylinder 3.".to_owned(),
        },
        quality: vec![
            check(CheckName::Clipped, true, Some(0.0), 0.5),
            check(CheckName::TooFewCycles, true, Some(9.0), 3.0),
            check(CheckName::Noise, true, Some(4.2), 25.0),
        ],
        passed_over: vec![],
        remarks: vec!["The reference event was taken from the cam sensor.".to_owned()],
        low_percent: 85.0,
    }
}

/// A capture that ran into the range; every finding is uncertain.
pub(crate) fn inconclusive_analysis() -> Analysis {
    let mut analysis = low_analysis();
    for row in analysis.cylinders.iter_mut().flatten() {
        row.finding = Finding::Uncertain;
    }
    analysis.verdict = Verdict {
        kind: VerdictKind::Inconclusive,
        cylinders: vec![],
        positions: None,
        why: "The signal ran into the scope's range: choose a larger range and capture again."
            .to_owned(),
    };
    analysis.quality[0] = check(CheckName::Clipped, false, Some(6.25), 0.5);
    analysis.passed_over = vec![PassedOver {
        source: SignalKind::CrankSpeed,
        quality: vec![check(CheckName::NoSignal, false, None, 1.0)],
    }];
    analysis
}

/// Positions only, two of them low.
pub(crate) fn positions_analysis() -> Analysis {
    let mut analysis = low_analysis();
    analysis.identified = Some(Identified::PositionOnly);
    analysis.positions = analysis.cylinders.take().map(|rows| {
        rows.into_iter()
            .map(|row| PositionRow {
                position: row.cylinder,
                relative_compression_percent: row.relative_compression_percent,
                low: row.low,
                high: row.high,
                finding: row.finding,
            })
            .collect()
    });
    analysis.verdict.cylinders.clear();
    analysis.verdict.positions = Some(vec![3]);
    analysis.verdict.why = "Position 3 is low.".to_owned();
    analysis
}

/// A capture in the job.
pub(crate) fn capture(number: u32, analysis: Analysis, superseded: bool) -> CaptureResult {
    CaptureResult {
        step: format!("crank-{number}"),
        at: format!("2026-03-02T09:2{number}:10Z"),
        file: CaptureFile {
            file: format!("captures/{number}.csv"),
            sha256: "9f".repeat(32),
            bytes: 812_345,
            setup: format!("captures/{number}.setup.yaml"),
            setup_sha256: "3c".repeat(32),
            original: "bay-two-morning.csv".to_owned(),
            simulated: false,
            clamp: None,
            understood: Vec::new(),
            columns_told: false,
        },
        analysis: Some(analysis),
        drawing: Some(drawing()),
        superseded,
    }
}

fn entry(line: u64, step: &str, asked: &str, answered: &str) -> PathEntry {
    PathEntry {
        line,
        at: format!("2026-03-02T09:{:02}:05Z", 10 + line),
        step: step.to_owned(),
        phase: "make safe".to_owned(),
        hazards: vec![],
        action: None,
        asked: asked.to_owned(),
        answered: answered.to_owned(),
        measured: None,
        carried_from: None,
        superseded: false,
    }
}

fn path() -> Vec<PathEntry> {
    let mut hold = entry(3, "hold-vehicle", "The vehicle cannot move.", "yes");
    hold.hazards = vec![
        Hazard {
            word: SignalWord::Danger,
            text: "Fans, belts and pulleys turn. Keep hands, hair, hoses and leads clear."
                .to_owned(),
        },
        Hazard {
            word: SignalWord::Warning,
            text: "The engine may start or the vehicle may move while you crank.".to_owned(),
        },
    ];
    hold.action =
        Some("Parking brake on, transmission in park or neutral, wheels chocked.".to_owned());
    let mut first = entry(4, "choose-signal", "What can you connect?", "connector");
    first.superseded = true;
    vec![
        entry(
            2,
            "drive",
            "Is there a hybrid, electric or 48 V drive?",
            "no",
        ),
        hold,
        first,
        entry(5, "choose-signal", "What can you connect?", "posts"),
        entry(6, "crank-1", "Cranking capture", "captures/1.csv"),
        entry(9, "test-leakage/supply", "Supply pressure", "80 psi"),
    ]
}

fn lines() -> BTreeMap<String, String> {
    [
        ("vehicle", "Invented estate, V8 petrol"),
        ("vehicle identity", "EX 1234"),
        ("odometer", "148200 km"),
        ("complaint", "Shakes at idle, worse when cold"),
        ("fuel", "petrol"),
        ("cylinders", "8"),
        ("firing order", "1-8-4-3-6-5-7-2"),
        ("firing intervals", "even"),
        ("firing order source", "plate under the bonnet"),
        ("numbering source", "maker's handbook, page 12"),
        ("battery kind", "flooded"),
        ("system voltage", "12 V"),
        ("scope", "Bay 2 scope, calibrated 2025-11-20"),
        ("sensor", "lead set B, calibrated 2025-11-20"),
        ("restrictor bore", "1.0 mm"),
    ]
    .into_iter()
    .map(|(name, value)| (name.to_owned(), value.to_owned()))
    .collect()
}

pub(crate) fn leak_down() -> ComputedResult {
    let facts = [
        ("loss", "42.50 %"),
        ("band", "fault"),
        ("cylinder", "3"),
        ("flow ratio", "1.49"),
        (
            "meaning",
            "42.50 % of the air is lost: a fault; find where the air escapes",
        ),
    ];
    ComputedResult {
        step: "test-leakage/judge".to_owned(),
        at: "2026-03-02T10:02:00Z".to_owned(),
        computation: "leak-down".to_owned(),
        facts: facts.map(|(k, v)| (k.to_owned(), v.to_owned())).into(),
        superseded: false,
    }
}

/// A job that counts: cylinder 3 low, leak-down done.
pub(crate) fn record() -> Record {
    Record {
        schema: crate::record::bundle::model::SCHEMA.to_owned(),
        tool: "evenfire 0.1.0".to_owned(),
        job: "0042".to_owned(),
        practice: vec![],
        shop: "Lower Mill Garage".to_owned(),
        technician: "ada.thorn".to_owned(),
        opened: "2026-03-02T09:11:00Z".to_owned(),
        sealed: "2026-03-02T10:20:00Z".to_owned(),
        simulated_clock: false,
        procedure: "relative-compression".to_owned(),
        procedures: vec![ProcedureFile {
            name: "relative-compression".to_owned(),
            revision: 4,
            title: "Relative compression from a cranking capture".to_owned(),
            file: "procedures/relative-compression.yaml".to_owned(),
            sha256: "ab".repeat(32),
        }],
        lines: lines(),
        untold: vec![],
        outcome: Outcome {
            step: "one-low".to_owned(),
            kind: OutcomeKind::FaultFound,
            finding: "Cylinder 3 does not seal: 62 % of the others' compression, and 42.50 % of the test air escapes past the exhaust valve.".to_owned(),
            advice: Some("Take off the cylinder head of this bank and inspect the exhaust valve of cylinder 3.".to_owned()),
        },
        captures: vec![
            capture(1, inconclusive_analysis(), true),
            capture(2, low_analysis(), false),
        ],
        computed: vec![leak_down()],
        path: path(),
        notes: vec![Note {
            at: "2026-03-02T09:19:00Z".to_owned(),
            step: "crank-1".to_owned(),
            text: "Battery clamp was loose, tightened before the second capture.".to_owned(),
        }],
        put_back: vec![
            PutBackEntry {
                item: "fuel pump relay".to_owned(),
                disabled_by: "stop-fuel".to_owned(),
                restored_at: Some("2026-03-02T10:12:00Z".to_owned()),
            },
            PutBackEntry {
                item: "spark plug of cylinder 3".to_owned(),
                disabled_by: "test-leakage/open".to_owned(),
                restored_at: None,
            },
        ],
        low_percent: 85.0,
        decision_rule: "A cylinder is low if its whole 95 % interval lies under the limit of 85 %, even if it lies at or over it, otherwise uncertain.".to_owned(),
        cautions: vec!["The vehicle maker's procedure, local codes and licensed practice come first.".to_owned()],
        journal_lines: 31,
        journal_head: "5d".repeat(32),
        previous: Some("77".repeat(32)),
    }
}

/// A shop's own procedure about something else.
pub(crate) fn glow_plugs() -> ProcedureFile {
    ProcedureFile {
        name: "glow-plugs".to_owned(),
        revision: 1,
        title: "Glow plugs by their resistance".to_owned(),
        file: "procedures/glow-plugs.yaml".to_owned(),
        sha256: "cd".repeat(32),
    }
}
