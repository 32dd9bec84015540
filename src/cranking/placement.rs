//! Where the cycle marks place the cylinders, which way load points where the record does not tell, and the
//! fit in every case that is open.

use super::answer::{CheckName, Identified, SignalKind};
use super::attempt::{Attempt, Found};
use super::cycles::MeanCycle;
use super::explain::{Circumstances, Corner, explain};
use super::marks::Marks;
use super::polarity::Direction;
use super::quality;
use super::window::Window;
use crate::capture::setup::Setup;
use crate::engine::CYCLE_DEG;

/// How near 360° a companion must stand for the two placements of a 360° event to be the same.
pub const COMPANION_TOLERANCE_DEG: f64 = 1.0;

/// By how much squared residuals must differ for one placement, or direction, to be preferred.
pub const CLEAR_MARGIN: f64 = 12.0;

/// Fit in every placement and direction that is open, and keep what the data prefer.
pub fn place(
    attempt: &mut Attempt,
    cycle: &MeanCycle,
    setup: &Setup,
    window: &Window,
    marks: &Marks,
    direction: Direction,
    coupling: Option<Corner>,
) {
    if setup.engine.cylinders() == 1 {
        attempt.checks.push(quality::yes_or_no(
            CheckName::NothingToCompare,
            false,
            "",
            "One cylinder has nothing to be compared with: measure its compression with a gauge.",
        ));
        return;
    }
    let hopeless = [CheckName::NoRipple, CheckName::EngineRunning];
    if attempt
        .checks
        .iter()
        .any(|check| !check.passed && hopeless.contains(&check.check))
    {
        return;
    }
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
                is_speed: attempt.kind == SignalKind::CrankSpeed,
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
    attempt
        .checks
        .push(quality::poor_fit(found.explained.fitted.cost / data as f64));
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
    let one = |event: f64, identified| Placements {
        events_deg: vec![event],
        is_event: true,
        identified,
        must_decide: false,
    };
    let Some((every_deg, event)) = marks.event else {
        return Placements {
            events_deg: distinct_places(engine.firing_intervals_deg(), &engine.firing_angles_deg()),
            is_event: false,
            identified: Identified::PositionOnly,
            must_decide: false,
        };
    };
    if every_deg == CYCLE_DEG {
        return one(event, Identified::Cylinder);
    }
    let cylinder = setup
        .channels
        .reference
        .as_ref()
        .map_or(1, |reference| reference.cylinder);
    if engine
        .companion(cylinder, COMPANION_TOLERANCE_DEG)
        .is_some()
    {
        return one(event, Identified::OneOfPair);
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
