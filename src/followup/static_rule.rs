//! The rules by which readings of static compression are judged. They differ from book to book and accuse
//! different cylinders, so the rule is a parameter: the maker's figures first, else the shop's rule.
//! Decimals throughout, because a limit is met exactly or not.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

/// A rule for petrol engines that a shop may set where the maker gives no figures.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum ShopRule {
    /// Lowest at least 75 % of highest: US Army TM 5-4210-230-14&P-1.
    #[default]
    #[serde(rename = "share-75")]
    ShareOf75,
    /// None more than 20 % under the mean: US Army TM 1-1500-204-23-1.
    #[serde(rename = "mean-20")]
    MeanLess20,
    /// Lowest at least 70 % of highest and at least 100 psi: car makers' manuals.
    #[serde(rename = "share-70-over-100-psi")]
    ShareOf70Over100Psi,
}

impl ShopRule {
    /// All of them.
    pub const ALL: [ShopRule; 3] = [
        ShopRule::ShareOf75,
        ShopRule::MeanLess20,
        ShopRule::ShareOf70Over100Psi,
    ];

    /// As a shop's policy writes it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            ShopRule::ShareOf75 => "share-75",
            ShopRule::MeanLess20 => "mean-20",
            ShopRule::ShareOf70Over100Psi => "share-70-over-100-psi",
        }
    }
}

/// A rule with all its figures; pressures in psi, gauge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rule {
    /// At least this share of the highest, percent, and at least this pressure.
    Share {
        /// Percent.
        percent: Decimal,
        /// Least pressure.
        least: Decimal,
    },
    /// At most this far under the mean, percent.
    UnderMean {
        /// Percent.
        percent: Decimal,
    },
    /// At most this much below the highest, and at least this pressure.
    Difference {
        /// Greatest difference.
        most: Decimal,
        /// Least pressure.
        least: Decimal,
    },
}

/// Diesel engines: all within 100 psi, used at least 300 psi; US Army TM 5-2420-230-24-2, at 250 rpm.
pub const DIESEL: Rule = Rule::Difference {
    most: Decimal::from_parts(100, 0, 0, false, 0),
    least: Decimal::from_parts(300, 0, 0, false, 0),
};

impl From<ShopRule> for Rule {
    fn from(rule: ShopRule) -> Self {
        match rule {
            ShopRule::ShareOf75 => Rule::Share {
                percent: 75.into(),
                least: Decimal::ZERO,
            },
            ShopRule::MeanLess20 => Rule::UnderMean { percent: 20.into() },
            ShopRule::ShareOf70Over100Psi => Rule::Share {
                percent: 70.into(),
                least: 100.into(),
            },
        }
    }
}

impl Rule {
    /// Which of the readings are low.
    #[must_use]
    pub fn low(&self, readings: &[Decimal]) -> Vec<bool> {
        let highest = readings.iter().max().copied().unwrap_or_default();
        let sum: Decimal = readings.iter().sum();
        let count = Decimal::from(readings.len());
        let low = |reading: &Decimal| match *self {
            Rule::Share { percent, least } => {
                *reading * Decimal::ONE_HUNDRED < percent * highest || *reading < least
            }
            Rule::UnderMean { percent } => {
                *reading * count * Decimal::ONE_HUNDRED < (Decimal::ONE_HUNDRED - percent) * sum
            }
            Rule::Difference { most, least } => highest - *reading > most || *reading < least,
        };
        readings.iter().map(low).collect()
    }

    /// The rule in words.
    #[must_use]
    pub fn words(&self) -> String {
        let floor = |least: Decimal| {
            if least.is_zero() {
                String::new()
            } else {
                format!(" and at least {least} psi")
            }
        };
        match *self {
            Rule::Share { percent, least } if percent.is_zero() => {
                format!("each at least {least} psi")
            }
            Rule::Share { percent, least } => {
                format!("each at least {percent} % of the highest{}", floor(least))
            }
            Rule::UnderMean { percent } => format!("none more than {percent} % under the mean"),
            Rule::Difference { most, least } => {
                format!(
                    "none more than {most} psi below the highest{}",
                    floor(least)
                )
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn low(rule: impl Into<Rule>, readings: &[i64]) -> Vec<usize> {
        let readings: Vec<Decimal> = readings.iter().map(|r| Decimal::from(*r)).collect();
        let low = rule.into().low(&readings);
        (1..)
            .zip(low)
            .filter(|(_, low)| *low)
            .map(|(n, _)| n)
            .collect()
    }

    /// Readings that tell the published rules apart, percentages computed: 150/150/150/113 is 75.33 %
    /// of the highest; /112 is 74.67 % and 20.3 % under the mean; /105 is 70.0 %; 150/110/110/110 is
    /// 73.3 % of the highest but only 8.3 % under the mean. Rules: US Army TM 5-4210-230-14&P-1 (75 %),
    /// TM 1-1500-204-23-1 (20 % under the mean), car makers' manuals (70 % and 100 psi).
    #[test]
    fn the_published_rules_accuse_different_cylinders() {
        let sets: [(&[i64], [&[usize]; 3]); 6] = [
            (&[150, 150, 150, 113], [&[], &[], &[]]),
            (&[150, 150, 150, 112], [&[4], &[4], &[]]),
            (&[150, 150, 150, 105], [&[4], &[4], &[]]),
            (&[150, 150, 150, 104], [&[4], &[4], &[4]]),
            (&[150, 110, 110, 110], [&[2, 3, 4], &[], &[]]),
            (&[110, 110, 99, 110], [&[], &[], &[3]]),
        ];
        for (readings, [by_75, by_mean, by_70]) in sets {
            assert_eq!(low(ShopRule::ShareOf75, readings), by_75, "{readings:?}");
            assert_eq!(low(ShopRule::MeanLess20, readings), by_mean, "{readings:?}");
            assert_eq!(
                low(ShopRule::ShareOf70Over100Psi, readings),
                by_70,
                "{readings:?}"
            );
        }
    }

    /// US Army TM 5-2420-230-24-2: all within 100 psi, used at least 300 psi.
    #[test]
    fn a_diesel_is_judged_by_difference_and_floor() {
        assert_eq!(low(DIESEL, &[400, 390, 300, 395]), [0; 0]);
        assert_eq!(low(DIESEL, &[410, 390, 309, 395]), [3]);
        assert_eq!(low(DIESEL, &[350, 299, 340, 345]), [2]);
        assert_eq!(low(DIESEL, &[290, 280, 285, 295]), [1, 2, 3, 4]);
    }

    /// A policy and a journal write the rule alike.
    #[test]
    fn a_rule_reads_back_from_its_name() {
        for rule in ShopRule::ALL {
            let text = format!("\"{}\"", rule.name());
            assert_eq!(serde_json::to_string(&rule).unwrap(), text);
            assert_eq!(serde_json::from_str::<ShopRule>(&text).unwrap(), rule);
        }
    }
}
