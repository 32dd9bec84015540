//! How long a starter may turn and must rest, by the shop's limit, and how much rest is still due.

use serde::{Deserialize, Serialize};

/// Seconds that a starter may turn in one go where the shop decides nothing else, and the rest after
/// it. Common practice of the trade, no source.
const USUAL: StarterDuty = StarterDuty {
    crank_seconds: 10,
    rest_seconds: 120,
};

/// How long a starter may turn in one go, and must rest after it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct StarterDuty {
    /// Seconds of one crank.
    pub crank_seconds: u32,
    /// Seconds of rest after it.
    pub rest_seconds: u32,
}

impl Default for StarterDuty {
    fn default() -> Self {
        USUAL
    }
}

/// One crank: when it ended, seconds on any clock, and how long it took.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crank {
    /// Its end.
    pub end_s: f64,
    /// Its length.
    pub seconds: f64,
}

impl StarterDuty {
    /// Seconds cranked since the starter last had its whole rest, by cranks in order of time.
    #[must_use]
    pub fn turned(&self, cranks: &[Crank]) -> f64 {
        let since = &cranks[self.last_rest(cranks)..];
        since.iter().map(|crank| crank.seconds).sum()
    }

    /// How many of the cranks, in order of time, came before the starter's last whole rest.
    #[must_use]
    pub fn last_rest(&self, cranks: &[Crank]) -> usize {
        let rested = |pair: &[Crank]| {
            let rest = pair[1].end_s - pair[1].seconds - pair[0].end_s;
            rest >= f64::from(self.rest_seconds)
        };
        let last = cranks.windows(2).rposition(rested);
        last.map_or(0, |at| at + 1)
    }

    /// Seconds of rest that are still due at `now` before the starter turns for `next` more seconds. A
    /// clock that went backwards earns no rest.
    #[must_use]
    pub fn rest_due(&self, cranks: &[Crank], now: f64, next: f64) -> f64 {
        if self.turned(cranks) + next <= f64::from(self.crank_seconds) {
            return 0.0;
        }
        self.rest_left(cranks, now)
    }

    /// Seconds that it may turn at `now` before it is due a rest.
    #[must_use]
    pub fn may_turn(&self, cranks: &[Crank], now: f64) -> f64 {
        let turned = match self.rest_left(cranks, now) > 0.0 {
            true => self.turned(cranks),
            false => 0.0,
        };
        (f64::from(self.crank_seconds) - turned).max(0.0)
    }

    /// Seconds until the last crank's whole rest is over.
    #[must_use]
    pub fn rest_left(&self, cranks: &[Crank], now: f64) -> f64 {
        let Some(last) = cranks.last() else {
            return 0.0;
        };
        let rested = (now - last.end_s).max(0.0);
        (f64::from(self.rest_seconds) - rested).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn crank(end_s: f64, seconds: f64) -> Crank {
        Crank { end_s, seconds }
    }

    /// At most 30 s of cranking, then at least 2 min of rest: US Army TM 10-3930-671-24.
    #[test]
    fn the_published_limit_is_kept() {
        let duty = StarterDuty {
            crank_seconds: 30,
            rest_seconds: 120,
        };
        let cranks = [crank(30.0, 30.0)];
        assert_eq!(duty.rest_due(&cranks, 30.0, 1.0), 120.0);
        assert_eq!(duty.rest_due(&cranks, 149.0, 1.0), 1.0);
        assert_eq!(duty.rest_due(&cranks, 150.0, 30.0), 0.0);
    }

    #[test]
    fn short_cranks_add_up_until_a_whole_rest() {
        let duty = StarterDuty::default();
        let cranks = [crank(2.0, 2.0)];
        assert_eq!(duty.rest_due(&cranks, 10.0, 8.0), 0.0);
        let cranks = [crank(2.0, 2.0), crank(20.0, 7.0)];
        assert_eq!(duty.turned(&cranks), 9.0);
        assert_eq!(duty.rest_due(&cranks, 50.0, 7.0), 90.0);
        let rested = [crank(2.0, 2.0), crank(20.0, 7.0), crank(147.0, 7.0)];
        assert_eq!(duty.turned(&rested), 7.0);
    }

    #[test]
    fn what_was_turned_is_taken_from_what_may_be_until_the_rest_is_over() {
        let duty = StarterDuty::default();
        let proof = [crank(2.0, 2.0)];
        assert_eq!(duty.may_turn(&[], 0.0), 10.0);
        assert_eq!(duty.may_turn(&proof, 60.0), 8.0);
        assert_eq!(duty.may_turn(&proof, 122.0), 10.0);
        let both = [crank(2.0, 2.0), crank(60.0, 10.0)];
        assert_eq!(duty.may_turn(&both, 90.0), 0.0);
    }

    #[test]
    fn a_clock_that_ran_back_earns_no_rest() {
        let duty = StarterDuty::default();
        assert_eq!(duty.rest_due(&[crank(1000.0, 10.0)], 0.0, 7.0), 120.0);
        assert_eq!(duty.rest_due(&[], 0.0, 10.0), 0.0);
    }
}
