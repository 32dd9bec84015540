use super::*;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

const SWING: f64 = 0.18; // least swing of a V8 at the posts, V

struct Line {
    time: Vec<f64>,
    values: Vec<f64>,
}

fn line(seed: u64, noise: f64) -> Line {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let time: Vec<f64> = (0..4000).map(|at| f64::from(at) / 1000.0).collect();
    let values = time
        .iter()
        .map(|_| {
            // twelve uniforms: near enough to normal
            let sum: f64 = (0..12).map(|_| random.random::<f64>()).sum();
            let value = noise * (sum - 6.0);
            (value / 0.001).round() * 0.001 // ±2 V at 12 bits
        })
        .collect();
    Line { time, values }
}

impl Line {
    fn add(mut self, what: impl Fn(f64) -> f64) -> Self {
        for (t, value) in self.time.iter().zip(&mut self.values) {
            *value += what(*t);
        }
        self
    }
    fn judged(&self) -> Quiet {
        let samples = Samples {
            time: &self.time,
            values: &self.values,
        };
        judge(samples, SWING, Belongs::AtZero)
    }
}

/// How many of a hundred baselines come out so.
fn rate(finding: Finding, make: impl Fn(u64) -> Line) -> usize {
    (0..100)
        .filter(|seed| make(*seed).judged().finding == finding)
        .count()
}

#[test]
fn quiet_lines_pass() {
    assert_eq!(rate(Finding::Quiet, |seed| line(seed, 0.002)), 100);
    assert_eq!(rate(Finding::Quiet, |seed| line(seed, 0.008)), 100);
}

#[test]
fn each_fault_is_found_and_named() {
    let hum = |hertz: f64| move |t: f64| 0.012 * (TAU * hertz * t + 1.0).sin();
    assert_eq!(
        rate(Finding::Hum, |seed| line(seed, 0.003).add(hum(50.0))),
        100
    );
    assert_eq!(
        rate(Finding::Hum, |seed| line(seed, 0.003).add(hum(60.0))),
        100
    );
    assert_eq!(rate(Finding::Noise, |seed| line(seed, 0.015)), 100);
    let step = |t: f64| if t > 2.5 { 0.08 } else { 0.0 };
    assert_eq!(
        rate(Finding::Steps, |seed| line(seed, 0.003).add(step)),
        100
    );
    let dropout = |t: f64| if (1.0..1.06).contains(&t) { -0.5 } else { 0.0 };
    assert_eq!(
        rate(Finding::Dropouts, |seed| line(seed, 0.003).add(dropout)),
        100
    );
    assert_eq!(
        rate(Finding::Offset, |seed| line(seed, 0.003).add(|_| 0.06)),
        100
    );
}

#[test]
fn neither_a_lamp_nor_a_loose_lead_is_a_crank() {
    let lamp = line(1, 0.003).add(|t| if t > 2.5 { -0.9 } else { 0.0 });
    let loose = line(1, 0.003).add(|t| if (1.0..1.06).contains(&t) { -12.0 } else { 0.0 });
    assert!(!lamp.judged().turns && !loose.judged().turns);
}

#[test]
fn the_mains_are_told_apart() {
    for hertz in [50.0, 60.0] {
        let quiet = line(1, 0.003)
            .add(|t| 0.02 * (TAU * hertz * t).cos())
            .judged();
        assert_eq!(quiet.hum.1, hertz);
        assert!((quiet.hum.0 - 0.04).abs() < 0.002, "{:?}", quiet.hum);
    }
}

#[test]
fn a_hole_in_time_is_a_dropout_and_a_second_is_too_short() {
    let mut holed = line(1, 0.003);
    for time in &mut holed.time[2000..] {
        *time += 0.1;
    }
    assert_eq!(holed.judged().finding, Finding::Dropouts);
    let short = line(1, 0.003);
    let samples = Samples {
        time: &short.time[..1000],
        values: &short.values[..1000],
    };
    assert_eq!(
        judge(samples, SWING, Belongs::AtZero).finding,
        Finding::Short
    );
    let none = Samples {
        time: &[],
        values: &[],
    };
    assert_eq!(judge(none, SWING, Belongs::AtZero).finding, Finding::Short);
}

#[test]
fn a_battery_belongs_where_batteries_lie() {
    let battery = line(1, 0.003).add(|_| 12.6);
    let samples = Samples {
        time: &battery.time,
        values: &battery.values,
    };
    assert_eq!(
        judge(samples, SWING, Belongs::Between(11.5, 13.2)).finding,
        Finding::Quiet
    );
    let tenth = line(1, 0.0003).add(|_| 1.26);
    let samples = Samples {
        time: &tenth.time,
        values: &tenth.values,
    };
    assert_eq!(
        judge(samples, SWING, Belongs::Between(11.5, 13.2)).finding,
        Finding::Offset
    );
}
