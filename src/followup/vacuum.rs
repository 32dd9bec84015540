//! Manifold vacuum at idle, and the running compression that it lets expect.

use std::collections::BTreeMap;

use super::altitude::pressure_ratio;

/// Barometer at sea level, inches of mercury (ISO 2533: 101.325 kPa).
pub const SEA_LEVEL_INHG: f64 = 29.92;

/// Least usual vacuum at idle at sea level, and how much less for each 1000 ft: US Army OD1001.
const LEAST_INHG: f64 = 17.0;
const LESS_PER_1000_FT: f64 = 1.0;

/// Metres of 1000 ft.
const THOUSAND_FT_M: f64 = 304.8;

/// psi of an inch of mercury: US Army OD1001.
const PSI_PER_INHG: f64 = 0.4912;

/// Least vacuum that is usual at an altitude.
#[must_use]
pub fn least_usual(altitude_m: f64) -> f64 {
    LEAST_INHG - LESS_PER_1000_FT * (altitude_m / THOUSAND_FT_M).max(0.0)
}

/// Running compression to be expected: absolute manifold pressure times compression ratio, psi. The
/// arithmetic of the trade's training texts, isothermal and absolute; an estimate and no model.
#[must_use]
pub fn estimate_psi(barometer_inhg: f64, vacuum_inhg: f64, ratio: f64) -> f64 {
    (barometer_inhg - vacuum_inhg).max(0.0) * PSI_PER_INHG * ratio
}

/// The facts of computation "manifold vacuum".
///
/// # Errors
/// Where the vacuum is greater than the barometer.
pub fn facts(
    vacuum_inhg: f64,
    ratio: f64,
    altitude_m: f64,
) -> Result<BTreeMap<String, String>, String> {
    let barometer = SEA_LEVEL_INHG * pressure_ratio(altitude_m);
    if vacuum_inhg >= barometer {
        return Err(format!(
            "a vacuum of {vacuum_inhg:.1} inHg is more than the air of {barometer:.1} inHg at this altitude; read the gauge again"
        ));
    }
    let least = least_usual(altitude_m);
    let estimate = estimate_psi(barometer, vacuum_inhg, ratio);
    let (vacuum, meaning) = if vacuum_inhg >= least {
        (
            "usual",
            format!("{vacuum_inhg:.1} inHg is usual at idle (from {least:.1} here)"),
        )
    } else {
        (
            "low",
            format!(
                "{vacuum_inhg} inHg is low at idle (usual from {least:.1} here): late valve timing, air leaking in, or weak compression in all cylinders"
            ),
        )
    };
    Ok([
        ("vacuum", vacuum.to_owned()),
        ("estimate", format!("{estimate:.0} psi")),
        (
            "meaning",
            format!("{meaning}. Common practice of the trade."),
        ),
    ]
    .map(|(name, value)| (name.to_owned(), value))
    .into())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A marine training text: 18 inHg of vacuum at 30 inHg and 9:1 leave 12 inHg, 5.9 psi, times nine
    /// 53 to 56 psi, "about 60". It checks the source's arithmetic, not the world.
    #[test]
    fn the_training_texts_example_comes_out() {
        let estimate = estimate_psi(30.0, 18.0, 9.0);
        assert!((53.0..=56.0).contains(&estimate), "{estimate}");
    }

    /// US Army OD1001: idle vacuum 17 to 22 inHg, one less for each 1000 ft.
    #[test]
    fn usual_vacuum_falls_with_altitude() {
        let vacuum = |inches, metres| facts(inches, 9.0, metres).unwrap()["vacuum"].clone();
        assert_eq!(vacuum(17.0, 0.0), "usual");
        assert_eq!(vacuum(22.0, 0.0), "usual");
        assert_eq!(vacuum(16.5, 0.0), "low");
        assert_eq!(vacuum(12.0, 1524.0), "usual");
        assert_eq!(vacuum(11.9, 1524.0), "low");
        assert!(
            facts(30.0, 9.0, 0.0)
                .unwrap_err()
                .contains("read the gauge again")
        );
    }
}
