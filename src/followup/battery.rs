//! The battery: how full it is at rest, and how far its voltage may fall while it cranks.

use std::collections::BTreeMap;

/// Rested voltage of a flooded 12 V battery at 25 °C and its state of charge, percent: a battery council's
/// table, from memory. Other kinds by their makers' data.
const RESTED: [(f64, f64); 5] = [
    (11.89, 0.0),
    (12.06, 25.0),
    (12.24, 50.0),
    (12.45, 75.0),
    (12.65, 100.0),
];

/// State of charge from which a cranking test says something, percent. Common practice, no source.
pub const ENOUGH_PERCENT: f64 = 75.0;

/// Least voltage while cranking by temperature in °C: a workshop manual.
pub const LEAST_CRANKING: [(f64, f64); 5] = [
    (-18.0, 8.5),
    (-12.0, 8.7),
    (-1.0, 9.1),
    (10.0, 9.4),
    (20.0, 9.6),
];

/// State of charge of a rested flooded battery, percent; a 24 V system is two batteries in series.
#[must_use]
pub fn state_percent(voltage: f64, batteries: f64) -> f64 {
    interpolated(&RESTED, voltage / batteries)
}

/// Rested voltage of a flooded battery from which it is full enough.
#[must_use]
pub fn enough_voltage(batteries: f64) -> f64 {
    let turned = RESTED.map(|(voltage, percent)| (percent, voltage));
    interpolated(&turned, ENOUGH_PERCENT) * batteries
}

/// Least voltage while cranking at a temperature; beyond the table its end holds.
#[must_use]
pub fn least_cranking(celsius: f64, batteries: f64) -> f64 {
    interpolated(&LEAST_CRANKING, celsius) * batteries
}

/// Most voltage of one battery that is believed while a starter draws from it: a full one stands lower at
/// rest, and only a charger or a running engine holds it higher. Common practice, no source.
pub const MOST_CRANKING: f64 = 13.5;

/// Batteries in series of a system as the intake names it.
#[must_use]
pub fn in_series(system: &str) -> f64 {
    if system == "twenty-four-volts" {
        2.0
    } else {
        1.0
    }
}

fn interpolated(table: &[(f64, f64)], at: f64) -> f64 {
    let mut pairs = table.windows(2);
    let within = pairs.find(|pair| (pair[0].0..=pair[1].0).contains(&at));
    match within {
        Some(pair) => {
            let share = (at - pair[0].0) / (pair[1].0 - pair[0].0);
            pair[0].1 + share * (pair[1].1 - pair[0].1)
        }
        None if at < table[0].0 => table[0].1,
        None => table[table.len() - 1].1,
    }
}

/// The facts of computation "rested battery".
#[must_use]
pub fn rested_facts(voltage: f64, system: &str, kind: &str) -> BTreeMap<String, String> {
    let percent = state_percent(voltage, in_series(system));
    let (charge, state, meaning) = if kind != "flooded" {
        (
            "makers-data",
            "by the battery maker's data".to_owned(),
            "Rested voltage says how full a flooded battery is; for this kind look into the battery maker's data.",
        )
    } else if percent >= ENOUGH_PERCENT {
        (
            "enough",
            format!("{percent:.0} %"),
            "The battery is full enough for a cranking test.",
        )
    } else {
        (
            "charge-first",
            format!("{percent:.0} %"),
            "The battery is too empty: every drop and speed would be its own. Charge it, let it rest, begin again.",
        )
    };
    [
        ("charge", charge.to_owned()),
        ("state", state),
        ("meaning", meaning.to_owned()),
    ]
    .map(|(name, value)| (name.to_owned(), value))
    .into()
}

