//! One channel, all the way: window, checks, mean cycle, placement.
//! Thresholds that name no source are our own choice, set on simulated captures, sound and unfit.

use super::answer::{Check, CheckName, Identified, SignalKind};
use super::fitting::explain::{Corner, Explained};
use super::fitting::placement::{CLEAR_MARGIN, place};
use super::fitting::polarity::{Direction, direction};
use super::judging::quality;
use super::judging::unsteady;
use super::slicing::cycles::{LEAST_HARMONICS, MeanCycle, Samples, fold};
use super::slicing::marks::{self, Marks};
use super::slicing::teeth::{self, NoSpeed};
use super::slicing::wheel::Wheel;
use super::slicing::window::{self, Window};
use crate::capture::Capture;
use crate::capture::edges::extremes;
use crate::capture::setup::{Analogue, Coupling, Setup, Teeth};
use crate::engine::CYCLE_DEG;

/// Harmonics of the engine cycle that are explained for each firing, so many in all at least as are always looked at.
const HARMONICS_PER_FIRING: usize = 4;

/// Places of a wheel's teeth, degrees, root mean square: they are cut to some hundredths of a degree (common
/// practice), and what they are off repeats with every turn.
const TOOTH_DEG: f64 = 0.04;

/// How far the teeth beside a gap seem to be off, share of the wheel's pitch: a sensor sees their edges late or early
/// where no neighbour follows (common practice, no source).
const BESIDE_GAP: f64 = 0.025;

/// Harmonic of the cycle from which what repeats with every turn is spread over all by the swing of the speed.
const SPREADS: f64 = 20.0;

/// Positions of a wheel that one harmonic of the cycle needs to be told.
const HARMONIC_POSITIONS: usize = 3;

/// Relative spread of a mean speed, which whole cycles tell exactly.
const SPEED_SPREAD: f64 = 0.01;

/// Cycles below which the whole record is asked why there are so few.
const ENOUGH_CYCLES: f64 = 3.0;

/// Whole cycles that have to be alike for their scatter to be told.
const LEAST_ALIKE: usize = 2;

/// Share of the range from which a channel that stands still stands at its end.
const PINNED: f64 = 0.98;

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
    /// The signal as it was cut up; for teeth, the speed turned over.
    pub signal: (Vec<f64>, Vec<f64>),
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
    fn new(kind: SignalKind, signal: (Vec<f64>, Vec<f64>)) -> Self {
        Self {
            kind,
            checks: Vec::new(),
            found: None,
            window: None,
            signal,
        }
    }

    /// Whether every check passed and there is a fit.
    #[must_use]
    pub fn usable(&self) -> bool {
        self.found.is_some() && self.checks.iter().all(|check| check.passed)
    }

    /// The signal.
    #[must_use]
    pub fn samples(&self) -> Samples<'_> {
        Samples {
            time: &self.signal.0,
            values: &self.signal.1,
        }
    }
}

/// Try one current or voltage channel. Where only its own rhythm tells how long a cycle is, at
/// every pace that it may have.
#[must_use]
pub fn attempt(kind: SignalKind, channel: &Analogue, capture: &Capture, setup: &Setup) -> Attempt {
    let values = capture.columns[&channel.column].clone();
    let mut attempt = Attempt::new(kind, (capture.time.clone(), values));
    let (least, most) = extremes(&attempt.signal.1);
    let pinned = channel
        .full_scale
        .is_some_and(|range| most.abs() >= PINNED * range);
    if least >= most && pinned {
        let check = unsteady::clipped(kind, channel, attempt.samples());
        attempt.checks.push(check);
        return attempt;
    }
    if least >= most {
        attempt.checks.push(quality::yes_or_no(
            CheckName::NoSignal,
            false,
            "",
            "The channel stands still: check that the lead is connected and the channel switched on.",
        ));
        return attempt;
    }
    let marks = marks::of_signal(capture, setup, attempt.samples());
    let tried = vec![attempt; marks.len()]
        .into_iter()
        .zip(&marks)
        .enumerate()
        .map(|(place, (attempt, marks))| at_pace(attempt, channel, setup, (marks, place > 0)))
        .collect();
    likeliest_pace(tried)
}

/// Of attempts at several paces the first, or another that explains the signal and fits clearly better; with a check
/// of whether any other fits as well.
fn likeliest_pace(mut tried: Vec<Attempt>) -> Attempt {
    let costs: Vec<f64> = tried.iter().map(cost).collect();
    let lowest = (0..costs.len())
        .min_by(|a, b| costs[*a].total_cmp(&costs[*b]))
        .filter(|place| costs[*place] < costs[0] - CLEAR_MARGIN && is_explained(&tried[*place]))
        .unwrap_or(0);
    let rival = (0..costs.len())
        .filter(|place| *place != lowest)
        .map(|place| costs[place])
        .min_by(f64::total_cmp);
    let mut taken = tried.swap_remove(lowest);
    if let (Some(rival), true) = (rival, taken.found.is_some()) {
        taken.checks.push(quality::yes_or_no(
            CheckName::PlacementUndecided,
            rival - costs[lowest] > CLEAR_MARGIN,
            "",
            "One hole, or two alike at another speed? Take a reference from an event once per engine cycle.",
        ));
    }
    taken
}

