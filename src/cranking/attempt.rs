//! One channel, all the way: window, checks, placements, fit.

use super::answer::{Check, CheckName, Identified, SignalKind};
use super::cycles::{MeanCycle, Samples, fold};
use super::explain::{Circumstances, Corner, Explained, explain};
use super::polarity::{Direction, direction};
use super::quality;
use super::reference;
use super::rhythm;
use super::window::{self, Window};
use crate::capture::Capture;
use crate::capture::setup::{Analogue, Coupling, Setup};
use crate::engine::CYCLE_DEG;

/// Harmonics of the engine cycle that are explained: four per firing, sixteen at least.
const HARMONICS_PER_FIRING: usize = 4;
const LEAST_HARMONICS: usize = 16;

/// How near 360° a companion must stand for the two placements of a 360° event to be the same.
const COMPANION_TOLERANCE_DEG: f64 = 1.0;

/// By how much squared residuals must differ for one placement, or direction, to be preferred.
const CLEAR_MARGIN: f64 = 12.0;

/// One channel's way.
#[derive(Debug, Clone)]
pub struct Attempt {
    /// The channel.
    pub kind: SignalKind,
    /// Its checks.
    pub checks: Vec<Check>,
    /// What was found, as far as it went.
    pub found: Option<Found>,
    /// The window, as far as there was one.
    pub window: Option<Window>,
}

/// What was found.
#[derive(Debug, Clone)]
pub struct Found {
    /// The fit.
    pub explained: Explained,
    /// How far cylinders can be named.
    pub identified: Identified,
    /// Factor that turned load up.
    pub sign: f64,
    /// Mean level above no load, where known.
    pub level: Option<f64>,
    /// The mean cycle, load up.
    pub cycle: MeanCycle,
}

impl Attempt {
    /// Whether every check passed and there is a fit.
    #[must_use]
    pub fn usable(&self) -> bool {
        self.found.is_some() && self.checks.iter().all(|check| check.passed)
    }
}

/// Where the cycle marks come from.
struct Marks {
    times: Vec<f64>,
    every_deg: Option<f64>,
    /// Length of a cycle from the signal, where events are missing among the times.
    rhythm: Option<f64>,
}

/// Try one current or voltage channel.
#[must_use]
pub fn attempt(kind: SignalKind, channel: &Analogue, capture: &Capture, setup: &Setup) -> Attempt {
    let samples = Samples {
        time: &capture.time,
        values: &capture.columns[&channel.column],
    };
    let mut attempt = Attempt {
        kind,
        checks: Vec::new(),
        found: None,
        window: None,
    };
    let (least, most) = quality::extremes(samples.values);
    let alive = most > least;
    if !alive {
        attempt.checks.push(quality::yes_or_no(
            CheckName::NoSignal,
            false,
            "",
            "The channel stands still: check that the lead is connected and the channel switched on.",
        ));
        return attempt;
    }
    let firings = setup.engine.cylinders();
    let marks = cycle_marks(capture, setup, samples);
    let at_end = quality::range_end(samples.values, channel.full_scale, channel.bits);
    let Some(window) = window::find(samples, &marks.times, firings, marks.rhythm, at_end) else {
        attempt.checks.extend(quality::ripple(f64::INFINITY));
        attempt.checks.push(quality::too_few_cycles(0.0));
        return attempt;
    };
    examine(&mut attempt, channel, samples, setup, &window, &marks);
    attempt.window = Some(window);
    attempt
}

/// Cycle marks from the reference, or from the signal's own rhythm.
fn cycle_marks(capture: &Capture, setup: &Setup, samples: Samples<'_>) -> Marks {
    let firings = setup.engine.cylinders();
    if let Some(reference) = &setup.channels.reference {
        let values = &capture.columns[&reference.column];
        let events = reference::events(
            Samples {
                time: &capture.time,
                values,
            },
            reference.edge,
        );
        let once = reference.every_deg == CYCLE_DEG;
        let times: Vec<f64> = events
            .into_iter()
            .step_by(if once { 1 } else { 2 })
            .collect();
        if times.len() >= 2 {
            let rhythm = (!window::regular(&times)).then(|| {
                let marks = rhythm::cycle_marks(samples, firings);
                window::median(marks.windows(2).map(|pair| pair[1] - pair[0]))
            });
            let rhythm = rhythm.filter(|length| *length > 0.0);
            return Marks {
                times,
                every_deg: Some(reference.every_deg),
                rhythm,
            };
        }
    }
    Marks {
        times: rhythm::cycle_marks(samples, firings),
        every_deg: None,
        rhythm: None,
    }
}

