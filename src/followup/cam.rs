//! Valve timing from a capture: the angle from the crank wheel's mark to an edge of the cam sensor, turn by
//! turn, beside the angle that belongs there. Finding teeth and edges is `cranking`'s business; here is the
//! arithmetic of the angle.

use std::collections::BTreeMap;

use crate::cranking::teeth::Speed;

/// Fewest cam edges that give an angle with an interval. Our own choice.
const FEWEST: usize = 4;

/// Where a cam wheel has several edges a cycle, only those this near to the expected angle are taken for
/// the one meant, degrees. A belt or chain that is a tooth or two out stays within. Our own choice.
const NEAR_DEG: f64 = 45.0;

/// Scatter from edge to edge from which the angle means nothing, standard deviation in degrees. A slack
/// chain scatters by a degree or two while cranking. Common practice, no source.
const MOST_SCATTER_DEG: f64 = 4.0;

/// Half-width of the 95 % interval of a mean in standard errors, for some ten edges (Student's t with 9
/// degrees of freedom is 2.262; NIST/SEMATECH e-Handbook 1.3.6.7.2, from memory).
const COVERAGE: f64 = 2.262;

/// Degrees of a turn of the crank.
const TURN_DEG: f64 = 360.0;

/// Crank angle of each event after the mark that precedes it, 0 to 360 degrees. Events before the first
/// mark, and those where no tooth was seen, are passed over.
#[must_use]
pub fn angles(speed: &Speed, events: &[f64]) -> Vec<f64> {
    let angle = |event: &f64| {
        let mark = speed.turns.iter().rev().find(|turn| **turn <= *event)?;
        turned(speed, *mark, *event)
    };
    let found = events.iter().filter_map(angle);
    found.map(|angle| angle.rem_euclid(TURN_DEG)).collect()
}

/// Degrees turned from a tooth's edge to a later time. Tooth periods are known by their middles, so each
/// ends as far behind its middle as it began before it.
fn turned(speed: &Speed, from: f64, to: f64) -> Option<f64> {
    let mut begin = from;
    let mut degrees = 0.0;
    let first = speed.time.partition_point(|middle| *middle <= from);
    for (middle, slowness) in speed.time[first..].iter().zip(&speed.slowness[first..]) {
        let end = 2.0 * middle - begin;
        if to <= end {
            return Some(degrees - slowness * (to - begin));
        }
        degrees -= slowness * (end - begin);
        begin = end;
        if degrees > 2.0 * TURN_DEG {
            return None;
        }
    }
    None
}

/// The angle, judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judged {
    /// Mean angle after the mark, degrees.
    pub angle: f64,
    /// By how much it stands after the expected one, degrees.
    pub difference: f64,
    /// Half-width of the difference's 95 % interval, degrees.
    pub half_width: f64,
    /// Scatter from edge to edge, degrees.
    pub scatter: f64,
    /// Edges.
    pub edges: usize,
}

/// What the angle says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Finding {
    /// The whole interval lies within the tolerance.
    Agrees,
    /// The whole interval lies outside it.
    Out,
    /// The tolerance's end lies inside the interval.
    Unsettled,
    /// Too few edges, or they scatter too much.
    Unreadable,
}

impl Finding {
    /// Its name, as procedures test it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Finding::Agrees => "agrees",
            Finding::Out => "out",
            Finding::Unsettled => "unsettled",
            Finding::Unreadable => "unreadable",
        }
    }
}

/// Mean of the angles beside the expected one; none where too few edges are near it.
#[must_use]
pub fn judge(angles: &[f64], expected: f64) -> Option<Judged> {
    let apart =
        |angle: &f64| (angle - expected + 1.5 * TURN_DEG).rem_euclid(TURN_DEG) - TURN_DEG / 2.0;
    let near: Vec<f64> = angles
        .iter()
        .map(apart)
        .filter(|apart| apart.abs() <= NEAR_DEG)
        .collect();
    if near.len() < FEWEST {
        return None;
    }
    let count = near.len() as f64;
    let mean = near.iter().sum::<f64>() / count;
    let squares: f64 = near.iter().map(|apart| (apart - mean).powi(2)).sum();
    let scatter = (squares / (count - 1.0)).sqrt();
    Some(Judged {
        angle: (expected + mean).rem_euclid(TURN_DEG),
        difference: mean,
        half_width: COVERAGE * scatter / count.sqrt(),
        scatter,
        edges: near.len(),
    })
}

/// Decide, the interval as guard band.
#[must_use]
pub fn decide(judged: Option<&Judged>, tolerance: f64) -> Finding {
    let Some(judged) = judged.filter(|judged| judged.scatter <= MOST_SCATTER_DEG) else {
        return Finding::Unreadable;
    };
    let size = judged.difference.abs();
    if size + judged.half_width <= tolerance {
        Finding::Agrees
    } else if size - judged.half_width > tolerance {
        Finding::Out
    } else {
        Finding::Unsettled
    }
}

