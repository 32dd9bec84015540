//! What one cable of the cranking circuit loses: its copper by size, length, current and temperature, and
//! what a meter finds beyond that.

use std::collections::BTreeMap;

/// Change of copper's resistance per kelvin from 20 °C: IEC 60028, from memory.
const COPPER_PER_K: f64 = 0.003_93;

/// Temperature of the table, °C.
const TABLE_CELSIUS: f64 = 20.0;

/// Drop over a connection, a cable, a switch or solenoid: a textbook, from memory.
pub const CONNECTION_V: f64 = 0.1;
/// The same of a cable.
pub const CABLE_V: f64 = 0.2;
/// The same of a switch or solenoid.
pub const SWITCH_V: f64 = 0.3;

/// Sizes as procedures name them, how they are written, and ohm per kilometre at 20 °C. Metric: class 5,
/// IEC 60228. Gauges: computed from ASTM B258 and IEC 60028.
const SIZES: [(&str, &str, f64); 13] = [
    ("mm2-16", "16 mm²", 1.21),
    ("mm2-25", "25 mm²", 0.780),
    ("mm2-35", "35 mm²", 0.554),
    ("mm2-50", "50 mm²", 0.386),
    ("mm2-70", "70 mm²", 0.272),
    ("mm2-95", "95 mm²", 0.206),
    ("awg-4-0", "gauge 4/0", 0.160_80),
    ("awg-2-0", "gauge 2/0", 0.255_69),
    ("awg-1-0", "gauge 1/0", 0.322_42),
    ("awg-2", "gauge 2", 0.512_67),
    ("awg-4", "gauge 4", 0.815_17),
    ("awg-6", "gauge 6", 1.296_17),
    ("awg-10", "gauge 10", 3.277_11),
];

/// What a cable's drop speaks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Finding {
    /// What its copper explains, within a cable's limit.
    Sound,
    /// More than its copper explains: lugs, crimps, broken strands.
    Joint,
    /// What its copper explains, and over a cable's limit.
    Thin,
}

impl Finding {
    /// Its name, as procedures test it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Finding::Sound => "sound",
            Finding::Joint => "joint",
            Finding::Thin => "thin",
        }
    }
}

/// Resistance of a length of cable at a temperature, ohm; none for a size that is not in the table.
#[must_use]
pub fn resistance(size: &str, metres: f64, celsius: f64) -> Option<f64> {
    let (.., ohm_per_km) = SIZES.iter().find(|(name, ..)| *name == size)?;
    Some(ohm_per_km / 1000.0 * metres * (1.0 + COPPER_PER_K * (celsius - TABLE_CELSIUS)))
}

/// Judge a drop in volts beside what the copper explains.
#[must_use]
pub fn judge(drop: f64, copper: f64) -> Finding {
    if drop - copper > CONNECTION_V {
        Finding::Joint
    } else if drop > CABLE_V {
        Finding::Thin
    } else {
        Finding::Sound
    }
}

/// The facts of computation "cable drop".
///
/// # Errors
/// Where the size is not in the table.
pub fn facts(
    drop: f64,
    current: f64,
    metres: f64,
    size: &str,
    celsius: f64,
) -> Result<BTreeMap<String, String>, String> {
    let ohm = resistance(size, metres, celsius)
        .ok_or_else(|| format!("{size:?} is no size of cable that the table has"))?;
    let copper = ohm * current;
    let finding = judge(drop, copper);
    let written = SIZES
        .iter()
        .find(|(name, ..)| *name == size)
        .map_or(size, |(_, written, _)| *written);
    let meaning = match finding {
        Finding::Sound => "The cable is sound.",
        Finding::Joint => {
            "The cable loses more than its copper explains: look at lugs, crimps and broken strands under the sheath."
        }
        Finding::Thin => {
            "The copper explains the drop, yet a cable should lose 0.2 V at most: too thin or too long for this current, or the current is too high."
        }
    };
    Ok([
        ("finding", finding.name().to_owned()),
        (
            "copper alone",
            format!(
                "{copper:.3} V ({metres:.2} m of {written} at {current:.0} A and {celsius:.0} °C)"
            ),
        ),
        ("meaning", meaning.to_owned()),
    ]
    .map(|(name, value)| (name.to_owned(), value))
    .into())
}

