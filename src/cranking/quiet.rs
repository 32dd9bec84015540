//! A few seconds of a channel before anything turns: is it connected, and is it quiet? Judged before the
//! crank, because a starter's duty is too dear to be spent on a loose lead. The crank itself is judged in
//! `quality`.

use std::f64::consts::TAU;

use super::slicing::cycles::Samples;
use super::slicing::window::median;

/// Limits: our own choice, set on simulated baselines (see the tests), where a quiet line passes and each
/// fault of the sizes given there is found.
mod limit {
    /// Least seconds, and least samples.
    pub const SECONDS: f64 = 2.0;
    pub const SAMPLES: usize = 200;
    /// Hum from foot to top, share of the least swing that is expected.
    pub const HUM: f64 = 0.10;
    /// Four standard deviations of the noise, share of that swing.
    pub const NOISE: f64 = 0.25;
    /// How far the line may lie from where it belongs, share of that swing.
    pub const OFFSET: f64 = 0.25;
    /// A level that is left by more: in standard deviations of the noise, and as share of that swing.
    pub const LEFT_SIGMAS: f64 = 6.0;
    pub const LEFT_SHARE: f64 = 0.30;
    /// Longest time away from the level that is a dropout and not a step, seconds.
    pub const DROPOUT_S: f64 = 0.3;
    /// A time step that is longer than the usual one by this factor is a hole.
    pub const HOLE: f64 = 5.0;
    /// Of a crank: how far the line goes at least, in least swings, and how often it turns about by more than a share of
    /// one.
    pub const CRANK_SPAN: f64 = 4.0;
    pub const CRANK_TURNS: usize = 8;
    pub const CRANK_SHARE: f64 = 0.3;
}

/// Length of a block whose median is its level, seconds, and of one that holds whole turns of both mains;
/// least samples in it.
const BLOCK_S: f64 = 0.02;
const MAINS_S: f64 = 0.1;
const BLOCK_LEAST: usize = 5;

/// Median absolute deviation to standard deviation, normal distribution.
const SIGMAS_PER_MAD: f64 = 1.4826;

/// Where a quiet line lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Belongs {
    /// At nothing: a zeroed clamp, an AC-coupled voltage.
    AtZero,
    /// Between these: a battery at rest.
    Between(f64, f64),
}

/// What is wrong with a baseline, worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Finding {
    /// Too short to be judged.
    Short,
    /// The line goes and comes back.
    Dropouts,
    /// The level changes and stays.
    Steps,
    /// Mains hum.
    Hum,
    /// Noise.
    Noise,
    /// It lies where it does not belong.
    Offset,
    /// Nothing.
    Quiet,
}

/// A baseline judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Quiet {
    /// The worst of what is wrong.
    pub finding: Finding,
    /// Median of the line.
    pub level: f64,
    /// Standard deviation of the noise.
    pub noise: f64,
    /// Greatest hum from foot to top, and its frequency, 50 or 60 Hz.
    pub hum: (f64, f64),
    /// Levels left and come back to.
    pub dropouts: usize,
    /// Levels left for good.
    pub steps: usize,
    /// Whether it looks as if the starter turned.
    pub turns: bool,
}

/// Judge a baseline; `swing` is the least swing that cranking lets expect in this channel.
#[must_use]
pub fn judge(samples: Samples<'_>, swing: f64, belongs: Belongs) -> Quiet {
    let values: Vec<f64> = samples
        .values
        .iter()
        .copied()
        .filter(|v| v.is_finite())
        .collect();
    let level = median(values.iter().copied());
    let mut quiet = Quiet {
        finding: Finding::Short,
        level,
        noise: 0.0,
        hum: (0.0, 50.0),
        dropouts: 0,
        steps: 0,
        turns: false,
    };
    let (Some(first), Some(last)) = (samples.time.first(), samples.time.last()) else {
        return quiet;
    };
    if last - first < limit::SECONDS || values.len() < limit::SAMPLES {
        return quiet;
    }
    let blocks = Blocks::of(samples, BLOCK_S);
    let within = Blocks::of(samples, MAINS_S).within(samples);
    quiet.hum = hum(samples.time, &within);
    let noise: Vec<f64> = without(samples.time, &within, quiet.hum.1);
    quiet.noise = SIGMAS_PER_MAD * median(noise.iter().map(|v| v.abs()));
    (quiet.dropouts, quiet.steps) = blocks.left(level, quiet.noise, swing);
    quiet.turns = blocks.turns(swing);
    quiet.dropouts += holes(samples.time) + samples.values.len() - values.len();
    let offset = match belongs {
        Belongs::AtZero => level.abs() > limit::OFFSET * swing,
        Belongs::Between(least, greatest) => !(least..=greatest).contains(&level),
    };
    quiet.finding = [
        (quiet.dropouts > 0, Finding::Dropouts),
        (quiet.steps > 0, Finding::Steps),
        (quiet.hum.0 > limit::HUM * swing, Finding::Hum),
        (4.0 * quiet.noise > limit::NOISE * swing, Finding::Noise),
        (offset, Finding::Offset),
    ]
    .into_iter()
    .find_map(|(is, finding)| is.then_some(finding))
    .unwrap_or(Finding::Quiet);
    quiet
}

/// Levels of short stretches.
struct Blocks {
    length: usize,
    levels: Vec<f64>,
    seconds: f64,
}

impl Blocks {
    fn of(samples: Samples<'_>, block_s: f64) -> Self {
        let count = samples.time.len();
        let seconds = (samples.time[count - 1] - samples.time[0]) / (count - 1) as f64;
        let length = ((block_s / seconds).round() as usize).max(BLOCK_LEAST);
        let finite = |chunk: &[f64]| median(chunk.iter().copied().filter(|v| v.is_finite()));
        Blocks {
            levels: samples.values.chunks(length).map(finite).collect(),
            seconds: seconds * length as f64,
            length,
        }
    }

