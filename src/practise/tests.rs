//! Exercises are drawn as their difficulty says, and the same again.

use super::{Difficulty, Exercise};

fn exercise(seed: u64, difficulty: Difficulty) -> Exercise {
    Exercise {
        seed,
        difficulty,
        signal: None,
        firing_order: Some(vec![1, 3, 4, 2]),
        weak: None,
    }
}

#[test]
fn the_same_exercise_is_the_same_engine_again() {
    let exercise = exercise(7, Difficulty::Easy);
    let (first, second) = (exercise.capture(0).unwrap(), exercise.capture(1).unwrap());
    assert_eq!(first.csv(), exercise.capture(0).unwrap().csv());
    assert_ne!(first.csv(), second.csv());
    for (cylinder, leak) in &first.truth.leak_mm2 {
        assert!((leak - second.truth.leak_mm2[cylinder]).abs() < 1e-9);
    }
    let text = serde_json::to_string(&exercise).unwrap();
    assert_eq!(serde_json::from_str::<Exercise>(&text).unwrap(), exercise);
}

/// An easy one has one cylinder far down; what is told beforehand says nothing of it.
#[test]
fn easy_ones_have_one_weak_cylinder() {
    for seed in 1..6 {
        let exercise = exercise(seed, Difficulty::Easy);
        let made = exercise.capture(0).unwrap();
        let percents = made.truth.relative_compression_percent.values();
        let weak: Vec<f64> = percents
            .copied()
            .filter(|percent| *percent < 85.0)
            .collect();
        assert_eq!(weak.len(), 1, "{weak:?}");
        assert!(weak[0] < 70.0, "{weak:?}");
        let told = exercise.vehicle(&made);
        assert!(told.contains("4 cylinders, firing order 1-3-4-2"), "{told}");
        assert!(!told.contains('%') && !told.contains("weak") && !told.contains("leak"));
    }
}

/// The gauge of the weak cylinder reads lower than all others.
#[test]
fn the_gauge_shows_the_leak() {
    let mut exercise = exercise(3, Difficulty::Easy);
    exercise.weak = Some([(3, 50.0)].into());
    let made = exercise.capture(0).unwrap();
    let text = exercise.gauges(&made);
    let reading = |cylinder: usize| -> f64 {
        let line = text
            .lines()
            .find(|line| line.starts_with(&format!("cylinder {cylinder}:")));
        let words: Vec<&str> = line.unwrap().split_whitespace().collect();
        words[3].parse().unwrap()
    };
    assert!(
        [1, 2, 4]
            .iter()
            .all(|other| reading(*other) > reading(3) + 5.0),
        "{text}"
    );
    exercise.weak = Some([(9, 50.0)].into());
    assert_eq!(
        exercise.capture(0).unwrap_err(),
        "the engine has no cylinder 9"
    );
}
