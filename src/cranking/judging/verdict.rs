//! From percentages with intervals to findings and a verdict, by the stated decision rule: the interval is
//! the guard band.

use super::uncertainty::{Relative, relative};
use crate::cranking::answer::Finding;
use crate::cranking::fitting::explain::Explained;

/// Decide one interval against the limit.
#[must_use]
pub fn finding(value: Relative, low_percent: f64) -> Finding {
    if value.high < low_percent {
        Finding::Low
    } else if value.low >= low_percent {
        Finding::Even
    } else {
        Finding::Uncertain
    }
}

/// Percentages of every place. 100 % starts as the mean of the highest half of the peaks and takes in every
/// place found even against it, until none joins. Where half the cylinders are weak, the highest half holds
/// weak ones: if one of those that make up the 100 % is not even against the best alone, nobody knows where
/// 100 % lies, and the intervals reach down to what they would be against the best.
#[must_use]
pub fn settle(explained: &Explained, low_percent: f64) -> Vec<(Relative, Finding)> {
    let peaks: Vec<f64> = explained
        .fitted
        .pulses
        .iter()
        .map(|pulse| pulse.peak)
        .collect();
    let mut order: Vec<usize> = (0..peaks.len()).collect();
    order.sort_by(|a, b| peaks[*b].total_cmp(&peaks[*a]));
    let highest_half = order[..peaks.len().div_ceil(2)].to_vec();
    let (sound, mut values) = joined(explained, highest_half, low_percent);
    let (best, against_best) = joined(explained, order[..1].to_vec(), low_percent);
    if sound.iter().any(|place| !best.contains(place)) {
        for (value, other) in values.iter_mut().zip(against_best) {
            value.low = value.low.min(other.low);
        }
    }
    values
        .into_iter()
        .map(|value| (value, finding(value, low_percent)))
        .collect()
}

/// Percentages of the mean of `sound` and of every place that is even against it, and which places those are.
fn joined(
    explained: &Explained,
    mut sound: Vec<usize>,
    low_percent: f64,
) -> (Vec<usize>, Vec<Relative>) {
    loop {
        let values = relative(explained, &sound);
        let joining: Vec<usize> = (0..values.len())
            .filter(|index| {
                !sound.contains(index) && finding(values[*index], low_percent) == Finding::Even
            })
            .collect();
        if joining.is_empty() {
            return (sound, values);
        }
        sound.extend(joining);
    }
}
