//! Where a sampled channel passes a level one way, told from noise by a hysteresis.

/// Hysteresis about the middle of a channel's range, share of the range. Our own choice.
pub const HYSTERESIS: f64 = 0.15;

/// A passage between two samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passage {
    /// Index of the first sample beyond the level, from 1.
    pub index: usize,
    /// How much of the way from the sample before it lies short of the level, 0 to 1.
    pub share: f64,
}

impl Passage {
    /// When it was, by the samples' times and a straight line between them; in their unit.
    #[must_use]
    pub fn time(&self, time: &[f64]) -> f64 {
        let (before, after) = (time[self.index - 1], time[self.index]);
        before + (after - before) * self.share
    }
}

/// Least and greatest of the values; infinite the wrong way round where there are none.
#[must_use]
pub fn extremes(values: &[f64]) -> (f64, f64) {
    values.iter().fold(
        (f64::INFINITY, f64::NEG_INFINITY),
        |(least, most), value| (least.min(*value), most.max(*value)),
    )
}

/// Passages upward through a level (`direction` 1) or downward (−1). After one, another counts only once the values
/// were the hysteresis short of the level again.
#[must_use]
pub fn passages(values: &[f64], level: f64, hysteresis: f64, direction: f64) -> Vec<Passage> {
    let beyond = |index: usize| direction * (values[index] - level);
    let mut armed = !values.is_empty() && beyond(0) < 0.0;
    let mut found = Vec::new();
    for index in 1..values.len() {
        let here = beyond(index);
        if armed && here >= 0.0 {
            let before = beyond(index - 1);
            let share = (-before / (here - before)).clamp(0.0, 1.0);
            found.push(Passage { index, share });
            armed = false;
        } else if here < -hysteresis {
            armed = true;
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_passage_is_told_where_a_straight_line_meets_the_level() {
        let values = [0.0, 1.0, 3.0, 2.0, 0.0, 4.0];
        let times = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0];
        let at = |direction| -> Vec<f64> {
            passages(&values, 2.0, 0.5, direction)
                .iter()
                .map(|passage| passage.time(&times))
                .collect()
        };
        assert_eq!(at(1.0), [1.5, 4.5]);
        // level at index 3 counts as beyond it on the way down
        assert_eq!(at(-1.0), [3.0]);
    }

    #[test]
    fn noise_within_the_hysteresis_is_no_passage() {
        let values = [-1.0, 0.1, -0.1, 0.1, -0.1, 0.1, -1.0, 1.0];
        assert_eq!(passages(&values, 0.0, 0.5, 1.0).len(), 2);
        assert_eq!(passages(&values, 0.0, 0.05, 1.0).len(), 4);
        assert!(passages(&[], 0.0, 0.5, 1.0).is_empty());
    }

    #[test]
    fn a_missing_value_is_no_passage() {
        let values = [-1.0, f64::NAN, -1.0, 1.0];
        assert_eq!(passages(&values, 0.0, 0.5, 1.0).len(), 1);
    }
}
