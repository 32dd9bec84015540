//! A practice capture as the rest of the program sees it: table, set-up, truth.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::draw::{Wish, draw};
use super::drive::{Motion, STEP_S, drive};
use super::plan::{Plan, ReferenceShape};
use super::recording::{Table, record};
use crate::capture::Capture;
use crate::capture::setup::{
    Analogue, Channels, Coupling, DEFAULT_LOW_PERCENT, Edge, Polarity, Reference, Setup,
};
use crate::cranking::answer::SignalKind;
use crate::engine::{CYCLE_DEG, Engine};

/// Header of the time column.
pub const TIME: &str = "time_s";

/// Header of the reference column.
const REFERENCE: &str = "reference_V";

/// Cylinders over this share of the best count as sound in the truth.
const SOUND_SHARE: f64 = 0.93;

/// Fewest cycles that the engine must turn for a plan to be kept.
const FEWEST_CYCLES: f64 = 4.3;

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
}

/// Draw, crank and record. Plans under which the engine stalls are drawn again. None if no plan of the
/// seed turns the engine.
#[must_use]
pub fn practice(seed: u64, wish: &Wish) -> Option<Practice> {
    (0..TRIES).find_map(|attempt| {
        let plan = draw(seed.wrapping_mul(TRIES) + attempt, wish);
        let motion = drive(&plan);
        let rpm = mean_rpm(&plan, &motion)?;
        let truth = truth(seed, &plan, &motion, rpm);
        let (plan, table) = within_range(plan, &motion);
        Some(Practice { plan, table, truth })
    })
}

/// Record on the smallest range that holds the steady cranking, as a technician would after a first try.
fn within_range(mut plan: Plan, motion: &Motion) -> (Plan, Table) {
    loop {
        let table = record(&plan, motion);
        let from = plan.timing.key_on_s.max(0.0) + 0.5;
        let inside = table
            .time
            .iter()
            .zip(&table.signal)
            .filter(|(t, _)| **t > from && **t < plan.timing.key_off_s);
        let most = inside.map(|(_, value)| value.abs()).fold(0.0, f64::max);
        let next = RANGES
            .into_iter()
            .find(|range| *range > plan.recording.full_scale);
        match next {
            Some(range) if most > 0.98 * plan.recording.full_scale => {
                plan.recording.full_scale = range
            }
            _ => return (plan, table),
        }
    }
}

/// Mean speed of the steady part, if there are enough cycles of it and the crank does not stick.
fn mean_rpm(plan: &Plan, motion: &Motion) -> Option<f64> {
    let from = ((plan.timing.key_on_s.max(0.0) + 0.6) / STEP_S) as usize;
    let to = ((plan.timing.key_off_s / STEP_S) as usize).min(motion.angle.len());
    if to < from + 1000 {
        return None;
    }
    let half = from.midpoint(to);
    let turned = |a: usize, b: usize| motion.angle[b - 1] - motion.angle[a];
    let rpm = turned(from, to) / 360.0 * 60.0 / ((to - from) as f64 * STEP_S);
    let steady = (turned(from, half) / turned(half, to) - 1.0).abs() < 0.15;
    let turning = motion.speed[from..to].iter().all(|speed| *speed > 0.02);
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
    }
}

impl Practice {
    /// Header of the signal's column.
    #[must_use]
    pub fn signal_column(&self) -> &'static str {
        match self.plan.recording.source {
            SignalKind::StarterCurrent => "starter_current_A",
            SignalKind::BatteryVoltage => "battery_voltage_V",
            SignalKind::CrankSpeed => "crank_sensor",
        }
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
        let voltage = recording.source == SignalKind::BatteryVoltage;
        let up = voltage == recording.turned_over;
        let analogue = Analogue {
            column: self.signal_column().to_owned(),
            bits: recording.converter_told.then_some(recording.bits),
            full_scale: recording.converter_told.then_some(recording.full_scale),
            polarity: recording.converter_told.then_some(if up {
                Polarity::LoadUp
            } else {
                Polarity::LoadDown
            }),
            coupling: if recording.coupling_hz.is_some() {
                Coupling::Ac
            } else {
                Coupling::Dc
            },
            coupling_corner_hz: recording.coupling_hz.filter(|_| recording.coupling_told),
        };
        let mut channels = Channels::default();
        if voltage {
            channels.battery_voltage = Some(analogue);
        } else {
            channels.starter_current = Some(analogue);
        }
        channels.reference = recording.reference.map(|reference| Reference {
            column: REFERENCE.to_owned(),
            cylinder: reference.cylinder,
            every_deg: reference.every_deg,
            before_tdc_deg: reference.told_before_deg,
            edge: match reference.shape {
                ReferenceShape::TriggerRising => Edge::Rising,
                ReferenceShape::TriggerFalling | ReferenceShape::Cam => Edge::Falling,
                ReferenceShape::Spike => Edge::Peak,
            },
        });
        Setup {
            engine: self.engine().clone(),
            low_percent: DEFAULT_LOW_PERCENT,
            time_column: Some(TIME.to_owned()),
            channels,
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
        for (row, time) in self.table.time.iter().enumerate() {
            // writing to a String does not fail
            let _ = write!(text, "{time:.5},{:.4}", self.table.signal[row]);
            if let Some(reference) = &self.table.reference {
                let _ = write!(text, ",{:.2}", reference[row]);
            }
            text.push('\n');
        }
        text
    }
}
