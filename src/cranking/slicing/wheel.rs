//! A toothed wheel: what its description says, and where in a row of teeth its gaps are.
//! Thresholds that name no source are our own choice, set on simulated captures, sound and unfit.

use std::ops::Range;

use super::window::median;

/// Greatest bend that is taken for one: a crank that stands makes them as great as one likes.
const SHARPEST: f64 = 3.0;

/// Share of what a turn's gaps would explain without noise that they must explain to be taken for seen.
const LEAST_EXPLAINED: f64 = 0.3;

/// A wheel: positions per turn, and teeth missing at each gap.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wheel {
    /// Positions per turn.
    pub positions: usize,
    /// Teeth missing at each gap; none for a wheel without gaps.
    pub missing: Vec<usize>,
}

impl Wheel {
    /// Read "60-2", "36-2-2-2", "24".
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let mut parts = text
            .trim()
            .split('-')
            .map(|part| part.trim().parse::<usize>().ok());
        let positions = parts.next()??;
        let missing: Vec<usize> = parts.collect::<Option<_>>()?;
        let lost: usize = missing.iter().sum();
        let sound = (4..=400).contains(&positions) && !missing.contains(&0) && 2 * lost < positions;
        sound.then_some(Self { positions, missing })
    }

    /// Teeth that are there.
    #[must_use]
    pub fn teeth(&self) -> usize {
        self.positions - self.missing.iter().sum::<usize>()
    }

    /// Positions from each tooth to the next over one turn, beginning with the tooth before gap 1, where the
    /// places of the gaps are known.
    #[must_use]
    pub fn pattern(&self, gaps_at: &[usize]) -> Option<Vec<usize>> {
        if gaps_at.len() != self.missing.len() {
            return None;
        }
        let is_missing = |position: usize| {
            gaps_at
                .iter()
                .zip(&self.missing)
                .any(|(at, missing)| (*at..at + missing).contains(&position))
        };
        let there: Vec<usize> = (0..self.positions).filter(|k| !is_missing(*k)).collect();
        if there.len() != self.teeth() || there.last() != Some(&(self.positions - 1)) {
            return None;
        }
        let mut before = self.positions - 1;
        let mut steps = Vec::with_capacity(there.len());
        for position in there {
            steps.push((position + self.positions - before - 1) % self.positions + 1);
            before = position;
        }
        Some(steps)
    }
}

/// Second differences of the periods' logarithms, one for each period: a gap makes a spike, whatever the speed.
pub fn bends(times: &[f64]) -> Vec<f64> {
    let logs: Vec<f64> = times
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).max(f64::MIN_POSITIVE).ln())
        .collect();
    let mut bends = vec![0.0; logs.len()];
    for (bend, three) in bends.iter_mut().skip(1).zip(logs.windows(3)) {
        *bend = (three[0] - 2.0 * three[1] + three[2]).clamp(-SHARPEST, SHARPEST);
    }
    bends
}

/// The same of a pattern that repeats with every turn.
fn bends_of(pattern: &[usize]) -> Vec<f64> {
    let log = |k: usize| (pattern[k % pattern.len()] as f64).ln();
    let count = pattern.len();
    (0..count)
        .map(|k| log(k + count - 1) - 2.0 * log(k) + log(k + 1))
        .collect()
}

/// The longest stretch of whole turns that the same place of the pattern explains best, and by how many teeth
/// the first tooth is ahead of the pattern's. A crank that only begins to turn, or comes to rest, has long
/// periods that are no gaps; so has one that nearly stops in each compression, but the gaps still show.
pub fn longest_fit(bends: &[f64], pattern: &[usize]) -> (usize, Range<usize>) {
    let teeth = pattern.len();
    let expected = bends_of(pattern);
    let worth: f64 = expected.iter().map(|bend| bend * bend).sum();
    // by how much the pattern, so placed, explains the squares of a turn's bends
    let explained = |turn: &[f64], shift: usize| {
        let products = turn
            .iter()
            .enumerate()
            .map(|(index, bend)| bend * expected[(index + shift) % teeth]);
        2.0 * products.sum::<f64>() - worth
    };
    let shifts: Vec<Option<usize>> = bends
        .chunks_exact(teeth)
        .map(|turn| {
            let best = (0..teeth)
                .map(|shift| (shift, explained(turn, shift)))
                .max_by(|a, b| a.1.total_cmp(&b.1))?;
            (best.1 > LEAST_EXPLAINED * worth).then_some(best.0)
        })
        .collect();
    let mut best = (0, 0..0);
    let mut from = 0;
    for turn in 1..=shifts.len() {
        if turn < shifts.len() && shifts[turn] == shifts[from] {
            continue;
        }
        if let Some(shift) = shifts[from]
            && turn - from > best.1.len()
        {
            best = (shift, from..turn);
        }
        from = turn;
    }
    best
}

/// The pattern of one turn as the middle of the record has it: the places at which gaps explain most of the
/// bends, greatest gaps first.
pub fn learnt(bends: &[f64], wheel: &Wheel) -> Option<Vec<usize>> {
    let teeth = wheel.teeth();
    let turns = bends.len() / teeth;
    let spare = turns / 4;
    let middle = bends.get(spare * teeth..(turns - spare) * teeth)?;
    let mut mean: Vec<f64> = (0..teeth)
        .map(|k| median(middle.iter().skip(k).step_by(teeth).copied()))
        .collect();
    let mut steps: Vec<usize> = wheel.missing.iter().map(|missing| missing + 1).collect();
    steps.sort_unstable_by(|a, b| b.cmp(a));
    let mut pattern = vec![1; teeth];
    for step in steps {
        let spike =
            |k: usize| mean[(k + teeth - 1) % teeth] - 2.0 * mean[k] + mean[(k + 1) % teeth];
        let place = (0..teeth)
            .filter(|k| pattern[*k] == 1)
            .max_by(|a, b| spike(*a).total_cmp(&spike(*b)))?;
        pattern[place] = step;
        let log = (step as f64).ln();
        mean[(place + teeth - 1) % teeth] -= log;
        mean[place] += 2.0 * log;
        mean[(place + 1) % teeth] -= log;
    }
    let first = pattern.iter().position(|step| *step > 1)?;
    pattern.rotate_left(first);
    Some(pattern)
}
