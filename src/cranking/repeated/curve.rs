//! A trace as a line from sample to sample: its value at any time, and its mean over any stretch.

use crate::cranking::cycles::Samples;
use crate::cranking::scatter::mean;
use crate::cranking::slicing::window::median;

/// A trace, about its own mean.
#[derive(Debug)]
pub(super) struct Curve {
    time: Vec<f64>,
    values: Vec<f64>,
    /// Area under the line up to each sample.
    areas: Vec<f64>,
    /// Usual distance of samples, seconds.
    pub(super) step: f64,
}

impl Curve {
    pub(super) fn of(samples: Samples<'_>) -> Self {
        let level = mean(samples.values);
        let values: Vec<f64> = samples.values.iter().map(|value| value - level).collect();
        let time = samples.time.to_vec();
        let mut areas = vec![0.0];
        for at in 1..time.len() {
            let more = 0.5 * (values[at - 1] + values[at]) * (time[at] - time[at - 1]);
            areas.push(areas[at - 1] + more);
        }
        let step = median(time.windows(2).map(|pair| pair[1] - pair[0]));
        Self {
            time,
            values,
            areas,
            step,
        }
    }

    /// First and last time, seconds.
    pub(super) fn ends(&self) -> (f64, f64) {
        (self.time[0], self.time[self.time.len() - 1])
    }

    /// Times of the samples between two times.
    pub(super) fn times(&self, from: f64, to: f64) -> &[f64] {
        let first = self.time.partition_point(|time| *time < from);
        let beyond = self.time.partition_point(|time| *time <= to);
        &self.time[first..beyond.max(first)]
    }

    /// Mean over a stretch of that width about a time; of no width, the value there.
    pub(super) fn mean(&self, at: f64, width: f64) -> f64 {
        if width > 0.0 {
            (self.area(at + 0.5 * width) - self.area(at - 0.5 * width)) / width
        } else {
            self.place(at).1
        }
    }

    fn area(&self, at: f64) -> f64 {
        let (before, value) = self.place(at);
        self.areas[before] + 0.5 * (self.values[before] + value) * (at - self.time[before])
    }

    /// The sample before a time, and the line's value there.
    fn place(&self, at: f64) -> (usize, f64) {
        let last = self.time.len() - 1;
        // rows that come evenly lie where they should; only others are searched for
        let guess = ((at - self.time[0]) / self.step) as usize;
        let near = guess.saturating_sub(1)..=(guess + 1);
        let holds = |from: &usize| {
            let (Some(from), Some(to)) = (self.time.get(*from), self.time.get(from + 1)) else {
                return false;
            };
            *from <= at && at < *to
        };
        let found = near.into_iter().find(holds);
        let after = found.map_or_else(
            || self.time.partition_point(|time| *time <= at),
            |from| from + 1,
        );
        let after = after.clamp(1, last);
        let (t0, t1) = (self.time[after - 1], self.time[after]);
        let share = (at - t0) / (t1 - t0);
        let (v0, v1) = (self.values[after - 1], self.values[after]);
        (after - 1, v0 + share * (v1 - v0))
    }
}