fn examine(
    attempt: &mut Attempt,
    channel: &Analogue,
    samples: Samples<'_>,
    setup: &Setup,
    window: &Window,
    marks: &Marks,
) {
    let firings = setup.engine.cylinders();
    let unit = if attempt.kind == SignalKind::StarterCurrent {
        "A"
    } else {
        "V"
    };
    let inside = stretch(samples, window.start, window.end);
    let length = (window.end - window.start) / window.cycles;
    let most = (HARMONICS_PER_FIRING * firings).max(LEAST_HARMONICS);
    let cycle = fold(samples, &window.cuts, most);
    let swing = foot_to_top(&cycle);
    let share = cycle.errors.iter().map(|e| e * e).sum::<f64>().sqrt() / cycle.swing().max(1e-12);
    let checks = &mut attempt.checks;
    checks.push(quality::clipped(
        inside,
        channel.full_scale,
        channel.bits,
        unit,
    ));
    checks.push(quality::too_few_cycles(window.cycles));
    let step = match (channel.bits, channel.full_scale) {
        (Some(bits), Some(range)) => Some(2.0 * range / 2f64.powi(bits as i32)),
        _ => quality::apparent_step(inside.values),
    };
    let [no_ripple, noise] = quality::ripple(share);
    checks.extend(quality::converter_steps(swing, step));
    checks.extend([no_ripple, noise]);
    let whole = stretch(samples, window.cuts[0], window.cuts[window.cuts.len() - 1]);
    checks.push(quality::loose_connection(whole, swing));
    checks.push(quality::engine_running(120.0 / length));
    checks.push(quality::undersampled(
        inside.values.len() as f64 / (window.cycles * firings as f64),
    ));
    if firings == 1 {
        checks.push(quality::yes_or_no(
            CheckName::NothingToCompare,
            false,
            "",
            "One cylinder has nothing to be compared with: measure its compression with a gauge.",
        ));
        return;
    }
    let direction = direction(attempt.kind, channel, samples, window);
    let coupling = (channel.coupling == Coupling::Ac).then(|| {
        channel
            .coupling_corner_hz
            .map_or(Corner::Unknown, Corner::Told)
    });
    place(attempt, &cycle, setup, window, marks, direction, coupling);
}

/// Fit in every placement and direction that is open, and keep what the data prefer.
fn place(
    attempt: &mut Attempt,
    cycle: &MeanCycle,
    setup: &Setup,
    window: &Window,
    marks: &Marks,
    direction: Direction,
    coupling: Option<Corner>,
) {
    let placements = placements(setup, marks);
    let signs = direction.sign.map_or(vec![1.0, -1.0], |sign| vec![sign]);
    let mut fits: Vec<(f64, f64, usize, Found)> = Vec::new();
    for sign in &signs {
        let turned = turned(cycle, *sign);
        for (index, event_deg) in placements.events_deg.iter().enumerate() {
            let known = Circumstances {
                engine: &setup.engine,
                event: placements
                    .is_event
                    .then_some(((1.0 - window.phase).rem_euclid(1.0), *event_deg)),
                guess_deg: *event_deg,
                level: direction.level,
                coupling,
                is_speed: false,
            };
            let explained = explain(&turned, &known);
            let found = Found {
                explained,
                identified: placements.identified,
                sign: *sign,
                level: direction.level.map(|(level, _)| level),
                cycle: turned.clone(),
            };
            fits.push((found.explained.fitted.cost, *sign, index, found));
        }
    }
    fits.sort_by(|a, b| a.0.total_cmp(&b.0));
    let Some((cost, sign, index, mut found)) = fits.first().cloned() else {
        return;
    };
    let rival = |differs: &dyn Fn(f64, usize) -> bool| {
        fits.iter()
            .filter(|fit| differs(fit.1, fit.2))
            .map(|fit| fit.0 - cost)
            .fold(f64::INFINITY, f64::min)
    };
    if direction.sign.is_none() {
        let margin = rival(&|other, _| other != sign);
        attempt.checks.push(quality::yes_or_no(
            CheckName::PolarityUnknown,
            margin > CLEAR_MARGIN,
            "",
            "Say in the set-up which way load points (polarity), or capture with the inrush in view.",
        ));
    }
    if placements.must_decide {
        let margin = rival(&|_, other| other != index);
        attempt.checks.push(quality::yes_or_no(
            CheckName::PlacementUndecided,
            margin > CLEAR_MARGIN,
            "",
            "Take the reference from an event that comes once per engine cycle.",
        ));
        found.identified = Identified::Cylinder;
    }
    let data = 2 * found.explained.model.data.harmonics.len();
    attempt.checks.push(quality::poor_fit(
        found.explained.fitted.data_cost / data as f64,
    ));
    attempt.found = Some(found);
}

