//! How accurate the analysis is, measured on simulated engines with known truth: every figure that the
//! accuracy report prints, beside what hump reading would have said in the same run.

use std::collections::BTreeMap;

use super::draw::Wish;
use super::practice::{Practice, practice};
use crate::cranking::answer::{Analysis, Finding, SignalKind};
use crate::cranking::{Analysed, analyse};

/// Below this truth the weakest cylinder must be found, percent, if the next is this much above, points.
const WEAK: f64 = 85.0;
const CLEARLY: f64 = 5.0;

/// A cylinder below this called even, or above that called low, is a wrong finding, percent.
const SURELY_LOW: f64 = 80.0;
const SURELY_EVEN: f64 = 92.0;

/// Cylinders over this share of the best are sound in the truth; estimates are scaled to agree on them.
const SOUND_SHARE: f64 = 0.93;

/// One cylinder: truth, estimate, interval, finding.
#[derive(Debug, Clone, Copy)]
struct Cylinder {
    truth: f64,
    estimate: f64,
    low: f64,
    high: f64,
    finding: Finding,
    hump: f64,
}

/// One simulated engine, judged.
#[derive(Debug, Clone)]
pub struct Judged {
    /// "starter current", "battery voltage, DC", …
    pub signal: String,
    /// Cylinders.
    pub count: usize,
    /// Whether every check passed.
    pub passed: bool,
    cylinders: Vec<Cylinder>,
}

/// Draw, crank, record, analyse and judge one engine; none if no plan of the seed turns it.
#[must_use]
pub fn judge(seed: u64) -> Option<Judged> {
    let made = practice(seed, &Wish::anything())?;
    let analysed = analyse(&made.capture(), &made.setup());
    Some(Judged {
        signal: signal_name(&made),
        count: made.engine().cylinders(),
        passed: analysed.analysis.quality.iter().all(|check| check.passed),
        cylinders: cylinders(&made, &analysed),
    })
}

fn signal_name(made: &Practice) -> String {
    let recording = &made.plan.recording;
    let coupling = match (
        recording.source,
        recording.coupling_hz,
        recording.coupling_told,
    ) {
        (SignalKind::BatteryVoltage, Some(_), true) => ", AC, corner told",
        (SignalKind::BatteryVoltage, Some(_), false) => ", AC, corner unknown",
        (SignalKind::BatteryVoltage, None, _) => ", DC",
        _ => "",
    };
    format!("{}{coupling}", recording.source.name())
}

fn cylinders(made: &Practice, analysed: &Analysed) -> Vec<Cylinder> {
    let Analysis {
        cylinders: Some(rows),
        ..
    } = &analysed.analysis
    else {
        return Vec::new();
    };
    let truth = &made.truth.relative_compression_percent;
    if rows.len() != truth.len() {
        return Vec::new();
    }
    let best = truth.values().copied().fold(0.0, f64::max);
    let sound: Vec<usize> = truth
        .iter()
        .filter(|(_, value)| **value > SOUND_SHARE * best)
        .map(|(c, _)| *c)
        .collect();
    let mean = |value: &dyn Fn(usize) -> f64| {
        sound.iter().map(|cylinder| value(*cylinder)).sum::<f64>() / sound.len() as f64
    };
    let whole = mean(&|c| truth[&c]);
    let scale = whole / mean(&|c| rows[c - 1].relative_compression_percent);
    let hump_scale = whole / mean(&|c| analysed.humps[&c]);
    rows.iter()
        .map(|row| Cylinder {
            truth: truth[&row.cylinder],
            estimate: scale * row.relative_compression_percent,
            low: scale * row.low,
            high: scale * row.high,
            finding: row.finding,
            hump: hump_scale * analysed.humps[&row.cylinder],
        })
        .collect()
}

/// Figures over many engines.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Figures {
    /// Engines.
    pub engines: usize,
    /// Of these, captures on which no check failed; the other figures are over them.
    pub passed: usize,
    /// Weakest cylinder estimated lowest, of those in which one is clearly weakest.
    pub weakest: (usize, usize),
    /// The same by hump reading.
    pub weakest_by_humps: (usize, usize),
    /// Captures with a wrong finding.
    pub wrong: usize,
    /// The same by hump reading, against the limit without an interval.
    pub wrong_by_humps: usize,
    /// Cylinders under 75 % called low, of all such.
    pub called_low: (usize, usize),
    /// Cylinders over 95 % called even, of all such.
    pub called_even: (usize, usize),
    /// Error, points: root mean square and 95th percentile.
    pub error: (f64, f64),
    /// The same by hump reading.
    pub error_by_humps: (f64, f64),
    /// Truths inside the 95 % interval, of all.
    pub covered: (usize, usize),
    /// Mean width of the interval, points.
    pub width: f64,
    /// By true percentage (lower end of a band): undecided, of all.
    pub undecided: BTreeMap<u32, (usize, usize)>,
}