    /// Values less the level of their block: steps and drift gone, hum and noise kept.
    fn within(&self, samples: Samples<'_>) -> Vec<f64> {
        let chunks = samples.values.chunks(self.length).zip(&self.levels);
        chunks
            .flat_map(|(chunk, level)| chunk.iter().map(move |value| value - level))
            .map(|value| if value.is_finite() { value } else { 0.0 })
            .collect()
    }

    /// How often the level is left and come back to, and left for good.
    fn left(&self, level: f64, noise: f64, swing: f64) -> (usize, usize) {
        let threshold = (limit::LEFT_SIGMAS * noise).max(limit::LEFT_SHARE * swing);
        let longest = (limit::DROPOUT_S / self.seconds).ceil() as usize;
        let (mut dropouts, mut steps, mut run) = (0, 0, 0);
        let ended = |run: usize, dropouts: &mut usize, steps: &mut usize| match run {
            0 => {}
            _ if run <= longest => *dropouts += 1,
            _ => *steps += 1,
        };
        for block in &self.levels {
            if (block - level).abs() > threshold {
                run += 1;
            } else {
                ended(run, &mut dropouts, &mut steps);
                run = 0;
            }
        }
        ended(run, &mut dropouts, &mut steps);
        (dropouts, steps)
    }
}

impl Blocks {
    /// Whether the line goes far and up and down on its way, as a crank's load does and no lamp or fan.
    fn turns(&self, swing: f64) -> bool {
        let levels = || self.levels.iter().copied();
        let span =
            levels().fold(f64::NEG_INFINITY, f64::max) - levels().fold(f64::INFINITY, f64::min);
        let (mut about, mut rising, mut turn) = (0, true, self.levels[0]);
        for level in levels() {
            let is_on = if rising { level >= turn } else { level <= turn };
            if is_on {
                turn = level;
            } else if (level - turn).abs() > limit::CRANK_SHARE * swing {
                (about, rising, turn) = (about + 1, !rising, level);
            }
        }
        span > limit::CRANK_SPAN * swing && about >= limit::CRANK_TURNS
    }
}

/// Holes in time.
fn holes(time: &[f64]) -> usize {
    let gaps = || time.windows(2).map(|pair| pair[1] - pair[0]);
    let usual = median(gaps());
    gaps().filter(|gap| *gap > limit::HOLE * usual).count()
}

/// Cosine and sine part of a frequency.
fn parts(time: &[f64], values: &[f64], hertz: f64) -> (f64, f64) {
    let (mut cos, mut sin) = (0.0, 0.0);
    for (t, value) in time.iter().zip(values) {
        let (s, c) = (TAU * hertz * t).sin_cos();
        cos += value * c;
        sin += value * s;
    }
    let each = 2.0 / values.len().max(1) as f64;
    (each * cos, each * sin)
}

/// Hum of the mains that is stronger, from foot to top with its first overtone, and its frequency. The two
/// are 10 Hz apart, which two seconds tell well.
fn hum(time: &[f64], values: &[f64]) -> (f64, f64) {
    let size = |hertz: f64| {
        let size = |hertz| {
            let (cos, sin) = parts(time, values, hertz);
            cos.hypot(sin)
        };
        2.0 * size(hertz).hypot(size(2.0 * hertz))
    };
    let (fifty, sixty) = (size(50.0), size(60.0));
    if sixty > fifty {
        (sixty, 60.0)
    } else {
        (fifty, 50.0)
    }
}

/// The values without that hum and its first overtone.
fn without(time: &[f64], values: &[f64], hertz: f64) -> Vec<f64> {
    let mut left = values.to_vec();
    for hertz in [hertz, 2.0 * hertz] {
        let (cos, sin) = parts(time, values, hertz);
        for (t, value) in time.iter().zip(&mut left) {
            let (s, c) = (TAU * hertz * t).sin_cos();
            *value -= cos * c + sin * s;
        }
    }
    left
}

impl Quiet {
    /// What to do, in the words of the shop.
    #[must_use]
    pub fn advice(&self) -> &'static str {
        match self.turns {
            true => "The starter turns in this file. Save the line with nothing turning.",
            false => self.finding.advice(),
        }
    }
}

impl Finding {
    /// In a word, as a fact.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Finding::Short => "short",
            Finding::Dropouts => "dropouts",
            Finding::Steps => "steps",
            Finding::Hum => "hum",
            Finding::Noise => "noise",
            Finding::Offset => "offset",
            Finding::Quiet => "quiet",
        }
    }

    /// What to do, in the words of the shop.
    #[must_use]
    pub fn advice(self) -> &'static str {
        match self {
            Finding::Short => {
                "Save at least two seconds of the line, at the sample rate of the crank."
            }
            Finding::Dropouts => {
                "The lead lets go. In this order: take it off, look for a break in it, clean the contact, clip it tight, tug again."
            }
            Finding::Steps => {
                "Something was switched or moved: switch fans, lamps and chargers off, leave the leads alone, and save the line again."
            }
            Finding::Hum => {
                "Mains hum: run scope and laptop on battery, take the charger off, keep leads away from lamps and mains cables."
            }
            Finding::Noise => {
                "The line is noisy: a smaller range, a better ground at the same single point, leads away from ignition and phones."
            }
            Finding::Offset => {
                "The line lies where it does not belong: zero the clamp away from the cable, or look at probe factor, range and coupling."
            }
            Finding::Quiet => "The line is connected and quiet.",
        }
    }
}

#[cfg(test)]
mod tests;
