//! Where the air of a leak-down test escapes, how that is noticed, and what it means. Common practice
//! of the trade, no single source.

/// How the meanings are marked wherever they are shown.
pub const BASIS: &str = "common practice of the trade, no single source";

/// A way out of the cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Escape {
    /// Past the inlet valve.
    Inlet,
    /// Past the exhaust valve.
    Exhaust,
    /// Past the piston.
    Crankcase,
    /// Into the cooling jacket.
    Coolant,
    /// Into the cylinder beside it.
    Neighbour,
    /// No way out is heard or seen.
    Nowhere,
}

impl Escape {
    /// All of them, in the order in which they are looked for.
    pub const ALL: [Escape; 6] = [
        Escape::Inlet,
        Escape::Exhaust,
        Escape::Crankcase,
        Escape::Coolant,
        Escape::Neighbour,
        Escape::Nowhere,
    ];

    /// Its name, as procedures offer it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Escape::Inlet => "inlet",
            Escape::Exhaust => "exhaust",
            Escape::Crankcase => "crankcase",
            Escape::Coolant => "coolant",
            Escape::Neighbour => "neighbour",
            Escape::Nowhere => "nowhere",
        }
    }

    /// The escape of that name.
    #[must_use]
    pub fn parse(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|escape| escape.name() == name)
    }

    /// How it is noticed.
    #[must_use]
    pub fn sign(self) -> &'static str {
        match self {
            Escape::Inlet => "Air hisses at the air intake with the throttle open.",
            Escape::Exhaust => "Air hisses at the tailpipe.",
            Escape::Crankcase => "Air hisses at the oil filler or the dipstick tube.",
            Escape::Coolant => "Bubbles rise in the cooling system, its cap taken off cold.",
            Escape::Neighbour => "Air hisses at the plug hole of the cylinder beside it.",
            Escape::Nowhere => "No hiss and no bubbles.",
        }
    }

    /// What it points at.
    #[must_use]
    pub fn meaning(self) -> &'static str {
        match self {
            Escape::Inlet => {
                "The inlet valve does not close: burnt or bent, carbon on the seat, no clearance; or the piston is not at the top of its compression stroke."
            }
            Escape::Exhaust => {
                "The exhaust valve does not close: burnt or bent, carbon on the seat, no clearance; or the piston is not at the top of its compression stroke."
            }
            Escape::Crankcase => {
                "Air passes the piston: rings or cylinder wall worn or scored, piston cracked or holed. A little of this is normal."
            }
            Escape::Coolant => {
                "Air reaches the cooling jacket: head gasket blown, or head or block cracked."
            }
            Escape::Neighbour => "The head gasket is blown between the two cylinders.",
            Escape::Nowhere => {
                "If the loss is small, the cylinder holds air: look at valve timing and running compression. If it is large, look for a leak at the fitting or hose first."
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_escape_reads_back_and_no_two_mean_the_same() {
        let mut meanings: Vec<&str> = Escape::ALL.iter().map(|e| e.meaning()).collect();
        meanings.sort_unstable();
        meanings.dedup();
        assert_eq!(meanings.len(), Escape::ALL.len());
        for escape in Escape::ALL {
            assert_eq!(Escape::parse(escape.name()), Some(escape));
        }
        assert_eq!(Escape::parse("moon"), None);
    }
}