/// Lower ends of the bands of true percentage.
const BANDS: [u32; 6] = [0, 60, 75, 80, 90, 95];

/// Sum up.
#[must_use]
pub fn figures<'a>(judged: impl Iterator<Item = &'a Judged>) -> Figures {
    let mut figures = Figures::default();
    let mut errors = Vec::new();
    let mut hump_errors = Vec::new();
    for engine in judged {
        figures.engines += 1;
        if !engine.passed || engine.cylinders.is_empty() {
            continue;
        }
        figures.passed += 1;
        add_engine(&mut figures, engine);
        for cylinder in &engine.cylinders {
            errors.push((cylinder.estimate - cylinder.truth).abs());
            hump_errors.push((cylinder.hump - cylinder.truth).abs());
        }
    }
    figures.error = spread(&mut errors);
    figures.error_by_humps = spread(&mut hump_errors);
    figures.width /= errors.len().max(1) as f64;
    figures
}

fn add_engine(figures: &mut Figures, engine: &Judged) {
    let all = &engine.cylinders;
    if let Some(weakest) = clearly_weakest(all) {
        let lowest = |value: &dyn Fn(&Cylinder) -> f64| {
            (0..all.len()).min_by(|a, b| value(&all[*a]).total_cmp(&value(&all[*b])))
        };
        count(
            &mut figures.weakest,
            lowest(&|c| c.estimate) == Some(weakest),
        );
        count(
            &mut figures.weakest_by_humps,
            lowest(&|c| c.hump) == Some(weakest),
        );
    }
    let wrong = |c: &Cylinder, low: bool, even: bool| {
        (c.truth < SURELY_LOW && even) || (c.truth > SURELY_EVEN && low)
    };
    let by_fit = |c: &Cylinder| wrong(c, c.finding == Finding::Low, c.finding == Finding::Even);
    let by_hump = |c: &Cylinder| wrong(c, c.hump < WEAK, c.hump >= WEAK);
    figures.wrong += usize::from(all.iter().any(by_fit));
    figures.wrong_by_humps += usize::from(all.iter().any(by_hump));
    for cylinder in all {
        if cylinder.truth < 75.0 {
            count(&mut figures.called_low, cylinder.finding == Finding::Low);
        }
        if cylinder.truth > 95.0 {
            count(&mut figures.called_even, cylinder.finding == Finding::Even);
        }
        count(
            &mut figures.covered,
            (cylinder.low..=cylinder.high).contains(&cylinder.truth),
        );
        figures.width += cylinder.high - cylinder.low;
        let band = BANDS
            .into_iter()
            .rev()
            .find(|band| cylinder.truth >= f64::from(*band));
        let undecided = figures.undecided.entry(band.unwrap_or(0)).or_default();
        count(undecided, cylinder.finding == Finding::Uncertain);
    }
}

/// Place of the weakest cylinder where it is below the limit and the next clearly above it.
fn clearly_weakest(all: &[Cylinder]) -> Option<usize> {
    let mut order: Vec<usize> = (0..all.len()).collect();
    order.sort_by(|a, b| all[*a].truth.total_cmp(&all[*b].truth));
    let (first, next) = (*order.first()?, *order.get(1)?);
    let clear = all[first].truth < WEAK && all[next].truth - all[first].truth >= CLEARLY;
    clear.then_some(first)
}

fn count(tally: &mut (usize, usize), hit: bool) {
    tally.0 += usize::from(hit);
    tally.1 += 1;
}

/// Root mean square and 95th percentile.
fn spread(errors: &mut [f64]) -> (f64, f64) {
    if errors.is_empty() {
        return (0.0, 0.0);
    }
    errors.sort_by(f64::total_cmp);
    let square = errors.iter().map(|error| error * error).sum::<f64>() / errors.len() as f64;
    (
        square.sqrt(),
        errors[(errors.len() * 95 / 100).min(errors.len() - 1)],
    )
}
