//! A practice capture as the rest of the program sees it: table, set-up, truth.
//! Numbers that name no source are our own choice.

use std::collections::BTreeMap;

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use serde::{Deserialize, Serialize};

use super::draw::{Wish, draw};
use super::drive::{Motion, STEP_S, drive};
use super::plan::{Plan, ReferenceShape};
use super::recording::{Table, record};
use crate::capture::Capture;
use crate::capture::keys::Keys;
use crate::capture::setup::{
    Analogue, Channels, Coupling, DEFAULT_LOW_PERCENT, Edge, Polarity, Reference, Setup, Teeth,
};
use crate::cranking::answer::SignalKind;
use crate::engine::{CYCLE_DEG, Engine};

/// Header of the time column.
pub const TIME: &str = "time_s";

/// Header of the reference column.
const REFERENCE: &str = "reference_V";

/// Cylinders over this share of the best count as sound in the truth.
pub(super) const SOUND_SHARE: f64 = 0.93;

/// Fewest cycles that the engine must turn for a plan to be kept.
const FEWEST_CYCLES: f64 = 4.3;

/// Least speed over the mean of an engine that its starter turns without sticking at each compression.
const SLOWEST: f64 = 0.1;

/// Ranges of scopes and clamps, volts or amperes (common practice).
const RANGES: [f64; 9] = [0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 1000.0, 2000.0];

/// Plans drawn before giving up on a seed.
const TRIES: u64 = 60;

/// A practice capture.
#[derive(Debug, Clone)]
pub struct Practice {
    /// What it was made from.
    pub plan: Plan,
    /// What the scope recorded.
    pub table: Table,
    /// What is true.
    pub truth: Truth,
}

/// What is true of a practice capture.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Truth {
    /// Seed that it was drawn from.
    pub seed: u64,
    /// Mean cranking speed, revolutions per minute.
    pub mean_rpm: f64,
    /// Peak gauge pressure of each cylinder while cranking, percent of the sound ones' mean.
    pub relative_compression_percent: BTreeMap<usize, f64>,
    /// Leak of each cylinder, mm².
    pub leak_mm2: BTreeMap<usize, f64>,
    /// Trapped charge of each cylinder over that of a sound one.
    pub charge: BTreeMap<usize, f64>,
    /// What is wrong with all cylinders alike, or with what turns them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub common: Option<String>,
    /// What makes the capture unfit for a verdict.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spoiled: Option<String>,
}

/// Draw, crank and record. Plans under which the engine stalls are drawn again. None if no plan of the
/// seed turns the engine.
#[must_use]
pub fn practice(seed: u64, wish: &Wish) -> Option<Practice> {
    (0..TRIES).find_map(|attempt| {
        let mut plan = draw(seed.wrapping_mul(TRIES) + attempt, wish);
        let mut motion = drive(&plan);
        let rpm = mean_rpm(&plan, &motion)?;
        let mut truth = truth(seed, &plan, &motion, rpm);
        truth.common = wish.common.map(|common| common.name().to_owned());
        let ranged = plan.recording.source != SignalKind::CrankSpeed;
        let mut table = if ranged {
            within_range(&mut plan, &motion)
        } else {
            record(&plan, &motion)
        };
        if let Some(spoil) = wish.spoil {
            let (swing, mean) = ripple(&plan, &table);
            let mut random = ChaCha8Rng::seed_from_u64(plan.seed ^ 0x0073_706f_696c);
            spoil.spoil(&mut plan, &mut random, swing, mean, rpm);
            motion = drive(&plan);
            table = record(&plan, &motion);
            truth.spoiled = Some(spoil.name().to_owned());
        }
        Some(Practice { plan, table, truth })
    })
}

/// Ripple from foot to top, without its slow part, and mean level of the steady cranking.
fn ripple(plan: &Plan, table: &Table) -> (f64, f64) {
    let inside: Vec<f64> = steady_rows(plan, table).collect();
    let mean = inside.iter().sum::<f64>() / inside.len().max(1) as f64;
    let parts = 8.min(inside.len().max(1));
    let swings = inside
        .chunks(inside.len().div_ceil(parts).max(1))
        .map(|part| {
            let most = part.iter().copied().fold(f64::MIN, f64::max);
            most - part.iter().copied().fold(f64::MAX, f64::min)
        });
    (swings.fold(f64::MAX, f64::min), mean)
}