/// Squared residuals of the fit, infinite where there is none.
fn cost(attempt: &Attempt) -> f64 {
    let found = attempt.found.as_ref();
    found.map_or(f64::INFINITY, |found| found.explained.fitted.cost)
}

/// Whether the fit describes the signal.
fn is_explained(attempt: &Attempt) -> bool {
    let fit = |check: &&Check| check.check == CheckName::PoorFit;
    attempt
        .checks
        .iter()
        .find(fit)
        .is_some_and(|check| check.passed)
}

/// Try one current or voltage channel with these marks of its cycles; `other` ones than the likeliest are fitted only
/// where no check fails, which bounds the time that a hopeless capture takes.
fn at_pace(
    mut attempt: Attempt,
    channel: &Analogue,
    setup: &Setup,
    (marks, other): (&Marks, bool),
) -> Attempt {
    let kind = attempt.kind;
    let at_end = quality::range_end(&attempt.signal.1, channel.full_scale, channel.bits);
    let Some((window, cycle)) = steady(&mut attempt, setup, marks, usize::MAX, at_end) else {
        let spoiled = unsteady::spoiled(kind, attempt.samples(), channel, setup.engine.cylinders());
        attempt.checks.extend(spoiled);
        return attempt;
    };
    let turned = direction(kind, channel, attempt.samples(), &window);
    let analogue = analogue_checks(&attempt, channel, &window, &cycle);
    attempt.checks.extend(analogue);
    if other && attempt.checks.iter().any(|check| !check.passed) {
        return attempt;
    }
    let coupling = (channel.coupling == Coupling::Ac).then(|| {
        channel
            .coupling_corner_hz
            .map_or(Corner::Unknown, Corner::Told)
    });
    place(
        &mut attempt,
        &cycle,
        setup,
        &window,
        marks,
        turned,
        coupling,
    );
    attempt.window = Some(window);
    attempt
}

/// Try the teeth of a crank sensor.
#[must_use]
pub fn attempt_teeth(channel: &Teeth, capture: &Capture, setup: &Setup) -> Attempt {
    let sensor = Samples {
        time: &capture.time,
        values: &capture.columns[&channel.column],
    };
    let mut speed = match teeth::speed(sensor, channel) {
        Ok(speed) => speed,
        Err(why) => {
            let mut attempt = Attempt::new(SignalKind::CrankSpeed, (Vec::new(), Vec::new()));
            attempt.checks.push(no_speed(why));
            return attempt;
        }
    };
    let signal = (
        std::mem::take(&mut speed.time),
        std::mem::take(&mut speed.slowness),
    );
    let mut attempt = Attempt::new(SignalKind::CrankSpeed, signal);
    let marks = marks::of_teeth(&speed, channel, capture, setup);
    let positions = Wheel::parse(&channel.wheel).map_or(60, |wheel| wheel.positions);
    let most = 2 * positions / HARMONIC_POSITIONS;
    let Some((window, mut cycle)) = steady(&mut attempt, setup, &marks, most, |_| false) else {
        return attempt;
    };
    allow_for_teeth(&mut cycle, positions, &speed.gaps_deg);
    let direction = Direction {
        sign: Some(1.0),
        level: Some((CYCLE_DEG / cycle.seconds, SPEED_SPREAD)),
    };
    place(
        &mut attempt,
        &cycle,
        setup,
        &window,
        &marks,
        direction,
        None,
    );
    attempt.window = Some(window);
    attempt
}

/// Widen the errors of the harmonics by what teeth out of their place make of the speed. It repeats with every
/// turn; folded over time, the swing of the speed spreads it to the harmonics between, quick ones more. What the teeth
/// beside several gaps are off adds up where the gaps stand as the compressions do; beside one it is lost in the rest.
fn allow_for_teeth(cycle: &mut MeanCycle, positions: usize, gaps_deg: &[(f64, f64)]) {
    let rate = std::f64::consts::TAU / cycle.seconds;
    let anywhere = TOOTH_DEG * (2.0 / positions as f64).sqrt();
    let beside = BESIDE_GAP * 360.0 / positions as f64 * 2.0 / positions as f64;
    for (index, error) in cycle.errors.iter_mut().enumerate() {
        let harmonic = (index + 1) as f64;
        let share = if index % 2 == 1 {
            1.0
        } else {
            (harmonic / SPREADS).min(1.0)
        };
        let together = |tooth: &dyn Fn(&(f64, f64)) -> f64| {
            let turned = |gap| (0.5 * harmonic * tooth(gap)).to_radians().sin_cos();
            let sum = gaps_deg.iter().map(turned);
            let (sin, cos) = sum.fold((0.0, 0.0), |(a, b), (sin, cos)| (a + sin, b + cos));
            sin.hypot(cos)
        };
        let gaps = together(&|gap| gap.0).hypot(together(&|gap| gap.1));
        *error = error.hypot(rate * harmonic * share * anywhere.max(beside * gaps));
    }
}