/// The facts of computation "joint drop".
#[must_use]
pub fn joint_facts(drop: f64, part: &str) -> BTreeMap<String, String> {
    let limit = if part == "switch" {
        SWITCH_V
    } else {
        CONNECTION_V
    };
    let finding = if drop > limit { "over" } else { "sound" };
    [
        ("finding", finding.to_owned()),
        ("limit", format!("{limit:.2} V")),
    ]
    .map(|(name, value)| (name.to_owned(), value))
    .into()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// IEC 60228 class 5: 50 mm² has 0.386 ohm/km. ASTM B258 with IEC 60028, computed: gauge 2/0 has
    /// 0.25569 ohm/km, gauge 4 0.81517. α = 0.00393/K: 20 K more are 7.86 % more.
    #[test]
    fn resistance_follows_size_length_and_temperature() {
        let ohm = |size, metres, celsius| resistance(size, metres, celsius).unwrap();
        assert!((ohm("mm2-50", 1000.0, 20.0) - 0.386).abs() < 1e-12);
        assert!((ohm("awg-2-0", 1000.0, 20.0) - 0.255_69).abs() < 1e-12);
        assert!((ohm("awg-4", 2.0, 20.0) - 0.001_630_34).abs() < 1e-9);
        assert!((ohm("mm2-25", 2.0, 40.0) / ohm("mm2-25", 2.0, 20.0) - 1.0786).abs() < 1e-9);
        assert!(resistance("mm2-1", 1.0, 20.0).is_none());
    }

    /// IEC 60228, class 5, at 20 °C, ohm/km.
    #[test]
    fn metric_sizes_are_those_of_the_standard() {
        for (name, table) in [
            ("mm2-16", 1.21),
            ("mm2-25", 0.780),
            ("mm2-35", 0.554),
            ("mm2-50", 0.386),
            ("mm2-70", 0.272),
            ("mm2-95", 0.206),
        ] {
            let found = resistance(name, 1000.0, 20.0).unwrap();
            assert!((found - table).abs() < 1e-12, "{name}: {found}");
        }
    }

    /// A gauge's cross-section follows from ASTM B258 (d = 0.127·92^((36−n)/39) mm); with 17.241 nΩ·m
    /// of IEC 60028 the table must come out.
    #[test]
    fn gauges_agree_with_their_definition() {
        for (name, number) in [
            ("awg-4-0", -3.0),
            ("awg-2-0", -1.0),
            ("awg-1-0", 0.0),
            ("awg-2", 2.0),
            ("awg-4", 4.0),
            ("awg-6", 6.0),
            ("awg-10", 10.0),
        ] {
            let bore = 0.127 * 92f64.powf((36.0 - number) / 39.0);
            let area = std::f64::consts::PI / 4.0 * bore * bore;
            let computed = 17.241 / area;
            let table = resistance(name, 1000.0, 20.0).unwrap();
            assert!((computed / table - 1.0).abs() < 1e-4, "{name}: {computed}");
        }
    }

    /// Limits of a textbook, from memory: connection 0.1 V, cable 0.2 V, switch or solenoid 0.3 V.
    #[test]
    fn what_copper_explains_is_told_from_a_bad_joint() {
        // 1.5 m of 25 mm² at 200 A: 0.234 V of copper alone
        let copper = resistance("mm2-25", 1.5, 20.0).unwrap() * 200.0;
        assert!((copper - 0.234).abs() < 1e-9);
        assert_eq!(judge(0.25, copper), Finding::Thin);
        assert_eq!(judge(0.34, copper), Finding::Joint);
        // the same of 70 mm²: 0.0816 V
        let copper = resistance("mm2-70", 1.5, 20.0).unwrap() * 200.0;
        assert_eq!(judge(0.10, copper), Finding::Sound);
        assert_eq!(judge(0.19, copper), Finding::Joint);
        assert_eq!(joint_facts(0.1, "connection")["finding"], "sound");
        assert_eq!(joint_facts(0.11, "connection")["finding"], "over");
        assert_eq!(joint_facts(0.3, "switch")["finding"], "sound");
        assert_eq!(joint_facts(0.31, "switch")["finding"], "over");
    }
}
