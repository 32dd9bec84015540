//! Air pressure by altitude. A gauge on a cylinder reads in proportion to the pressure of the air that the
//! engine breathes, so figures that hold at sea level are scaled by the ratio of pressures; a widely copied
//! list scales them by the ratio of densities and lets weak engines pass.

/// Share of the sea-level pressure at an altitude in metres: ISO 2533, standard atmosphere up to 11 km.
#[must_use]
pub fn pressure_ratio(metres: f64) -> f64 {
    (1.0 - LAPSE_K_PER_M * metres / SEA_LEVEL_K).powf(EXPONENT)
}

/// Temperature at sea level, kelvin; its fall by height; g/(R·lapse). ISO 2533.
const SEA_LEVEL_K: f64 = 288.15;
const LAPSE_K_PER_M: f64 = 0.0065;
const EXPONENT: f64 = 5.255_88;

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 2533 and US Standard Atmosphere 1976, tables: at 5000 ft (1524 m) the pressure is 0.8320 of
    /// that at sea level, the density 0.8617.
    #[test]
    fn pressure_and_not_density_falls_by_the_standard() {
        assert!((pressure_ratio(0.0) - 1.0).abs() < 1e-12);
        let ratio = pressure_ratio(1524.0);
        assert!((ratio - 0.8320).abs() < 1e-4, "{ratio}");
        assert!((ratio - 0.8617).abs() > 0.02);
    }
}
