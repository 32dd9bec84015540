//! Static compression: a gauge in each cylinder in turn, the starter turning the engine with all plugs out,
//! the throttle open and the battery full. Readings stand in order of cylinder number.

use std::collections::BTreeMap;

use rust_decimal::{Decimal, RoundingStrategy};

use super::altitude::pressure_ratio;
use super::static_rule::Rule;

/// Decimal places of a pressure in psi; no gauge resolves more.
const PLACES: u32 = 1;

/// What the readings say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// None is low.
    Even,
    /// Some are low.
    Low,
    /// All are low, by a pressure that none reaches.
    AllLow,
}

impl Verdict {
    /// Its name, as procedures test it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Verdict::Even => "even",
            Verdict::Low => "low",
            Verdict::AllLow => "all-low",
        }
    }
}

/// Readings, judged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Judged {
    /// On all of them together.
    pub verdict: Verdict,
    /// Numbers of the low cylinders.
    pub low: Vec<usize>,
    /// The lowest cylinder and its pressure, psi.
    pub lowest: (usize, Decimal),
    /// The highest pressure, psi.
    pub highest: Decimal,
}

/// A rule with whose it is.
pub type Limit<'o> = (Rule, &'o str);

/// Judge readings in psi, that of cylinder 1 first, by all the rules together; none where there are no
/// readings.
#[must_use]
pub fn judge(readings: &[Decimal], limits: &[Limit<'_>]) -> Option<Judged> {
    let numbered = || (1..).zip(readings.iter().copied());
    let lowest = numbered().min_by_key(|(_, reading)| *reading)?;
    let mut flags = vec![false; readings.len()];
    for (rule, _) in limits {
        for (flag, low) in flags.iter_mut().zip(rule.low(readings)) {
            *flag |= low;
        }
    }
    let low: Vec<usize> = (1..)
        .zip(&flags)
        .filter(|(_, low)| **low)
        .map(|(cylinder, _)| cylinder)
        .collect();
    let verdict = match low.len() {
        0 => Verdict::Even,
        count if count == readings.len() => Verdict::AllLow,
        _ => Verdict::Low,
    };
    Some(Judged {
        verdict,
        low,
        lowest,
        highest: readings.iter().max().copied()?,
    })
}

/// The maker's least pressure, which holds at sea level, at an altitude in metres.
#[must_use]
pub fn makers_least(least: Decimal, altitude_m: f64) -> Rule {
    let ratio = Decimal::from_f64_retain(pressure_ratio(altitude_m)).unwrap_or(Decimal::ONE);
    Rule::Share {
        percent: Decimal::ZERO,
        least: on_grid(least * ratio),
    }
}

/// The maker's greatest difference between cylinders.
#[must_use]
pub fn makers_difference(most: Decimal) -> Rule {
    Rule::Difference {
        most: on_grid(most),
        least: Decimal::ZERO,
    }
}

fn on_grid(value: Decimal) -> Decimal {
    value.round_dp_with_strategy(PLACES, RoundingStrategy::MidpointAwayFromZero)
}

/// The facts of computation "static compression".
///
/// # Errors
/// Where there are no readings.
pub fn facts(
    readings: &[Decimal],
    limits: &[Limit<'_>],
) -> Result<BTreeMap<String, String>, String> {
    let judged =
        judge(readings, limits).ok_or("there are no readings to judge; go back and measure")?;
    let (cylinder, pressure) = judged.lowest;
    let share = if judged.highest.is_zero() {
        "–".to_owned()
    } else {
        let share = pressure * Decimal::ONE_HUNDRED / judged.highest;
        format!("{} %", on_grid(share))
    };
    let listed: Vec<String> = judged.low.iter().map(usize::to_string).collect();
    let shown: Vec<String> = (1..)
        .zip(readings)
        .map(|(cylinder, reading)| format!("{cylinder}: {}", on_grid(*reading).normalize()))
        .collect();
    let rules: Vec<String> = limits
        .iter()
        .map(|(rule, origin)| format!("{} ({origin})", rule.words()))
        .collect();
    let lowest = format!(
        "Cylinder {cylinder} is the lowest with {} psi, {share} of the highest",
        on_grid(pressure).normalize()
    );
    let why = match judged.verdict {
        Verdict::Even => format!("No cylinder is low. {lowest}."),
        Verdict::Low => match &listed[..] {
            [one] => format!("{lowest}. Low: cylinder {one}."),
            several => format!("{lowest}. Low: cylinders {}.", several.join(", ")),
        },
        Verdict::AllLow => format!("All cylinders are low. {lowest}."),
    };
    Ok([
        ("verdict", judged.verdict.name().to_owned()),
        ("lowest cylinder", cylinder.to_string()),
        ("lowest pressure", format!("{} psi", on_grid(pressure))),
        (
            "low cylinders",
            if listed.is_empty() {
                "none".to_owned()
            } else {
                listed.join(", ")
            },
        ),
        ("readings", format!("{} psi", shown.join(", "))),
        ("rule", rules.join("; ")),
        ("why", why),
    ]
    .map(|(name, value)| (name.to_owned(), value))
    .into())
}

#[cfg(test)]
mod tests {
    use super::super::static_rule::ShopRule;
    use super::*;

    fn psi(readings: &[i64]) -> Vec<Decimal> {
        readings.iter().map(|r| Decimal::from(*r)).collect()
    }

    #[test]
    fn some_low_is_told_from_all_low() {
        let floor = [(Rule::from(ShopRule::ShareOf70Over100Psi), "the shop's rule")];
        let verdict = |readings: &[i64]| judge(&psi(readings), &floor).unwrap().verdict;
        assert_eq!(verdict(&[150, 148, 151, 149]), Verdict::Even);
        assert_eq!(verdict(&[150, 148, 90, 149]), Verdict::Low);
        assert_eq!(verdict(&[92, 90, 95, 91]), Verdict::AllLow);
        assert!(judge(&[], &floor).is_none());
    }

    /// ISO 2533: 0.8320 of the sea-level pressure at 5000 ft, so a maker's least of 100 psi is 83.2 psi
    /// there; by the density it would be 86.2.
    #[test]
    fn a_makers_least_pressure_is_taken_to_the_altitude() {
        let Rule::Share { least, .. } = makers_least(100.into(), 1524.0) else {
            panic!("another rule");
        };
        assert_eq!(least.to_string(), "83.2");
        let low = makers_least(100.into(), 1524.0).low(&psi(&[110, 84, 80, 83]));
        assert_eq!(low, [false, false, true, true]);
        let both = [
            (makers_least(100.into(), 0.0), "m"),
            (makers_difference(30.into()), "m"),
        ];
        assert_eq!(
            judge(&psi(&[140, 110, 109, 99]), &both).unwrap().low,
            [3, 4]
        );
    }

    #[test]
    fn the_facts_name_cylinder_share_and_rule() {
        let rule = [(Rule::from(ShopRule::ShareOf75), "the shop's rule")];
        let facts = facts(&psi(&[150, 150, 150, 113]), &rule).unwrap();
        assert_eq!(facts["verdict"], "even");
        assert_eq!(facts["lowest pressure"], "113 psi");
        assert_eq!(
            facts["rule"],
            "each at least 75 % of the highest (the shop's rule)"
        );
        assert!(
            facts["why"].contains("75.3 % of the highest"),
            "{}",
            facts["why"]
        );
    }
}