/// The facts of computation "cranking voltage".
///
/// # Errors
/// Where no battery holds that while it cranks.
pub fn cranking_facts(
    voltage: f64,
    celsius: f64,
    system: &str,
) -> Result<BTreeMap<String, String>, String> {
    let batteries = in_series(system);
    let most = MOST_CRANKING * batteries;
    if voltage > most {
        return Err(format!(
            "{voltage:.2} V while cranking cannot be: the battery of a {:.0} V system stays under {most:.1} V while \
             the starter draws. See that no charger is connected and that the engine did not start, set the meter to \
             DC volts, and measure again; or correct what was answered for the system",
            12.0 * batteries
        ));
    }
    // put on the grid first and decided from there, so that what is shown agrees with what is decided
    let least = (least_cranking(celsius, batteries) * 100.0).round() / 100.0;
    let holds = voltage >= least;
    let meaning = format!(
        "{voltage:.2} V while cranking at {celsius:.0} °C; {} {least:.2} V.",
        if holds {
            "at least"
        } else {
            "it should be at least"
        }
    );
    let named = [
        (
            "judged",
            if holds { "holds" } else { "falls-short" }.to_owned(),
        ),
        ("least", format!("{least:.2} V")),
        ("meaning", meaning),
    ];
    Ok(named.map(|(name, value)| (name.to_owned(), value)).into())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A battery council's table for flooded batteries at 25 °C, from memory; double for 24 V.
    #[test]
    fn rested_voltage_gives_the_tables_state() {
        for (volts, percent) in [
            (12.65, 100.0),
            (12.45, 75.0),
            (12.24, 50.0),
            (12.06, 25.0),
            (11.89, 0.0),
        ] {
            assert!(
                (state_percent(volts, 1.0) - percent).abs() < 1e-9,
                "{volts}"
            );
            assert!(
                (state_percent(2.0 * volts, 2.0) - percent).abs() < 1e-9,
                "{volts}"
            );
        }
        assert!((state_percent(12.55, 1.0) - 87.5).abs() < 1e-9);
        assert_eq!(
            (state_percent(13.2, 1.0), state_percent(9.0, 1.0)),
            (100.0, 0.0)
        );
    }

    #[test]
    fn an_empty_battery_is_charged_first_and_other_kinds_have_their_makers_data() {
        let charge = |volts, system, kind| rested_facts(volts, system, kind)["charge"].clone();
        assert_eq!(charge(12.45, "twelve-volts", "flooded"), "enough");
        assert_eq!(charge(12.44, "twelve-volts", "flooded"), "charge-first");
        assert_eq!(charge(24.9, "twenty-four-volts", "flooded"), "enough");
        assert_eq!(charge(12.7, "twelve-volts", "mat"), "makers-data");
    }

    /// A workshop manual: 9.6 V at 20 °C, 9.4 at 10, 9.1 at −1, 8.7 at −12, 8.5 at −18; between them
    /// a straight line.
    #[test]
    fn least_cranking_voltage_follows_the_temperature() {
        for (celsius, volts) in [
            (20.0, 9.6),
            (10.0, 9.4),
            (-1.0, 9.1),
            (-12.0, 8.7),
            (-18.0, 8.5),
        ] {
            assert!(
                (least_cranking(celsius, 1.0) - volts).abs() < 1e-9,
                "{celsius}"
            );
        }
        assert!((least_cranking(15.0, 1.0) - 9.5).abs() < 1e-9);
        assert_eq!(
            (least_cranking(35.0, 1.0), least_cranking(-30.0, 1.0)),
            (9.6, 8.5)
        );
        let judged = |volts, celsius| {
            cranking_facts(volts, celsius, "twelve-volts").unwrap()["judged"].clone()
        };
        assert_eq!(judged(9.6, 20.0), "holds");
        assert_eq!(judged(9.59, 20.0), "falls-short");
        assert_eq!(judged(9.1, -1.0), "holds");
    }

    #[test]
    fn more_than_a_battery_holds_while_cranking_is_refused() {
        let refused = |volts, system| cranking_facts(volts, 10.0, system).unwrap_err();
        let why = refused(17.0, "twelve-volts");
        assert!(why.contains("17.00 V") && why.contains("under 13.5 V") && why.contains("charger"));
        assert!(refused(27.1, "twenty-four-volts").contains("24 V system"));
        assert!(cranking_facts(17.0, 10.0, "twenty-four-volts").is_ok());
        assert!(cranking_facts(13.5, 10.0, "twelve-volts").is_ok());
    }
}