fn steady_rows<'a>(plan: &Plan, table: &'a Table) -> impl Iterator<Item = f64> + use<'a> {
    let (from, to) = (plan.timing.key_on_s.max(0.0) + 0.5, plan.timing.key_off_s);
    let rows = table.time.iter().zip(&table.signal);
    rows.filter(move |(t, _)| **t > from && **t < to)
        .map(|(_, value)| *value)
}

/// Record on the smallest range that holds the steady cranking, as a technician would after a first try.
fn within_range(plan: &mut Plan, motion: &Motion) -> Table {
    loop {
        let table = record(plan, motion);
        let most = steady_rows(plan, &table).map(f64::abs).fold(0.0, f64::max);
        let next = RANGES
            .into_iter()
            .find(|range| *range > plan.recording.full_scale);
        match next {
            Some(range) if most > 0.98 * plan.recording.full_scale => {
                plan.recording.full_scale = range
            }
            _ => return table,
        }
    }
}

/// Mean speed of the steady part, if there are enough cycles of it and the crank does not stick.
fn mean_rpm(plan: &Plan, motion: &Motion) -> Option<f64> {
    let from = ((plan.timing.key_on_s.max(0.0) + 0.6) / STEP_S) as usize;
    let end = plan.timing.catches_s.unwrap_or(f64::INFINITY);
    let to = ((plan.timing.key_off_s.min(end) / STEP_S) as usize).min(motion.angle.len());
    if to < from + 1000 {
        return None;
    }
    let half = from.midpoint(to);
    let turned = |a: usize, b: usize| motion.angle[b - 1] - motion.angle[a];
    let rpm = turned(from, to) / 360.0 * 60.0 / ((to - from) as f64 * STEP_S);
    let steady = (turned(from, half) / turned(half, to) - 1.0).abs() < 0.15;
    let slowest = motion.speed[from..to]
        .iter()
        .copied()
        .fold(f64::MAX, f64::min);
    let turning = slowest > SLOWEST * rpm * std::f64::consts::TAU / 60.0;
    let enough = turned(from, to) > FEWEST_CYCLES * CYCLE_DEG;
    (steady && turning && enough && rpm > 50.0).then_some(rpm)
}

fn truth(seed: u64, plan: &Plan, motion: &Motion, mean_rpm: f64) -> Truth {
    let peaks = &motion.peaks_pa;
    let best = peaks.iter().copied().fold(0.0, f64::max);
    let sound: Vec<f64> = peaks
        .iter()
        .copied()
        .filter(|peak| *peak > SOUND_SHARE * best)
        .collect();
    let whole = sound.iter().sum::<f64>() / sound.len() as f64;
    let by_cylinder = |value: &dyn Fn(usize) -> f64| {
        plan.engine
            .firing_order()
            .iter()
            .enumerate()
            .map(|(place, c)| (*c, value(place)))
            .collect()
    };
    Truth {
        seed,
        mean_rpm,
        relative_compression_percent: by_cylinder(&|place| 100.0 * peaks[place] / whole),
        leak_mm2: by_cylinder(&|place| 1e6 * plan.conditions[place].leak_m2),
        charge: by_cylinder(&|place| plan.conditions[place].charge),
        common: None,
        spoiled: None,
    }
}

