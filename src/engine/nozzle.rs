//! Flow of an ideal gas through an orifice: isentropic nozzle flow, choked below the critical pressure
//! ratio. Heywood, Internal Combustion Engine Fundamentals, appendix C (from memory).

/// Ratio of specific heats of air.
pub const AIR_GAMMA: f64 = 1.4;

/// Critical pressure ratio of air, (2/(γ+1))^(γ/(γ−1)); NACA Report 1135 tables give 0.5283.
pub const CRITICAL_RATIO: f64 = 0.5282817877171742;

/// Flow function at the critical ratio and below, √γ·(2/(γ+1))^((γ+1)/(2(γ−1))).
pub const CHOKED_FLOW: f64 = 0.6847314563772705;

/// Dimensionless mass flow ψ of air for a ratio of downstream to upstream absolute pressure, so that
/// ṁ = A·p·ψ/√(R·T) with the upstream p and T. 0 at a ratio of 1 and above.
#[must_use]
pub fn flow_function(pressure_ratio: f64) -> f64 {
    if pressure_ratio >= 1.0 {
        return 0.0;
    }
    if pressure_ratio <= CRITICAL_RATIO {
        return CHOKED_FLOW;
    }
    // r^(2/γ) and r^((γ+1)/γ) share one logarithm
    let log = pressure_ratio.ln();
    let squared = 2.0 * AIR_GAMMA / (AIR_GAMMA - 1.0)
        * ((2.0 / AIR_GAMMA * log).exp() - ((AIR_GAMMA + 1.0) / AIR_GAMMA * log).exp());
    squared.max(0.0).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NACA Report 1135 (from memory): critical ratio 0.528282 for γ = 1.4; ψ* = 0.684731 follows
    /// from the stated formula.
    #[test]
    fn chokes_at_the_critical_ratio() {
        let formula = (2.0f64 / 2.4).powf(3.5);
        assert!((formula - CRITICAL_RATIO).abs() < 1e-12);
        assert!((CRITICAL_RATIO - 0.528_282).abs() < 1e-6);
        let formula = 1.4f64.sqrt() * (2.0f64 / 2.4).powi(3);
        assert!((formula - CHOKED_FLOW).abs() < 1e-9, "{formula}");
        assert!((flow_function(CRITICAL_RATIO + 1e-9) - CHOKED_FLOW).abs() < 1e-6);
        assert_eq!(flow_function(1.0), 0.0);
    }
}
