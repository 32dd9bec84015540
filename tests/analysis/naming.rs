//! How far cylinders can be named: by a reference once per cycle, once per turn, or not at all.

use evenfire::capture::setup::Setup;
use evenfire::cranking::answer::{Analysis, CheckName, Identified, VerdictKind};
use evenfire::engine::Engine;
use evenfire::simulate::draw::Wish;
use evenfire::simulate::plan::ReferenceShape;
use evenfire::simulate::practice::{Practice, practice};

use super::fixture::{failed, remade, wish};

fn analyse(made: &Practice, setup: &Setup) -> Analysis {
    evenfire::cranking::analyse(&made.capture(), setup).analysis
}

#[test]
fn without_a_reference_only_positions_are_known() {
    let made = practice(11, &wish(&[(2, 60.0)])).unwrap();
    let mut setup = made.setup();
    setup.channels.reference = None;
    let answer = analyse(&made, &setup);
    assert_eq!(answer.identified, Some(Identified::PositionOnly));
    assert_eq!(answer.cylinders, None);
    let written = serde_json::to_value(&answer).unwrap();
    assert!(written.get("cylinders").is_none(), "absent, not null");
    let positions: Vec<usize> = answer
        .positions
        .unwrap()
        .iter()
        .map(|row| row.position)
        .collect();
    assert_eq!(positions, [1, 2, 3, 4]);
    assert_eq!(answer.verdict.kind, VerdictKind::Low);
    assert!(answer.verdict.cylinders.is_empty());
    assert_eq!(answer.verdict.positions.unwrap().len(), 1);
}

/// Two adjacent weak places stay adjacent in firing sequence, wherever position 1 is.
#[test]
fn positions_stand_in_firing_sequence() {
    let made = practice(13, &wish(&[(1, 62.0), (2, 50.0)])).unwrap();
    let mut setup = made.setup();
    setup.channels.reference = None;
    let rows = analyse(&made, &setup).positions.unwrap();
    let value = |index: usize| rows[index % 4].relative_compression_percent;
    let weakest = (0..4)
        .min_by(|a, b| value(*a).total_cmp(&value(*b)))
        .unwrap();
    let next = (1..4)
        .min_by(|a, b| value(weakest + a).total_cmp(&value(weakest + b)))
        .unwrap();
    assert_eq!(
        next, 3,
        "the second weakest fires just before the weakest: {rows:?}"
    );
}

fn once_per_turn(seed: u64, wish: &Wish) -> Practice {
    remade(seed, wish, |plan| {
        let reference = plan.recording.reference.as_mut().unwrap();
        reference.every_deg = 360.0;
        reference.shape = ReferenceShape::TriggerRising;
    })
}

#[test]
fn a_reference_once_per_turn_leaves_the_companion_open() {
    let mut seen = Vec::new();
    for seed in 11..15 {
        let made = once_per_turn(seed, &wish(&[(2, 60.0)]));
        let answer = analyse(&made, &made.setup());
        assert_eq!(
            answer.identified,
            Some(Identified::OneOfPair),
            "seed {seed}"
        );
        let rows = answer.cylinders.as_ref().unwrap();
        let pairs: Vec<_> = rows
            .iter()
            .map(|row| (row.cylinder, row.companion))
            .collect();
        let four = [(1, Some(4)), (2, Some(3)), (3, Some(2)), (4, Some(1))];
        assert_eq!(pairs, four, "seed {seed}");
        assert_eq!(answer.verdict.kind, VerdictKind::Low, "seed {seed}");
        assert_eq!(
            answer.verdict.cylinders,
            [1, 4],
            "low one and its companion"
        );
        assert!(
            answer.verdict.why.contains("companion"),
            "{}",
            answer.verdict.why
        );
        let rows = answer.cylinders.unwrap();
        let weak = rows
            .iter()
            .filter(|row| row.relative_compression_percent < 85.0);
        seen.extend(weak.map(|row| row.cylinder));
    }
    assert!(
        seen.iter().all(|cylinder| [1, 4].contains(cylinder)),
        "{seen:?}"
    );
}

/// Where no firing stands 360° away the data decide between the placements, or nobody does.
#[test]
fn an_uneven_companion_is_decided_by_the_data_or_not_at_all() {
    for (order, seeds) in [(&[1usize, 3, 2][..], 21..24u64), (&[1, 2, 4, 5, 3], 31..33)] {
        for seed in seeds {
            let engine = Engine::new(order.len(), order, None, None).unwrap();
            let wish = Wish {
                engine: Some(engine),
                ..wish(&[(1, 60.0)])
            };
            let made = once_per_turn(seed, &wish);
            let answer = analyse(&made, &made.setup());
            let undecided = failed(&answer.quality).contains(&CheckName::PlacementUndecided);
            if undecided {
                assert_eq!(
                    answer.verdict.kind,
                    VerdictKind::Inconclusive,
                    "seed {seed}"
                );
            } else {
                assert_eq!(answer.identified, Some(Identified::Cylinder), "seed {seed}");
                if answer.verdict.kind == VerdictKind::Low {
                    assert_eq!(answer.verdict.cylinders, [order[1]], "seed {seed}");
                }
            }
        }
    }
}

/// One pulse per cycle of two cylinders, one of them a hole, repeats as the pulses of two alike do at half the speed.
/// Without a reference (first seeds), or with one whose events were caught now and then only (last), the fit decides.
#[test]
fn two_alike_are_not_one_hole_at_twice_the_speed() {
    let mut wish = Wish::anything();
    wish.engine = Some(Engine::new(2, &[1, 2], None, None).unwrap());
    for seed in [501_054, 502_305, 501_101, 503_108, 503_634] {
        let made = practice(seed, &wish).unwrap();
        let answer = analyse(&made, &made.setup());
        let found = answer.cranking.unwrap().mean_rpm;
        let ratio = found / made.truth.mean_rpm;
        assert!((ratio - 1.0).abs() < 0.03, "{seed}: {found} rpm, {ratio}");
    }
}
