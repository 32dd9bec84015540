//! The smoothest curve through points: a natural cubic spline, and its slope between them. Burden and Faires,
//! Numerical Analysis, section 3.5 (from memory).

/// A curve's slope at places between its points.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Between {
    /// Places.
    pub places: Vec<f64>,
    /// Slopes.
    pub slopes: Vec<f64>,
}

/// The slope of the smoothest curve through points whose `places` and `values` rise, told at places between which
/// the values rise by `finest` at most. Where the curve falls between points that do not, the straight line is taken.
#[must_use]
pub fn between(places: &[f64], values: &[f64], finest: f64) -> Between {
    let curvatures = curvatures(places, values);
    let mut found = Between::default();
    for index in 0..places.len().saturating_sub(1) {
        let width = places[index + 1] - places[index];
        let (from, to) = (values[index], values[index + 1]);
        let (here, next) = (curvatures[index], curvatures[index + 1]);
        let parts = ((to - from) / finest).ceil().max(1.0) as usize;
        for part in 0..parts {
            let right = (part as f64 + 0.5) / parts as f64;
            let left = 1.0 - right;
            let straight = (to - from) / width;
            let bent = straight
                + (next * (3.0 * right * right - 1.0) - here * (3.0 * left * left - 1.0)) * width
                    / 6.0;
            let falls = bent * straight <= 0.0;
            found.places.push(places[index] + right * width);
            found.slopes.push(if falls { straight } else { bent });
        }
    }
    found
}

/// Second derivatives of the natural cubic spline through points: a tridiagonal system.
fn curvatures(places: &[f64], values: &[f64]) -> Vec<f64> {
    let last = places.len() - 1;
    let mut found = vec![0.0; places.len()];
    let (mut ratios, mut sums) = (vec![0.0; places.len()], vec![0.0; places.len()]);
    for index in 1..last {
        let (before, after) = (
            places[index] - places[index - 1],
            places[index + 1] - places[index],
        );
        let slopes = (values[index + 1] - values[index]) / after
            - (values[index] - values[index - 1]) / before;
        let pivot = 2.0 * (before + after) - before * ratios[index - 1];
        ratios[index] = after / pivot;
        sums[index] = (6.0 * slopes - before * sums[index - 1]) / pivot;
    }
    for index in (1..last).rev() {
        found[index] = sums[index] - ratios[index] * found[index + 1];
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Burden and Faires, section 3.5, example of the natural spline through (0, 1), (1, e), (2, e²), (3, e³):
    /// c₁ = 0.75685 and c₂ = 5.83007, half the second derivatives (from memory).
    #[test]
    fn curvatures_are_those_of_the_worked_example() {
        let e = std::f64::consts::E;
        let found = curvatures(&[0.0, 1.0, 2.0, 3.0], &[1.0, e, e * e, e * e * e]);
        for (found, half) in found.iter().zip([0.0, 0.756_85, 5.830_07, 0.0]) {
            assert!((found / 2.0 - half).abs() < 1e-5, "{found}");
        }
    }

    #[test]
    fn a_sine_comes_back_between_its_points() {
        let places: Vec<f64> = (0..25).map(|k| 15.0 * f64::from(k)).collect();
        let sine = |place: f64| place + 10.0 * (2.0 * place.to_radians()).sin();
        let values: Vec<f64> = places.iter().map(|place| sine(*place)).collect();
        let found = between(&places, &values, 5.0);
        for (place, slope) in found.places.iter().zip(&found.slopes) {
            let steep = 1.0 + 20.0 * (2.0 * place.to_radians()).cos() * 1f64.to_radians();
            // natural ends bend where the sine does not
            if (60.0..300.0).contains(place) {
                assert!((slope - steep).abs() < 0.01, "{place}: {slope}");
            }
        }
        let told = found.places.windows(2).all(|pair| pair[1] - pair[0] < 15.0);
        assert!(told && found.places.len() >= 72, "{}", found.places.len());
    }
}
