//! The captures in `sample-captures/` against the truth that the simulator wrote beside them. The truth is
//! the outside value: it comes from the simulator's pressures, of which the fit sees nothing.

use std::path::Path;

use evenfire::capture::{self, setup};
use evenfire::cranking::answer::{Analysis, Identified, VerdictKind};
use evenfire::simulate::practice::Truth;

/// How far a value may lie outside its 95 % interval, points: of four captures with two dozen cylinders one
/// interval misses by chance, a little.
const WIDENED: f64 = 2.0;

/// A simulated truth's 100 % is the mean of its cylinders over this share of the best.
const SOUND_SHARE: f64 = 0.93;

fn shipped(name: &str) -> (Analysis, Truth) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-captures");
    let text =
        |ending: &str| std::fs::read_to_string(folder.join(format!("{name}.{ending}"))).unwrap();
    let setup = setup::read(&text("setup.yaml"), name).unwrap();
    let table = capture::read(text("csv").as_bytes(), name, &setup).unwrap();
    let truth = serde_yaml::from_str(&text("truth.yaml")).unwrap();
    (evenfire::cranking::analyse(&table, &setup).analysis, truth)
}

#[test]
fn the_low_cylinders_are_found_and_no_other() {
    for (name, low) in [
        ("i4-sound", vec![]),
        ("v6-weak-neighbours", vec![2, 5]),
        ("v8-weak-cylinder-1", vec![3]),
        ("v8-weak-cylinder-2", vec![3]),
    ] {
        let (answer, truth) = shipped(name);
        let truly: Vec<usize> = truth
            .relative_compression_percent
            .iter()
            .filter(|(_, percent)| **percent < 85.0)
            .map(|(cylinder, _)| *cylinder)
            .collect();
        assert_eq!(answer.verdict.cylinders, truly, "{name}");
        assert_eq!(answer.identified, Some(Identified::Cylinder), "{name}");
        let kind = if low.is_empty() {
            VerdictKind::Even
        } else {
            VerdictKind::Low
        };
        assert_eq!(answer.verdict.kind, kind, "{name}: {}", answer.verdict.why);
        assert_eq!(answer.verdict.cylinders, low, "{name}");
    }
}

#[test]
fn the_truth_lies_in_the_interval_of_every_cylinder() {
    for name in [
        "i4-sound",
        "v6-weak-neighbours",
        "v8-weak-cylinder-1",
        "v8-weak-cylinder-2",
    ] {
        let (answer, truth) = shipped(name);
        let truth = truth.relative_compression_percent;
        let best = truth.values().copied().fold(0.0, f64::max);
        let rows = answer.cylinders.unwrap();
        let sound: Vec<_> = rows
            .iter()
            .filter(|row| truth[&row.cylinder] > SOUND_SHARE * best)
            .collect();
        let found: f64 = sound
            .iter()
            .map(|row| row.relative_compression_percent)
            .sum();
        let scale = sound.iter().map(|row| truth[&row.cylinder]).sum::<f64>() / found;
        for row in &rows {
            let range = scale * row.low - WIDENED..=scale * row.high + WIDENED;
            let is = truth[&row.cylinder];
            assert!(
                range.contains(&is),
                "{name}, cylinder {}: {is} not in {range:?}",
                row.cylinder
            );
        }
    }
}
