//! Where the cycle marks place the cylinders, which way load points where the record does not tell, and the
//! fit in every case that is open.
//! Thresholds that name no source are our own choice, set on simulated captures, sound and unfit.

use super::explain::{Circumstances, Corner, explain};
use super::polarity::Direction;
use crate::capture::setup::Setup;
use crate::cranking::answer::{CheckName, Identified, SignalKind};
use crate::cranking::attempt::{Attempt, Found};
use crate::cranking::judging::quality;
use crate::cranking::slicing::cycles::MeanCycle;
use crate::cranking::slicing::marks::Marks;
use crate::cranking::slicing::window::Window;
use crate::engine::{COMPANION_TOLERANCE_DEG, CYCLE_DEG};

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
    if is_hopeless(attempt) {
        return;
    }
    let placements = placements(setup, marks);
    let known = Circumstances {
        engine: &setup.engine,
        event: None,
        guess_deg: 0.0,
        level: direction.level,
        coupling,
        is_speed: attempt.kind == SignalKind::CrankSpeed,
    };
    let ways = every_way(&placements, &direction, cycle, window, &known);
    let Some(best) = ways.first() else {
        return;
    };
    let cost = best.found.explained.fitted.cost;
    let rival = |differs: &dyn Fn(&Way) -> bool| {
        ways.iter()
            .filter(|way| differs(way))
            .map(|way| way.found.explained.fitted.cost - cost)
            .fold(f64::INFINITY, f64::min)
    };
    let mut found = best.found.clone();
    if direction.sign.is_none() {
        let margin = rival(&|way| way.found.sign != best.found.sign);
        attempt.checks.push(quality::yes_or_no(
            CheckName::PolarityUnknown,
            margin > CLEAR_MARGIN,
            "",
            "Say in the set-up which way load points (polarity), or capture from before the crank on, so that the first surge (inrush) is in view.",
        ));
    }
    if placements.must_decide {
        let margin = rival(&|way| way.placement != best.placement);
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

/// Whether there is nothing to be fitted.
fn is_hopeless(attempt: &Attempt) -> bool {
    let hopeless = [CheckName::NoRipple, CheckName::EngineRunning];
    attempt
        .checks
        .iter()
        .any(|check| !check.passed && hopeless.contains(&check.check))
}

/// One placement and direction, fitted.
struct Way {
    placement: usize,
    found: Found,
}

/// Every placement in every direction that is open, the one that explains the cycle best first. `known` is
/// what holds for all of them.
fn every_way(
    placements: &Placements,
    direction: &Direction,
    cycle: &MeanCycle,
    window: &Window,
    known: &Circumstances<'_>,
) -> Vec<Way> {
    let signs = direction.sign.map_or(vec![1.0, -1.0], |sign| vec![sign]);
    let mut ways = Vec::new();
    for sign in signs {
        let turned = turned(cycle, sign);
        for (placement, event_deg) in placements.events_deg.iter().enumerate() {
            let known = Circumstances {
                event: placements
                    .is_event
                    .then_some(((1.0 - window.phase).rem_euclid(1.0), *event_deg)),
                guess_deg: *event_deg,
                ..*known
            };
            let found = Found {
                explained: explain(&turned, &known),
                identified: placements.identified,
                sign,
                level: direction.level.map(|(level, _)| level),
                cycle: turned.clone(),
            };
            ways.push(Way { placement, found });
        }
    }
    ways.sort_by(|a, b| {
        let cost = |way: &Way| way.found.explained.fitted.cost;
        cost(a).total_cmp(&cost(b))
    });
    ways
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
