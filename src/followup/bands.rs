//! The bands in which a leak-down loss is judged.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Limits out of order.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "the limits {acceptable}, {poor} and {fault} % do not rise from above 0 to at most 100: write them in rising order"
)]
pub struct BandsError {
    /// From here acceptable.
    pub acceptable: Decimal,
    /// From here poor.
    pub poor: Decimal,
    /// From here a fault.
    pub fault: Decimal,
}

/// How good a loss is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Band {
    /// Seals well.
    Good,
    /// Seals as a used engine does.
    Acceptable,
    /// Worn.
    Poor,
    /// A fault.
    Fault,
}

impl Band {
    /// Its name, as procedures test it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Band::Good => "good",
            Band::Acceptable => "acceptable",
            Band::Poor => "poor",
            Band::Fault => "fault",
        }
    }

    /// What it says of the cylinder.
    #[must_use]
    pub fn meaning(self) -> &'static str {
        match self {
            Band::Good => "the cylinder seals well",
            Band::Acceptable => "the cylinder seals as a used engine does",
            Band::Poor => "the cylinder is worn; find where the air escapes",
            Band::Fault => "a fault; find where the air escapes",
        }
    }
}

/// From which loss on each band counts, in percent; each limit belongs to the worse band.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Bands {
    acceptable: Decimal,
    poor: Decimal,
    fault: Decimal,
}

impl Default for Bands {
    /// Road vehicles: `[0..10)` good, `[10..20)` acceptable, `[20..30)` poor, from 30 a
    /// fault. Common practice, no source.
    fn default() -> Self {
        Self {
            acceptable: Decimal::from(10),
            poor: Decimal::from(20),
            fault: Decimal::from(30),
        }
    }
}

impl Bands {
    /// Other limits, those of a maker for instance.
    ///
    /// # Errors
    /// Where they do not rise from above 0 to at most 100.
    pub fn new(acceptable: Decimal, poor: Decimal, fault: Decimal) -> Result<Self, BandsError> {
        let rising = Decimal::ZERO < acceptable
            && acceptable < poor
            && poor < fault
            && fault <= Decimal::ONE_HUNDRED;
        if rising {
            Ok(Self {
                acceptable,
                poor,
                fault,
            })
        } else {
            Err(BandsError {
                acceptable,
                poor,
                fault,
            })
        }
    }

    /// The limits in words: "under 10 % good, …".
    #[must_use]
    pub fn words(&self) -> String {
        format!(
            "under {} % good, under {} % acceptable, under {} % poor, else fault",
            self.acceptable, self.poor, self.fault
        )
    }

    /// The band of a loss in percent.
    #[must_use]
    pub fn of(&self, loss: Decimal) -> Band {
        if loss < self.acceptable {
            Band::Good
        } else if loss < self.poor {
            Band::Acceptable
        } else if loss < self.fault {
            Band::Poor
        } else {
            Band::Fault
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn band(text: &str) -> Band {
        Bands::default().of(text.parse().unwrap())
    }

    /// Bands of a textbook, from memory, and common practice: `[0..10)` `[10..20)` `[20..30)` `[30..`.
    #[test]
    fn each_limit_belongs_to_the_worse_band() {
        assert_eq!(band("0"), Band::Good);
        assert_eq!(band("9.99"), Band::Good);
        assert_eq!(band("10"), Band::Acceptable);
        assert_eq!(band("19.99"), Band::Acceptable);
        assert_eq!(band("20"), Band::Poor);
        assert_eq!(band("29.99"), Band::Poor);
        assert_eq!(band("30"), Band::Fault);
        assert_eq!(band("100"), Band::Fault);
    }

    #[test]
    fn shops_may_set_other_bands_in_rising_order_only() {
        let strict = Bands::new(5.into(), 10.into(), 15.into()).unwrap();
        assert_eq!(strict.of(12.into()), Band::Poor);
        let error = Bands::new(20.into(), 10.into(), 30.into()).unwrap_err();
        assert!(error.to_string().contains("rising order"));
    }
}