/// The facts of computation "cam correlation".
#[must_use]
pub fn facts(angles: &[f64], expected: f64, tolerance: f64) -> BTreeMap<String, String> {
    let judged = judge(angles, expected);
    let finding = decide(judged.as_ref(), tolerance);
    let side = judged.map_or("", |judged| {
        if judged.difference > 0.0 {
            "late"
        } else {
            "early"
        }
    });
    let meaning = match (finding, judged) {
        (Finding::Agrees, _) => "Crank and cam stand to each other as they should.".to_owned(),
        (Finding::Out, _) => format!(
            "The cam comes {side}. Belt or chain a tooth out, stretched, or a tensioner, guide or phaser at fault."
        ),
        (Finding::Unsettled, _) => {
            "The difference is about as large as the tolerance; it cannot be said on which side of it.".to_owned()
        }
        (Finding::Unreadable, None) => format!(
            "Only {} cam edges were found, and too few near the expected angle. Look at both channels, the set-up's wheel and edge, and the expected angle.",
            angles.len()
        ),
        (Finding::Unreadable, Some(judged)) => format!(
            "The angle scatters by {:.1}° from edge to edge: a loose lead, a slack chain, or the wrong edge.",
            judged.scatter
        ),
    };
    let told = |text: fn(&Judged) -> String| judged.as_ref().map_or_else(|| "–".to_owned(), text);
    [
        ("finding", finding.name().to_owned()),
        (
            "angle",
            told(|j| format!("{:.1}° after the mark, {} edges", j.angle, j.edges)),
        ),
        (
            "difference",
            // + 0.0 makes of a rounded −0.0 a 0.0
            told(|j| {
                let tenths = (j.difference * 10.0).round() / 10.0 + 0.0;
                format!("{tenths:+.1}° ± {:.1}°", j.half_width)
            }),
        ),
        ("meaning", meaning),
    ]
    .map(|(name, value)| (name.to_owned(), value))
    .into()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A 60-2 wheel whose speed swings by 20 % within each turn: edges of its teeth computed from the
    /// angle, the cam's edges from the same angle.
    fn swinging(cam_at: f64) -> (Speed, Vec<f64>) {
        // time as a function of angle: t = (θ + 8·sin(θ/90°·…))/1000, monotone
        let time = |degrees: f64| {
            (degrees + 8.0 * (degrees / 90.0 * std::f64::consts::TAU / 2.0).sin()) / 1000.0
        };
        let mut edges: Vec<f64> = Vec::new();
        let mut steps: Vec<f64> = Vec::new();
        let mut speed = Speed::default();
        for turn in 0..12 {
            for tooth in 0..58 {
                edges.push(time(f64::from(turn) * 360.0 + f64::from(tooth) * 6.0));
                steps.push(if tooth == 57 { 18.0 } else { 6.0 });
            }
            speed.turns.push(time(f64::from(turn) * 360.0 + 57.0 * 6.0));
        }
        for (pair, degrees) in edges.windows(2).zip(&steps) {
            speed.time.push(0.5 * (pair[0] + pair[1]));
            speed.slowness.push(-degrees / (pair[1] - pair[0]));
        }
        let events = (0..6).map(|cycle| time(f64::from(cycle) * 720.0 + 57.0 * 6.0 + cam_at));
        (speed, events.collect())
    }

    /// The events were put at known angles of a wheel that turns unevenly; time alone would be degrees off.
    #[test]
    fn angles_follow_the_teeth_and_not_the_time() {
        for cam_at in [9.0, 75.0, 181.0, 300.0] {
            let (speed, events) = swinging(cam_at);
            let found = angles(&speed, &events);
            assert_eq!(found.len(), 6);
            for angle in found {
                assert!((angle - cam_at).abs() < 0.4, "{cam_at}: {angle}");
            }
        }
    }

    #[test]
    fn the_interval_is_the_guard_band_and_the_circle_is_closed() {
        let around = |middle: f64| -> Vec<f64> {
            [-0.4, 0.1, 0.3, 0.0, -0.2, 0.2]
                .iter()
                .map(|off| (middle + off).rem_euclid(360.0))
                .collect()
        };
        let finding = |middle, expected| decide(judge(&around(middle), expected).as_ref(), 5.0);
        assert_eq!(finding(80.0, 78.0), Finding::Agrees);
        assert_eq!(finding(96.0, 78.0), Finding::Out);
        assert_eq!(finding(83.0, 78.0), Finding::Unsettled);
        assert_eq!(finding(1.0, 359.0), Finding::Agrees);
        assert_eq!(finding(359.0, 9.0), Finding::Out);
        assert_eq!(finding(200.0, 78.0), Finding::Unreadable);
        let wild = [60.0, 75.0, 90.0, 85.0];
        assert_eq!(
            decide(judge(&wild, 78.0).as_ref(), 5.0),
            Finding::Unreadable
        );
        assert_eq!(judge(&around(1.0), 359.0).unwrap().difference.round(), 2.0);
    }
}