struct Placements {
    /// Crank angle at the cycle mark, or where the greatest signal may be, degrees.
    events_deg: Vec<f64>,
    is_event: bool,
    identified: Identified,
    /// Whether one of several must win for cylinders to be named.
    must_decide: bool,
}

fn placements(setup: &Setup, marks: &Marks) -> Placements {
    let engine = &setup.engine;
    let angles = engine.firing_angles_deg();
    let Some((reference, every_deg)) = setup.channels.reference.as_ref().zip(marks.every_deg)
    else {
        return Placements {
            events_deg: distinct_places(engine.firing_intervals_deg(), &angles),
            is_event: false,
            identified: Identified::PositionOnly,
            must_decide: false,
        };
    };
    let top = angles[engine.place_of(reference.cylinder).unwrap_or(0)];
    let event = top - reference.before_tdc_deg;
    if every_deg == CYCLE_DEG {
        let identified = Identified::Cylinder;
        return Placements {
            events_deg: vec![event],
            is_event: true,
            identified,
            must_decide: false,
        };
    }
    if engine
        .companion(reference.cylinder, COMPANION_TOLERANCE_DEG)
        .is_some()
    {
        let identified = Identified::OneOfPair;
        return Placements {
            events_deg: vec![event],
            is_event: true,
            identified,
            must_decide: false,
        };
    }
    Placements {
        events_deg: vec![event, event + CYCLE_DEG / 2.0],
        is_event: true,
        identified: Identified::Cylinder,
        must_decide: true,
    }
}

/// Top dead centres that the greatest signal may belong to, one of each that looks alike from there.
fn distinct_places(intervals: &[f64], angles: &[f64]) -> Vec<f64> {
    let count = intervals.len();
    let mut kept: Vec<usize> = Vec::new();
    for place in 0..count {
        let alike = |other: &usize| {
            (0..count).all(|k| {
                (intervals[(place + k) % count] - intervals[(other + k) % count]).abs() < 0.5
            })
        };
        if !kept.iter().any(alike) {
            kept.push(place);
        }
    }
    kept.into_iter().map(|place| angles[place]).collect()
}

fn turned(cycle: &MeanCycle, sign: f64) -> MeanCycle {
    let mut turned = cycle.clone();
    turned
        .harmonics
        .iter_mut()
        .for_each(|part| *part = (sign * part.0, sign * part.1));
    turned.mean *= sign;
    turned
}

fn foot_to_top(cycle: &MeanCycle) -> f64 {
    let values: Vec<f64> = (0..100).map(|b| cycle.at(f64::from(b) / 100.0)).collect();
    let (least, most) = quality::extremes(&values);
    most - least
}

/// The samples between two times.
#[must_use]
pub fn stretch(samples: Samples<'_>, from: f64, to: f64) -> Samples<'_> {
    let a = samples.time.partition_point(|t| *t < from);
    let b = samples
        .time
        .partition_point(|t| *t <= to)
        .max(a + 2)
        .min(samples.time.len());
    let a = a.min(b - 2);
    Samples {
        time: &samples.time[a..b],
        values: &samples.values[a..b],
    }
}
