//! Two orifices in series: the tester's restrictor and the cylinder's leaks. Isentropic flow of an
//! ideal gas through nozzles, absolute pressures; what a percentage of loss cannot say, because it
//! depends on the restrictor, the ratio of the areas can.
//!
//! Gas tables: NACA Report 1135 (critical pressure ratio of air 0.528282), from memory.

use thiserror::Error;

use crate::engine::nozzle::flow_function;

/// Standard atmosphere, psi absolute (ISO 2533: 101.325 kPa).
pub const ATMOSPHERE_PSI: f64 = 14.696;

/// Why there is no flow ratio.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum OrificeError {
    /// A pressure or bore that is no number, or atmosphere or bore not above zero.
    #[error("{what} is {value}: it must be a number above zero")]
    NotPositive {
        /// Which.
        what: &'static str,
        /// As given.
        value: f64,
    },
    /// Air flows from high to low: supply ≥ cylinder ≥ atmosphere.
    #[error(
        "gauge pressures {supply} (supply) and {cylinder} (cylinder): the supply must be the greater one and neither below zero"
    )]
    Order {
        /// Supply, gauge.
        supply: f64,
        /// Cylinder, gauge.
        cylinder: f64,
    },
}

/// What leaks, seen through the restrictor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FlowRatio {
    /// Area of all leaks together over area of the restrictor.
    Times(f64),
    /// No pressure builds up: the leaks are too large for this restrictor to measure.
    Beyond,
}

/// Area of the leaks over area of the restrictor, from gauge pressures before and after the
/// restrictor and the absolute pressure of the atmosphere, all in one unit.
///
/// # Errors
/// Where a pressure is no number, or air would have to flow uphill.
pub fn flow_ratio(supply: f64, cylinder: f64, atmosphere: f64) -> Result<FlowRatio, OrificeError> {
    positive("atmospheric pressure", atmosphere)?;
    positive("supply pressure", supply)?;
    if !(0.0..=supply).contains(&cylinder) {
        return Err(OrificeError::Order { supply, cylinder });
    }
    let before = supply + atmosphere;
    let between = cylinder + atmosphere;
    let out = flow_function(atmosphere / between);
    if out <= 0.0 {
        return Ok(FlowRatio::Beyond);
    }
    let inflow = before * flow_function(between / before);
    Ok(FlowRatio::Times(inflow / (between * out)))
}

/// Bore of the one round hole that would leak as much as all leaks together, in the unit of the
/// restrictor's bore.
///
/// # Errors
/// Where the restrictor's bore is not above zero.
pub fn equivalent_bore(ratio: f64, restrictor_bore: f64) -> Result<f64, OrificeError> {
    positive("restrictor bore", restrictor_bore)?;
    Ok(restrictor_bore * ratio.max(0.0).sqrt())
}

fn positive(what: &'static str, value: f64) -> Result<(), OrificeError> {
    if value.is_finite() && value > 0.0 {
        Ok(())
    } else {
        Err(OrificeError::NotPositive { what, value })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::nozzle::CRITICAL_RATIO;

    fn times(supply: f64, cylinder: f64) -> f64 {
        match flow_ratio(supply, cylinder, ATMOSPHERE_PSI).unwrap() {
            FlowRatio::Times(ratio) => ratio,
            FlowRatio::Beyond => f64::INFINITY,
        }
    }

    /// Critical ratio 0.528282: NACA Report 1135, from memory. 0.684731 is computed from the formula.
    #[test]
    fn air_chokes_where_the_tables_say() {
        assert!((flow_function(0.2) - 0.684_731).abs() < 5e-7);
        assert!((flow_function(0.528_282) - 0.684_731).abs() < 5e-7);
        // 80 psi supply: choked below 35.3 psi in the cylinder
        let choked_below = (80.0 + ATMOSPHERE_PSI) * CRITICAL_RATIO - ATMOSPHERE_PSI;
        assert!((choked_below - 35.3).abs() < 0.05);
    }

    /// Computed apart from this program from A_o·p_s·ψ(p_c/p_s) = A_l·p_c·ψ(p_a/p_c); it checks the
    /// arithmetic, not the world.
    #[test]
    fn flow_ratios_agree_with_values_computed_elsewhere() {
        let known = [
            (80.0, 76.0, 0.43306),
            (80.0, 72.0, 0.62533),
            (80.0, 70.0, 0.70669),
            (80.0, 64.0, 0.92454),
            (80.0, 60.0, 1.05856),
            (80.0, 56.0, 1.18894),
            (80.0, 40.0, 1.72202),
            (80.0, 20.0, 2.72931),
            (100.0, 90.0, 0.63613),
            (100.0, 75.0, 1.07960),
        ];
        for (supply, cylinder, ratio) in known {
            let found = times(supply, cylinder);
            assert!((found - ratio).abs() < 6e-6, "{supply}/{cylinder}: {found}");
        }
    }

    /// One 0.040 in hole reads 61.77/80 behind a 0.040 in restrictor and 75.80/80 behind a 0.060 in
    /// one (computed apart from this program): percentages of different testers do not compare.
    #[test]
    fn one_hole_shows_the_same_bore_behind_any_restrictor() {
        for (reading, restrictor) in [(61.77, 0.040), (75.80, 0.060)] {
            let bore = equivalent_bore(times(80.0, reading), restrictor).unwrap();
            assert!((bore - 0.040).abs() < 2e-5, "{bore}");
        }
    }

    #[test]
    fn the_ends_of_the_scale() {
        assert_eq!(times(80.0, 80.0), 0.0);
        assert_eq!(flow_ratio(80.0, 0.0, ATMOSPHERE_PSI), Ok(FlowRatio::Beyond));
        for (supply, cylinder) in [(80.0, 81.0), (80.0, -1.0), (0.0, 0.0), (f64::NAN, 1.0)] {
            assert!(flow_ratio(supply, cylinder, ATMOSPHERE_PSI).is_err());
        }
        assert!(flow_ratio(80.0, f64::NAN, ATMOSPHERE_PSI).is_err());
        assert!(flow_ratio(80.0, 60.0, 0.0).is_err());
        assert!(equivalent_bore(1.0, 0.0).is_err());
    }
}
