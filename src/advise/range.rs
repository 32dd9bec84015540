//! The vertical range: the smallest that holds what is shown, and the converter's steps in it.
//! Numbers that name no source are our own choice.

use super::Scope;

/// Room left above what is expected.
const HEADROOM: f64 = 1.2;

/// A range and its step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Positive end of the ± range, V.
    pub full_scale_v: f64,
    /// One step of the converter, V.
    pub step_v: f64,
}

impl Scope {
    /// The smallest range that holds ± `volts`, with headroom where `volts` is an expectation.
    #[must_use]
    pub fn range_for(&self, volts: f64) -> Option<Range> {
        let mut ranges = self.ranges_v.iter().copied();
        let full_scale_v = ranges.find(|range| *range >= volts * HEADROOM)?;
        Some(self.range(full_scale_v))
    }

    /// A range of this scope.
    #[must_use]
    pub fn range(&self, full_scale_v: f64) -> Range {
        Range {
            full_scale_v,
            step_v: 2.0 * full_scale_v / 2f64.powi(self.bits as i32),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A step on a 20 V span: 78.1 mV at 8 bit, 4.88 mV at 12 (IEEE Std 1241's definition, arithmetic).
    #[test]
    fn steps_are_the_span_over_their_number() {
        let step = |bits| {
            Scope {
                bits,
                ..Scope::default()
            }
            .range(10.0)
            .step_v
                * 1000.0
        };
        assert!((step(8) - 78.1).abs() < 0.05);
        assert!((step(12) - 4.88).abs() < 0.005);
    }

    #[test]
    fn the_smallest_range_that_holds_it_is_taken() {
        let scope = Scope::default();
        assert_eq!(scope.range_for(1.6).unwrap().full_scale_v, 2.0);
        assert_eq!(scope.range_for(1.7).unwrap().full_scale_v, 5.0);
        assert_eq!(scope.range_for(100.0), None);
    }
}
