//! Running compression: a gauge in one cylinder while the others run. At idle the closed throttle lets
//! little air in; at a snap of it a full charge gets in, if the way in and out is free. Shares of the
//! cranking pressure; common practice of the trade, no source, and best compared with a sound cylinder.

use std::collections::BTreeMap;

/// Usual share at idle: about half of the cranking pressure. Common practice, no source; how far from half
/// is still usual is our own choice.
pub const USUAL_IDLE_PERCENT: std::ops::RangeInclusive<f64> = 35.0..=70.0;

/// At a snap about 80 %; from here down "well under", which speaks for a restricted inlet. Common
/// practice; the number is our own choice.
pub const INLET_PERCENT: f64 = 65.0;

/// At a snap, from here "near or over 100 %", which speaks for a restricted exhaust. Common practice; the
/// number is our own choice.
pub const EXHAUST_PERCENT: f64 = 95.0;

/// What the readings of one cylinder speak for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Finding {
    /// Air gets in and out.
    Usual,
    /// Too little air gets in.
    Inlet,
    /// Exhaust does not get out.
    Exhaust,
    /// Idle out of the usual, the snap in it.
    IdleOff,
}

impl Finding {
    /// Its name, as procedures test it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Finding::Usual => "usual",
            Finding::Inlet => "inlet",
            Finding::Exhaust => "exhaust",
            Finding::IdleOff => "idle-off",
        }
    }

    fn meaning(self) -> &'static str {
        match self {
            Finding::Usual => "Air gets in and out of this cylinder as it should.",
            Finding::Inlet => {
                "At a snap of the throttle too little air gets in: a worn cam lobe, a collapsed lifter, carbon or a blocked inlet on this cylinder; a blocked filter or duct where all cylinders are alike."
            }
            Finding::Exhaust => {
                "At a snap of the throttle as much pressure stands as while cranking, or more: exhaust stays in the cylinder. A blocked catalyst or silencer where all cylinders are alike; the exhaust valve's lift on one."
            }
            Finding::IdleOff => {
                "Idle is out of the usual while the snap is not: compare with a sound cylinder before anything is concluded; valve timing and idle vacuum come next."
            }
        }
    }
}

/// Judge one cylinder; all three pressures gauge, in one unit.
#[must_use]
pub fn judge(cranking: f64, idle: f64, snap: f64) -> Finding {
    let share = |part: f64| part / cranking * 100.0;
    if share(snap) >= EXHAUST_PERCENT {
        Finding::Exhaust
    } else if share(snap) < INLET_PERCENT {
        Finding::Inlet
    } else if USUAL_IDLE_PERCENT.contains(&share(idle)) {
        Finding::Usual
    } else {
        Finding::IdleOff
    }
}

/// The facts of computation "running compression".
///
/// # Errors
/// Where the cranking pressure is not above zero.
pub fn facts(cranking: f64, idle: f64, snap: f64) -> Result<BTreeMap<String, String>, String> {
    if cranking <= 0.0 || cranking.is_nan() {
        return Err(
            "the cranking pressure is zero: there is nothing to compare with; measure static compression first"
                .to_owned(),
        );
    }
    let finding = judge(cranking, idle, snap);
    Ok([
        ("finding", finding.name().to_owned()),
        ("idle share", format!("{:.0} %", idle / cranking * 100.0)),
        ("snap share", format!("{:.0} %", snap / cranking * 100.0)),
        (
            "meaning",
            format!("{} Common practice of the trade.", finding.meaning()),
        ),
    ]
    .map(|(name, value)| (name.to_owned(), value))
    .into())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Common practice, no source: idle about half of cranking, 50 to 75 psi; snap about 80 %; well under
    /// it a restricted inlet, near or over 100 % a restricted exhaust.
    #[test]
    fn the_trades_figures_are_usual_and_what_strays_from_them_is_named() {
        for idle in [50.0, 75.0] {
            assert_eq!(judge(130.0, idle, 0.8 * 130.0), Finding::Usual);
        }
        assert_eq!(judge(150.0, 75.0, 120.0), Finding::Usual);
        assert_eq!(judge(150.0, 75.0, 80.0), Finding::Inlet);
        assert_eq!(judge(150.0, 75.0, 150.0), Finding::Exhaust);
        assert_eq!(judge(150.0, 75.0, 160.0), Finding::Exhaust);
        assert_eq!(judge(150.0, 30.0, 120.0), Finding::IdleOff);
        assert_eq!(facts(150.0, 75.0, 120.0).unwrap()["snap share"], "80 %");
        assert!(
            facts(0.0, 75.0, 120.0)
                .unwrap_err()
                .contains("static compression first")
        );
    }
}
