//! Both sides of the cranking circuit: what is lost between battery and starter while it cranks.

use std::collections::BTreeMap;

/// Drop on both sides together, volts per ampere: 0.20 V per 100 A, US Army TM 10-3930-671-24.
pub const WHOLE_V_PER_A: f64 = 0.002;

/// Greatest drop of the positive side: the same manual.
pub const POSITIVE_V: f64 = 0.4;

/// Greatest drop of the ground side: a textbook, from memory.
pub const GROUND_V: f64 = 0.2;

/// What adding two readings in binary can miss, volts; no meter resolves as much.
const ROUNDING_V: f64 = 1e-9;

/// Which side loses too much.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Finding {
    /// Neither.
    Sound,
    /// Battery to starter.
    Positive,
    /// Starter back to battery.
    Ground,
    /// Both.
    Both,
}

impl Finding {
    /// Its name, as procedures test it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Finding::Sound => "sound",
            Finding::Positive => "positive",
            Finding::Ground => "ground",
            Finding::Both => "both",
        }
    }

    fn meaning(self) -> &'static str {
        match self {
            Finding::Sound => "Cables and joints are sound.",
            Finding::Positive => {
                "The positive side loses too much: posts, clamps, cable, solenoid, one after the other."
            }
            Finding::Ground => {
                "The ground side loses too much: post, clamp, cable, engine strap, one after the other."
            }
            Finding::Both => "Both sides lose too much: begin at the battery's posts and clamps.",
        }
    }
}

/// Judge the drops in volts at a current in ampere. Each side has its own limit; where only both together
/// are over, the side is accused that takes more than its part of what is allowed.
#[must_use]
pub fn judge(positive: f64, ground: f64, current: f64) -> Finding {
    let whole = WHOLE_V_PER_A * current;
    let share = POSITIVE_V / (POSITIVE_V + GROUND_V);
    // a sum of two readings that meets the limit must not pass it by how binary numbers are rounded
    let over = positive + ground - whole > ROUNDING_V;
    let bad_positive = positive > POSITIVE_V || (over && positive > share * whole);
    let bad_ground = ground > GROUND_V || (over && ground > (1.0 - share) * whole);
    match (bad_positive, bad_ground) {
        (true, true) => Finding::Both,
        (true, false) => Finding::Positive,
        (false, true) => Finding::Ground,
        (false, false) => Finding::Sound,
    }
}

/// The facts of computation "cranking circuit".
#[must_use]
pub fn facts(positive: f64, ground: f64, current: f64) -> BTreeMap<String, String> {
    let finding = judge(positive, ground, current);
    let whole = WHOLE_V_PER_A * current;
    let drops = format!(
        "{positive} V on the positive side (at most {POSITIVE_V}), {ground} V on the ground side (at most {GROUND_V}), {:.3} V in all at {current:.0} A (at most {whole:.3})",
        positive + ground
    );
    [
        ("finding", finding.name().to_owned()),
        ("drops", drops),
        ("meaning", finding.meaning().to_owned()),
    ]
    .map(|(name, value)| (name.to_owned(), value))
    .into()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// US Army TM 10-3930-671-24: 0.20 V per 100 A in all, positive side at most 0.4 V; ground side at
    /// most 0.2 V by a textbook, from memory.
    #[test]
    fn each_side_and_the_whole_have_their_limits() {
        assert_eq!(judge(0.25, 0.12, 200.0), Finding::Sound);
        assert_eq!(judge(0.26, 0.14, 200.0), Finding::Sound); // 0.40 of 0.40
        assert_eq!(judge(0.45, 0.05, 300.0), Finding::Positive);
        assert_eq!(judge(0.10, 0.25, 300.0), Finding::Ground);
        assert_eq!(judge(0.50, 0.30, 300.0), Finding::Both);
        // neither over its own limit, both together over 0.2 V at 100 A
        assert_eq!(judge(0.20, 0.05, 100.0), Finding::Positive);
        assert_eq!(judge(0.10, 0.15, 100.0), Finding::Ground);
        assert!(
            facts(0.45, 0.05, 300.0)["drops"].contains("0.500 V in all at 300 A (at most 0.600)")
        );
    }

    /// However the whole is exceeded, some side is accused.
    #[test]
    fn a_whole_that_is_over_never_comes_out_sound() {
        for positive in 0..60 {
            for ground in 0..60 {
                let (p, g) = (f64::from(positive) / 100.0, f64::from(ground) / 100.0);
                let over = p + g > 0.3 + 1e-9;
                assert!(!over || judge(p, g, 150.0) != Finding::Sound, "{p} {g}");
            }
        }
    }
}
