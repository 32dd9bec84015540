use super::*;

const ANALOGUE: Keep = Keep::Nearest { end: f64::INFINITY };

/// A record of `rows` at `rate`, pushed in pieces of uneven length.
fn gathered(rows: usize, rate: f64, keep: Keep, value: impl Fn(f64) -> f64) -> Gathered {
    let time: Vec<f64> = (0..rows).map(|row| row as f64 / rate).collect();
    let values: Vec<f64> = time.iter().map(|t| value(*t)).collect();
    let mut gather = Gather::new(vec![keep], 1.0);
    let (mut from, mut length) = (0, 1000);
    while from < rows {
        let to = rows.min(from + length);
        let piece = &values[from..to];
        gather
            .push(&time[from..to], &[piece], &[Span::of(piece)])
            .unwrap();
        (from, length) = (to, length % 50_000 + 7919);
    }
    gather.finish()
}

#[test]
fn short_captures_stay_as_they_are() {
    let found = gathered(131_072, 1e6, ANALOGUE, f64::sin);
    assert_eq!(
        (found.every, found.time.len(), found.rows),
        (1, 131_072, 131_072)
    );
    // slow ones too, however long
    let found = gathered(900_000, 5000.0, ANALOGUE, f64::sin);
    assert_eq!((found.every, found.time.len()), (1, 900_000));
}

#[test]
fn fast_captures_are_thinned_to_ten_thousand_rows_a_second() {
    let wave = |t: f64| 2.0 * (std::f64::consts::TAU * 20.0 * t).sin();
    let found = gathered(2_000_003, 250_000.0, ANALOGUE, wave);
    assert_eq!((found.every, found.rows), (25, 2_000_003));
    assert_eq!(found.time.len(), 80_001);
    for (time, value) in found.time.iter().zip(&found.columns[0]) {
        // nearest to the mean of 0.1 ms: no further off than the wave runs in a sample
        assert!((value - wave(*time)).abs() < 1.1e-3, "{time}");
    }
    assert!(found.time.is_sorted());
}

#[test]
fn steps_of_the_converter_stay() {
    let step = 0.078;
    let coarse = |t: f64| ((t * 7.0).sin() / step).round() * step;
    let found = gathered(1_000_000, 250_000.0, ANALOGUE, coarse);
    assert!(found.every > 1);
    for value in &found.columns[0] {
        let steps = value / step;
        assert!((steps - steps.round()).abs() < 1e-9, "{value}");
    }
}

#[test]
fn samples_at_the_end_of_the_range_and_marks_are_never_lost() {
    // one in a hundred thousand
    let spike = |t: f64| {
        if (t * 250_000.0).round() as u64 % 100_000 == 77 {
            5.0
        } else {
            1.0
        }
    };
    let found = gathered(1_000_000, 250_000.0, Keep::Nearest { end: 4.9 }, spike);
    let kept = |found: &Gathered| found.columns[0].iter().filter(|v| **v == 5.0).count();
    assert_eq!((found.every, kept(&found)), (25, 10));
    let marked = |t: f64| {
        if spike(t) == 5.0 {
            f64::NEG_INFINITY
        } else {
            1.0
        }
    };
    let found = gathered(1_000_000, 250_000.0, ANALOGUE, marked);
    let marks = found.columns[0].iter().filter(|v| !v.is_finite()).count();
    assert_eq!((marks, found.spans[0].marks), (10, 10));
    // and a reference's spark of one sample stays as high as it was
    assert_eq!(
        kept(&gathered(1_000_000, 250_000.0, Keep::Farthest, spike)),
        10
    );
}

#[test]
fn hours_are_thinned_further_and_days_refused() {
    let found = gathered(5_000_000, 10_000.0, ANALOGUE, |_| 1.0);
    assert_eq!(found.rows, 5_000_000);
    assert!(found.time.len() < 1 << 22, "{}", found.time.len());
    let mut gather = Gather::new(vec![ANALOGUE], 1.0);
    let piece = vec![1.0; 1 << 20];
    let ends = (0..5).map(|part| {
        let time: Vec<f64> = (0..1 << 20)
            .map(|row| f64::from((part << 20) + row))
            .collect();
        gather.push(&time, &[&piece], &[Span::of(&piece)])
    });
    assert_eq!(ends.collect::<Vec<_>>().last(), Some(&Err(TooMany)));
}

#[test]
fn edges_of_teeth_stay_where_they_are() {
    let square = |t: f64| if (t * 200.0).fract() < 0.5 { 5.0 } else { 0.0 };
    let found = gathered(1_000_000, 500_000.0, Keep::Mean, square);
    assert_eq!(found.every, 25);
    let values = &found.columns[0];
    let edges: Vec<f64> = (1..values.len())
        .filter(|i| values[i - 1] > 2.5 && values[*i] <= 2.5)
        .map(|i| {
            let share = (values[i - 1] - 2.5) / (values[i - 1] - values[i]);
            found.time[i - 1] + share * (found.time[i] - found.time[i - 1])
        })
        .collect();
    assert_eq!(edges.len(), 400);
    for pair in edges.windows(2) {
        assert!((pair[1] - pair[0] - 0.005).abs() < 5e-6, "{pair:?}");
    }
}
