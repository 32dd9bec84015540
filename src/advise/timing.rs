//! How long to crank and to record, and how fast to sample.

use super::Given;
use crate::cranking::quality::limit;

/// Engine cycles wanted: common practice of the analysis; the scatter of the mean falls with their number.
pub const WANTED_CYCLES: u32 = 8;

/// Seconds from the key to steady cranking. From memory, no source.
pub const RUN_UP_S: f64 = 1.0;

/// Seconds recorded before the key is turned and after it is let go. Our own choice.
const MARGIN_S: f64 = 1.0;

/// Degrees of the crank to a sample: places the reference event and the top of a compression.
const DEGREES_PER_SAMPLE: f64 = 2.0;

/// Samples in each tooth's period, so that its length is known to 2 %.
const SAMPLES_PER_TOOTH: f64 = 50.0;

/// Positions of a crank wheel where it is not known: common, no source.
pub const USUAL_WHEEL: u32 = 60;

/// What time asks for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Timing {
    /// Compressions a second.
    pub event_hz: f64,
    /// Length of an engine cycle, two turns of the crank.
    pub cycle_s: f64,
    /// Whole cycles of one crank.
    pub cycles: u32,
    /// Seconds of that crank, run-up included.
    pub crank_s: f64,
    /// Cranks until there are the wanted cycles, a rest between each two; none where one holds too few.
    pub cranks: Option<u32>,
    /// Seconds to record.
    pub record_s: f64,
    /// Samples a second below which the analysis refuses.
    pub refused_below_hz: f64,
    /// Samples a second to set at least, for a signal of current or voltage.
    pub rate_hz: f64,
    /// Samples a second to set at least, for the teeth of the crank wheel.
    pub teeth_rate_hz: f64,
}

/// Timing of that plan.
#[must_use]
pub fn timing(given: &Given) -> Timing {
    let cylinders = given.engine.cylinders() as f64;
    let event_hz = given.rpm / 60.0 * cylinders / 2.0;
    let cycle_s = 120.0 / given.rpm;
    let allowed = f64::from(given.duty.crank_seconds) - RUN_UP_S;
    // a hair more, so that a limit that holds exactly three cycles holds three
    let fitting = (allowed / cycle_s + 1e-9).floor().max(0.0) as u32;
    let cycles = fitting.min(WANTED_CYCLES);
    let crank_s = (RUN_UP_S + f64::from(cycles) * cycle_s).min(f64::from(given.duty.crank_seconds));
    let wheel = given.wheel_positions.unwrap_or(USUAL_WHEEL);
    let teeth_hz = given.rpm / 60.0 * f64::from(wheel);
    Timing {
        event_hz,
        cycle_s,
        cycles,
        crank_s,
        cranks: (f64::from(cycles) >= limit::CYCLES).then(|| WANTED_CYCLES.div_ceil(cycles)),
        record_s: round_up(crank_s + 2.0 * MARGIN_S),
        refused_below_hz: limit::SAMPLES * event_hz,
        rate_hz: round_up(given.rpm * 6.0 / DEGREES_PER_SAMPLE),
        teeth_rate_hz: round_up(SAMPLES_PER_TOOTH * teeth_hz),
    }
}

/// The next of 1, 2, 5, 10, 20, 50 … that is not less, as scopes are set.
fn round_up(value: f64) -> f64 {
    let decade = 10f64.powf(value.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|step| step * decade)
        .find(|step| *step >= value * (1.0 - 1e-9))
        .unwrap_or(10.0 * decade)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advise::tests::given;
    use crate::engine::Fuel;
    use crate::engine::starter_duty::StarterDuty;

    /// rpm/60 × N/2: a four at 200 rpm 6.667 Hz, a V8 at 150 rpm 10 Hz (and "10 compressions a second" of a
    /// 9-litre V8 at 150 rpm, a published marine training text); a cycle is 120/rpm.
    #[test]
    fn rates_are_the_published_ones() {
        let four = timing(&given("1-3-4-2", Fuel::Petrol, 200.0));
        assert!((four.event_hz - 6.667).abs() < 5e-4);
        assert!((1.0 / four.cycle_s - 200.0 / 120.0).abs() < 1e-12);
        let eight = timing(&given("1-8-4-3-6-5-7-2", Fuel::Petrol, 150.0));
        assert!((eight.event_hz - 10.0).abs() < 1e-12);
        // the work sheet asks for 1000 samples a second, 10 000 for teeth, ten seconds
        assert_eq!(
            (four.rate_hz, four.teeth_rate_hz, four.record_s),
            (1000.0, 10000.0, 10.0)
        );
        assert_eq!((four.cycles, four.cranks), (8, Some(1)));
    }

    /// The sheet for valve timing has no plan, and names turns and seconds in its text: those of this plan.
    #[test]
    fn the_sheet_without_a_plan_says_the_same() {
        let plan = timing(&given("1-3-4-2", Fuel::Petrol, 200.0));
        assert_eq!((2 * WANTED_CYCLES, plan.crank_s.round()), (16, 6.0));
        let sheet = include_str!("../../procedures/cam-correlation.yaml");
        let sheet: Vec<&str> = sheet.split_whitespace().collect();
        let sheet = sheet.join(" ");
        assert!(sheet.contains(
            "for sixteen turns once it is up to speed, about six seconds at 200 turns a minute"
        ));
    }

    /// 2 Hz is one event of a four at 60 rpm: a cycle of 2 s, of which ten seconds hold four after run-up.
    #[test]
    fn the_starters_limit_decides_how_many_cycles_fit() {
        let mut slow = given("1-3-4-2", Fuel::Petrol, 60.0);
        let timing_of = |given: &Given| timing(given);
        assert_eq!(
            (timing_of(&slow).cycles, timing_of(&slow).cranks),
            (4, Some(2))
        );
        assert!(timing_of(&slow).crank_s <= 10.0);
        slow.duty = StarterDuty {
            crank_seconds: 7,
            rest_seconds: 120,
        };
        assert_eq!(
            (timing_of(&slow).cycles, timing_of(&slow).cranks),
            (3, Some(3))
        );
        slow.duty.crank_seconds = 6;
        assert_eq!(
            (timing_of(&slow).cycles, timing_of(&slow).cranks),
            (2, None)
        );
    }

    #[test]
    fn settings_are_rounded_up_to_those_of_scopes() {
        let pairs = [
            (7.8, 10.0),
            (2.0, 2.0),
            (2.1, 5.0),
            (0.3, 0.5),
            (1000.0, 1000.0),
        ];
        for (value, set) in pairs {
            assert!((round_up(value) - set).abs() < 1e-9, "{value}");
        }
    }
}