impl Practice {
    /// Header of the signal's column.
    #[must_use]
    pub fn signal_column(&self) -> &'static str {
        match self.plan.recording.source {
            SignalKind::StarterCurrent => "starter_current_A",
            SignalKind::BatteryVoltage => "battery_voltage_V",
            SignalKind::CrankSpeed => "crank_sensor_V",
        }
    }

    /// Record once more, after the plan was changed.
    pub fn record_anew(&mut self) {
        self.table = record(&self.plan, &drive(&self.plan));
    }

    /// The capture.
    #[must_use]
    pub fn capture(&self) -> Capture {
        let mut columns =
            BTreeMap::from([(self.signal_column().to_owned(), self.table.signal.clone())]);
        if let Some(reference) = &self.table.reference {
            columns.insert(REFERENCE.to_owned(), reference.clone());
        }
        Capture {
            time: self.table.time.clone(),
            columns,
        }
    }

    /// The set-up.
    #[must_use]
    pub fn setup(&self) -> Setup {
        let recording = &self.plan.recording;
        let mut channels = Channels::default();
        match recording.source {
            SignalKind::StarterCurrent => channels.starter_current = Some(self.analogue()),
            SignalKind::BatteryVoltage => channels.battery_voltage = Some(self.analogue()),
            SignalKind::CrankSpeed => channels.crank_speed = Some(self.teeth()),
        }
        channels.reference = recording.reference.map(|reference| Reference {
            column: REFERENCE.to_owned(),
            cylinder: reference.cylinder,
            every_deg: reference.every_deg,
            before_tdc_deg: reference.told_before_deg,
            edge: match reference.shape {
                ReferenceShape::TriggerRising => Edge::Rising,
                ReferenceShape::TriggerFalling | ReferenceShape::Injector | ReferenceShape::Cam => {
                    Edge::Falling
                }
                ReferenceShape::Spike => Edge::Peak,
            },
        });
        Setup {
            engine: self.engine().clone(),
            low_percent: DEFAULT_LOW_PERCENT,
            time_column: Some(TIME.to_owned()),
            channels,
            keys: Keys::default(),
        }
    }

    fn analogue(&self) -> Analogue {
        let recording = &self.plan.recording;
        let voltage = recording.source == SignalKind::BatteryVoltage;
        let polarity = if voltage == recording.turned_over {
            Polarity::LoadUp
        } else {
            Polarity::LoadDown
        };
        let told = recording.converter_told;
        Analogue {
            column: self.signal_column().to_owned(),
            bits: told.then_some(recording.bits),
            full_scale: told.then_some(recording.full_scale),
            polarity: told.then_some(polarity),
            coupling: if recording.coupling_hz.is_some() {
                Coupling::Ac
            } else {
                Coupling::Dc
            },
            coupling_corner_hz: recording.coupling_hz.filter(|_| recording.coupling_told),
        }
    }

    fn teeth(&self) -> Teeth {
        let wheel = &self.plan.recording.wheel;
        let order = self.engine().firing_order();
        let tops = self.engine().firing_angles_deg();
        // told from cylinder 1's top dead centre, planned from the first place's
        let first = order
            .iter()
            .position(|cylinder| *cylinder == 1)
            .unwrap_or(0);
        let several = wheel.told && wheel.gaps.len() > 1;
        Teeth {
            column: self.signal_column().to_owned(),
            wheel: wheel.name(),
            gaps_at: several.then(|| wheel.gaps.iter().map(|(at, _)| *at).collect()),
            gap_before_tdc_deg: (wheel.told && !wheel.gaps.is_empty())
                .then(|| (wheel.before_tdc_deg + tops[first]).rem_euclid(360.0)),
            edge: None,
            bits: None,
            full_scale: None,
        }
    }

    /// The engine.
    #[must_use]
    pub fn engine(&self) -> &Engine {
        &self.plan.engine
    }

    /// The capture as the text of its file.
    #[must_use]
    pub fn csv(&self) -> String {
        use std::fmt::Write;
        let mut text = format!("{TIME},{}", self.signal_column());
        if self.table.reference.is_some() {
            text.push(',');
            text.push_str(REFERENCE);
        }
        text.push('\n');
        // a hundredth of a step at least; changes of level are told to the tenth of a microsecond
        let recording = &self.plan.recording;
        let fine = recording.source == SignalKind::CrankSpeed || recording.rate_hz > 1000.0;
        let digits = if fine { 7 } else { 5 };
        for (row, time) in self.table.time.iter().enumerate() {
            // writing to a String does not fail
            let _ = write!(text, "{time:.digits$},{:.4}", self.table.signal[row]);
            if let Some(reference) = &self.table.reference {
                let _ = write!(text, ",{:.2}", reference[row]);
            }
            text.push('\n');
        }
        text
    }
}
