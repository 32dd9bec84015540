//! Plain statistics of what is measured several times: mean, scatter about the means of groups, straight line.
//! Sums are taken about a value of the data's own, so that a large common part costs no digits.

/// A straight line through points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Mean of the places.
    pub middle: f64,
    /// Value there.
    pub level: f64,
    /// Change per unit of place.
    pub slope: f64,
}

impl Line {
    /// The line's value at a place.
    #[must_use]
    pub fn at(&self, place: f64) -> f64 {
        self.level + self.slope * (place - self.middle)
    }
}

/// Mean; 0 of nothing.
#[must_use]
pub fn mean(values: &[f64]) -> f64 {
    let Some(first) = values.first() else {
        return 0.0;
    };
    first + values.iter().map(|value| value - first).sum::<f64>() / values.len() as f64
}

/// Sum of squares about the mean; what rounding left in the mean is taken out again.
fn squares_about_mean(values: &[f64]) -> f64 {
    let mean = mean(values);
    let (sum, squares) = values.iter().fold((0.0, 0.0), |(sum, squares), value| {
        let off = value - mean;
        (sum + off, squares + off * off)
    });
    squares - sum * sum / values.len().max(1) as f64
}

/// Mean square within groups, each about its own mean: the variance of one value. Groups of one tell nothing.
#[must_use]
pub fn within<'a>(groups: impl IntoIterator<Item = &'a [f64]>) -> f64 {
    let (mut squares, mut freedom) = (0.0, 0);
    for group in groups {
        squares += squares_about_mean(group);
        freedom += group.len().saturating_sub(1);
    }
    squares / freedom.max(1) as f64
}

/// The straight line of least squares through points; level if all stand at one place.
#[must_use]
pub fn line(places: &[f64], values: &[f64]) -> Line {
    let (middle, level) = (mean(places), mean(values));
    let (mut both, mut spread) = (0.0, 0.0);
    for (place, value) in places.iter().zip(values) {
        both += (place - middle) * (value - level);
        spread += (place - middle) * (place - middle);
    }
    Line {
        middle,
        level,
        slope: if spread > 0.0 { both / spread } else { 0.0 },
    }
}
