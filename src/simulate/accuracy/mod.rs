//! How accurate the analysis is, measured on simulated engines with known truth, beside what hump reading
//! would have said in the same run; and whether unfit captures are refused for the right reason.

mod figures;
pub mod kinds;
mod refused;
pub mod remarks;

use std::collections::BTreeMap;

pub use figures::{Figures, figures};
pub use refused::{Refusal, refusal};

use super::draw::Wish;
use super::drive::{STEP_S, drive};
use super::practice::{Practice, SOUND_SHARE, practice};
use crate::cranking::answer::{Analysis, CheckName, Finding, Identified, SignalKind};
use crate::cranking::{Analysed, analyse};

/// One cylinder: truth, estimate, interval, all in percent, and finding.
#[derive(Debug, Clone, Copy)]
pub struct Cylinder {
    /// Truth.
    pub truth: f64,
    /// Estimate, scaled so that the sound cylinders' means agree; so are the interval and the hump.
    pub estimate: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// What was said of it.
    pub finding: Finding,
    /// What its hump would have said.
    pub hump: f64,
}

/// One simulated engine, judged.
#[derive(Debug, Clone)]
pub struct Judged {
    /// Its seed.
    pub seed: u64,
    /// "starter current", "battery voltage, DC", …
    pub signal: String,
    /// Cylinders and how they fire.
    pub layout: String,
    /// How far cylinders could be named.
    pub identified: Option<Identified>,
    /// Checks that failed, with what was measured.
    pub failed: Vec<(CheckName, Option<f64>)>,
    /// Squared residuals of the fit per datum.
    pub misfit: Option<f64>,
    /// By place in the truth's order of cylinders; empty where nothing was found.
    pub cylinders: Vec<Cylinder>,
    /// What was said of the kind of each loss found.
    pub kinds: Vec<kinds::Told>,
    /// Remarks on the whole engine.
    pub remarks: remarks::Remarks,
}

impl Judged {
    /// Whether every check passed.
    #[must_use]
    pub fn passed(&self) -> bool {
        self.failed.is_empty() && !self.cylinders.is_empty()
    }
}

/// Draw, crank, record, analyse and judge one engine; none if no plan of the seed turns it.
#[must_use]
pub fn judge(seed: u64, wish: &Wish) -> Option<Judged> {
    let made = practice(seed, wish)?;
    let (capture, setup) = (made.capture(), made.setup());
    let analysed = analyse(&capture, &setup);
    let failing = analysed.analysis.quality.iter().filter(|c| !c.passed);
    let fit = analysed
        .analysis
        .quality
        .iter()
        .find(|c| c.check == CheckName::PoorFit);
    let names = names(&made, &analysed);
    Some(Judged {
        kinds: kinds::told(&made, &analysed.analysis, &names),
        remarks: remarks::remarks(&made, &analysed.analysis, true),
        seed,
        misfit: fit.and_then(|check| check.measured),
        signal: signal_name(&made),
        layout: layout_name(&made),
        identified: analysed.analysis.identified,
        failed: failing.map(|check| (check.check, check.measured)).collect(),
        cylinders: cylinders(&made, &analysed, &names),
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
    let place = if recording.feed.is_some() {
        ", connector"
    } else {
        ""
    };
    format!("{}{coupling}{place}", recording.source.name())
}

fn layout_name(made: &Practice) -> String {
    let intervals = made.engine().firing_intervals_deg();
    let even = intervals.iter().all(|deg| (deg - intervals[0]).abs() < 0.5);
    let fire = if even { "even" } else { "odd" };
    format!("{:2} cylinders, {fire} fire", intervals.len())
}

/// Rows beside the truth, by cylinder number.
fn cylinders(
    made: &Practice,
    analysed: &Analysed,
    names: &BTreeMap<usize, usize>,
) -> Vec<Cylinder> {
    let truth = &made.truth.relative_compression_percent;
    let rows = named_rows(&analysed.analysis);
    if rows.len() != truth.len() {
        return Vec::new();
    }
    let found: BTreeMap<usize, (&Row, f64)> = rows
        .iter()
        .filter_map(|(name, row)| Some((*names.get(name)?, (row, analysed.humps[name]))))
        .collect();
    if found.len() != truth.len() {
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
    let scale = whole / mean(&|c| found[&c].0.percent);
    let hump_scale = whole / mean(&|c| found[&c].1);
    found
        .iter()
        .map(|(cylinder, (row, hump))| Cylinder {
            truth: truth[cylinder],
            estimate: scale * row.percent,
            low: scale * row.low,
            high: scale * row.high,
            finding: row.finding,
            hump: hump_scale * hump,
        })
        .collect()
}

struct Row {
    percent: f64,
    low: f64,
    high: f64,
    finding: Finding,
}

/// Rows by what the answer calls them: cylinder, or position.
fn named_rows(analysis: &Analysis) -> BTreeMap<usize, Row> {
    let cylinders = analysis.cylinders.iter().flatten().map(|row| {
        let percent = row.relative_compression_percent;
        (row.cylinder, percent, row.low, row.high, row.finding)
    });
    let positions = analysis.positions.iter().flatten().map(|row| {
        let percent = row.relative_compression_percent;
        (row.position, percent, row.low, row.high, row.finding)
    });
    cylinders
        .chain(positions)
        .map(|(name, percent, low, high, finding)| {
            let row = Row {
                percent,
                low,
                high,
                finding,
            };
            (name, row)
        })
        .collect()
}

/// What the answer calls each cylinder, and which it really is.
fn names(made: &Practice, analysed: &Analysed) -> BTreeMap<usize, usize> {
    match analysed.analysis.identified {
        Some(Identified::Cylinder) | None => made
            .engine()
            .firing_order()
            .iter()
            .map(|name| (*name, *name))
            .collect(),
        _ => true_names(made, analysed),
    }
}

/// Which cylinder really fires where the answer's picture shows a position, or a cylinder that may be its
/// companion.
fn true_names(made: &Practice, analysed: &Analysed) -> BTreeMap<usize, usize> {
    let Some(drawing) = &analysed.drawing else {
        return BTreeMap::new();
    };
    let motion = drive(&made.plan);
    let tops = made.engine().firing_angles_deg();
    let order = made.engine().firing_order();
    let middle = 0.5 * (drawing.window.0 + drawing.window.1);
    let mut names = BTreeMap::new();
    let mut nearest_first: Vec<&(f64, usize)> = drawing.firings.iter().collect();
    nearest_first.sort_by(|a, b| (a.0 - middle).abs().total_cmp(&(b.0 - middle).abs()));
    for (time, name) in nearest_first {
        let step = ((time / STEP_S).max(0.0) as usize).min(motion.angle.len() - 1);
        let off = |top: f64| (motion.angle[step] - top + 360.0).rem_euclid(720.0) - 360.0;
        let place =
            (0..tops.len()).min_by(|a, b| off(tops[*a]).abs().total_cmp(&off(tops[*b]).abs()));
        if let Some(place) = place {
            names.entry(*name).or_insert(order[place]);
        }
    }
    names
}
