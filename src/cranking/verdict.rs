//! From percentages with intervals to findings and a verdict, by the stated decision rule: the interval is
//! the guard band.

use super::answer::Finding;
use super::explain::Explained;
use super::uncertainty::{Relative, relative};

/// Decide one interval against the limit.
#[must_use]
pub fn finding(value: Relative, low_percent: f64) -> Finding {
    if value.percent + value.half_width < low_percent {
        Finding::Low
    } else if value.percent - value.half_width >= low_percent {
        Finding::Even
    } else {
        Finding::Uncertain
    }
}

/// Percentages of every place. 100 % starts as the mean of the highest half of the peaks and takes in every
/// place found even against it, until none joins.
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
    let mut sound: Vec<usize> = order[..peaks.len().div_ceil(2)].to_vec();
    loop {
        let values = relative(explained, &sound);
        let joining: Vec<usize> = (0..peaks.len())
            .filter(|index| {
                !sound.contains(index) && finding(values[*index], low_percent) == Finding::Even
            })
            .collect();
        if joining.is_empty() {
            return values
                .into_iter()
                .map(|value| (value, finding(value, low_percent)))
                .collect();
        }
        sound.extend(joining);
    }
}