fn no_speed(why: NoSpeed) -> Check {
    let advice = match why {
        NoSpeed::Few => return quality::too_few_cycles(0.0),
        NoSpeed::Wheel => {
            "The wheel cannot be read: write positions per turn and the teeth missing at each gap, as in 60-2."
        }
        NoSpeed::Edges => {
            "The crank sensor shows hardly any teeth: check the lead, the column, and the edge in the set-up."
        }
        NoSpeed::Pattern => {
            "The teeth do not fit the wheel in the set-up: correct wheel, gaps_at or edge, or sample faster."
        }
    };
    quality::yes_or_no(CheckName::NoSignal, false, "", advice)
}

/// Find the steady cranking, fold it, and make the checks that every signal has.
fn steady(
    attempt: &mut Attempt,
    setup: &Setup,
    marks: &Marks,
    most_harmonics: usize,
    at_end: impl Fn(f64) -> bool,
) -> Option<(Window, MeanCycle)> {
    let firings = setup.engine.cylinders();
    let samples = Samples {
        time: &attempt.signal.0,
        values: &attempt.signal.1,
    };
    let checks = &mut attempt.checks;
    let found = window::find(samples, &marks.times, firings, marks.rhythm, at_end);
    let enough = found
        .as_ref()
        .is_some_and(|window| window.cycles >= ENOUGH_CYCLES);
    if let Some(short) = unsteady::short(samples, marks, enough) {
        checks.extend(short);
        return None;
    }
    // an engine that runs has no cranking to be found; its events tell
    let running = unsteady::running(marks).filter(|_| !enough);
    let Some(window) = found else {
        checks.extend(running);
        let seen = unsteady::ripple(samples, marks)
            .or_else(|| samples.is_long().then(|| quality::ripple(f64::INFINITY)));
        checks.extend(seen.into_iter().flatten());
        checks.push(quality::too_few_cycles(0.0));
        return None;
    };
    let inside = samples.between(window.start, window.end);
    let length = (window.end - window.start) / window.cycles;
    let most = (HARMONICS_PER_FIRING * firings)
        .max(LEAST_HARMONICS)
        .min(most_harmonics)
        .max(1);
    let cycle = fold(samples, &window.cuts, most);
    checks.push(quality::too_few_cycles(window.cycles));
    // few cycles that look alike among many: it is the others that are wrong
    let alike = cycle.cycles >= LEAST_ALIKE;
    let whole = if enough && alike {
        None
    } else {
        unsteady::ripple(samples, marks)
    };
    // one cycle has nothing to be compared with
    let share = if alike {
        cycle.error_share()
    } else {
        f64::INFINITY
    };
    checks.extend(whole.unwrap_or_else(|| quality::ripple(share)));
    checks.push(running.unwrap_or_else(|| quality::engine_running(120.0 / length)));
    let samples_per_firing = inside.values.len() as f64 / (window.cycles * firings as f64);
    checks.push(quality::undersampled(samples_per_firing));
    Some((window, cycle))
}

/// The checks of a current or voltage channel.
fn analogue_checks(
    attempt: &Attempt,
    channel: &Analogue,
    window: &Window,
    cycle: &MeanCycle,
) -> Vec<Check> {
    let samples = attempt.samples();
    let inside = samples.between(window.start, window.end);
    let step = unsteady::converter_step(channel, inside);
    let swing = foot_to_top(cycle);
    let steady = samples.between(window.cuts[0], window.cuts[window.cuts.len() - 1]);
    // few cycles are looked for with the inrush among them
    let over = unsteady::inrush_over(channel, samples);
    let judged = if window.cycles < ENOUGH_CYCLES && over < window.end {
        samples.between(window.start.max(over), window.end)
    } else {
        inside
    };
    let mut checks = vec![unsteady::clipped(attempt.kind, channel, judged)];
    checks.extend(quality::converter_steps(swing, step));
    checks.push(quality::loose_connection(steady, samples, swing));
    checks
}

fn foot_to_top(cycle: &MeanCycle) -> f64 {
    let values: Vec<f64> = (0..100).map(|b| cycle.at(f64::from(b) / 100.0)).collect();
    let (least, most) = extremes(&values);
    most - least
}
