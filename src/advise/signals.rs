//! Each signal judged: whether it can serve, in which range, at how many steps, and why; then ranked.
//! Numbers that name no source are our own choice.

use std::f64::consts::TAU;

use super::range::Range;
use super::swing::{Expected, SPREAD};
use super::timing::RUN_UP_S;
use super::{ClampAtHand, Given, Grounds, System};
use crate::cranking::quality::limit;

/// Least steps of the converter in the swing: common practice of the trade, no source.
pub const ENOUGH_STEPS: f64 = 50.0;

/// Slowest and fastest corner of a scope's AC coupling, Hz. From memory, no source.
const CORNERS_HZ: (f64, f64) = (0.1, 2.0);

/// How far the mean current may lie above the usual engine's.
const MEAN_SPREAD: f64 = 1.5;

/// Rested battery, fully charged, V (12.65 V, a battery council's table, from memory), doubled for 24 V.
const RESTED_V: f64 = 12.65;

/// A signal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Signal {
    /// Starter current by the clamp. The order is that of preference where several serve.
    Clamp,
    /// Voltage at the posts, AC-coupled.
    PostsAc,
    /// Voltage at the posts, DC-coupled.
    PostsDc,
    /// The crank sensor's teeth.
    CrankSensor,
    /// Voltage at the diagnostic connector, AC-coupled.
    Connector,
}

impl Signal {
    /// All, in order of preference.
    pub const ALL: [Signal; 5] = [
        Signal::Clamp,
        Signal::PostsAc,
        Signal::PostsDc,
        Signal::CrankSensor,
        Signal::Connector,
    ];

    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Signal::Clamp => "starter current, clamp",
            Signal::PostsAc => "voltage at the posts, AC",
            Signal::PostsDc => "voltage at the posts, DC",
            Signal::CrankSensor => "crank sensor",
            Signal::Connector => "diagnostic connector, AC",
        }
    }
}

/// Whether a signal can serve.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fit {
    /// It can.
    Serves,
    /// It can, with few steps: a wide interval, if a verdict at all.
    Coarse,
    /// It cannot.
    Unfit,
}

impl Fit {
    /// In a word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Fit::Serves => "serves",
            Fit::Coarse => "coarse",
            Fit::Unfit => "unfit",
        }
    }
}

/// A signal judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// Which.
    pub signal: Signal,
    /// Whether it can serve.
    pub fit: Fit,
    /// The range to set, where there is one that holds it.
    pub range: Option<Range>,
    /// Steps of the converter in the least swing that is to be expected.
    pub steps: Option<f64>,
    /// Why it is judged so, and why that range.
    pub why: String,
}

/// Every signal, best first.
#[must_use]
pub fn ranked(given: &Given, expected: &Expected) -> Vec<Judged> {
    let mut judged = Signal::ALL
        .map(|signal| judge(signal, given, expected))
        .to_vec();
    judged.sort_by_key(|judged| (judged.fit, judged.signal));
    judged
}

/// One signal.
#[must_use]
pub fn judge(signal: Signal, given: &Given, expected: &Expected) -> Judged {
    let unfit = |why: String| Judged {
        signal,
        fit: Fit::Unfit,
        range: None,
        steps: None,
        why,
    };
    if let Some(why) = grounded(signal, given.scope.grounds) {
        return unfit(why.to_owned());
    }
    match signal {
        Signal::Clamp => match &given.clamp {
            None => unfit("no clamp was named, and the shop lists none".to_owned()),
            Some(clamp) => match clamp_limit(clamp, given, expected) {
                Some(why) => unfit(why),
                None => by_clamp(clamp, given, expected),
            },
        },
        Signal::PostsAc => alternating(signal, given, expected),
        Signal::Connector => {
            let mut judged = alternating(signal, given, expected);
            judged.why += "; shared and fused, shows the ripple's shape and not the true drop";
            judged
        }
        Signal::PostsDc => direct(given, expected),
        Signal::CrankSensor => Judged {
            signal,
            fit: Fit::Serves,
            range: None,
            steps: None,
            why: "speed from the time between teeth; any range that holds the whole pulse; the wheel must be known"
                .to_owned(),
        },
    }
}

/// What every signal that is not unfit rests on, but for a clamp's, which touches nothing that carries current.
#[must_use]
pub fn grounds_rule(grounds: Grounds) -> &'static str {
    if grounds.isolated {
        "The inputs are isolated, so grounds forbid no signal."
    } else {
        "All but the clamp ask that scope and laptop run on battery and hang on no charger or diagnostic cable."
    }
}

/// Why the grounds forbid a signal; nothing where they permit it.
fn grounded(signal: Signal, grounds: Grounds) -> Option<&'static str> {
    let posts = matches!(signal, Signal::PostsAc | Signal::PostsDc);
    if posts && grounds.exchanged && (grounds.tied || !grounds.isolated) {
        return Some(
            "exchanged leads put a scope ground on battery positive and short it; leave them, the program draws the trace upside down",
        );
    }
    // the clamp touches nothing that carries current
    if signal != Signal::Clamp && grounds.tied && !grounds.isolated {
        return Some(
            "mains, charger or diagnostic cable tie the scope's ground to the vehicle; run it on battery or use isolated inputs",
        );
    }
    None
}

/// What a clamp is called, before what is said of it.
fn named(clamp: &ClampAtHand) -> String {
    let name = clamp.name.as_ref();
    name.map_or_else(String::new, |name| format!("clamp {name:?}: "))
}

/// Why a clamp cannot serve; nothing where it can.
fn clamp_limit(clamp: &ClampAtHand, given: &Given, expected: &Expected) -> Option<String> {
    let most = greatest_current(expected);
    if clamp.range_a < most {
        return Some(format!(
            "{}a clamp of {:.0} A saturates: up to {most:.0} A flow while cranking, and no coupling brings back what it cuts off",
            named(clamp),
            clamp.range_a
        ));
    }
    match (clamp.jaw_mm, given.cable_mm) {
        (Some(jaw), Some(cable)) if jaw < cable => Some(format!(
            "{}its jaws take {jaw:.0} mm, the starter's cable has {cable:.0} mm; jaws must be shut around the whole cable",
            named(clamp)
        )),
        _ => None,
    }
}

/// Greatest current of steady cranking that is to be held, A.
fn greatest_current(expected: &Expected) -> f64 {
    MEAN_SPREAD * expected.mean_a + SPREAD * expected.swing_a / 2.0
}

fn by_clamp(clamp: &ClampAtHand, given: &Given, expected: &Expected) -> Judged {
    let volts = |ampere: f64| ampere * clamp.mv_per_ampere / 1000.0;
    let most = greatest_current(expected);
    let inrush = if clamp.range_a < SPREAD * expected.inrush_a {
        "; the first surge (inrush) may run off, which harms nothing but tells no direction"
    } else {
        ""
    };
    let jaws = match (clamp.jaw_mm, given.cable_mm) {
        (Some(jaw), Some(cable)) => {
            format!("; its jaws take {jaw:.0} mm, the cable has {cable:.0} mm")
        }
        (Some(jaw), None) => {
            format!("; measure the starter's whole cable: the jaws take up to {jaw:.0} mm")
        }
        (None, _) => {
            "; try first whether its jaws shut around the starter's whole cable".to_owned()
        }
    };
    let why = format!(
        "{}DC, holds {most:.0} A of steady cranking at {} mV/A{inrush}{jaws}",
        named(clamp),
        clamp.mv_per_ampere
    );
    stepped(
        Signal::Clamp,
        given,
        volts(most),
        volts(expected.swing_a),
        why,
    )
}

fn alternating(signal: Signal, given: &Given, expected: &Expected) -> Judged {
    let (slow, fast) = CORNERS_HZ;
    let left = (-TAU * slow * RUN_UP_S).exp();
    let most = left * expected.drop_v + SPREAD * expected.swing_v / 2.0;
    let cycle = given.rpm / 120.0;
    let kept = 100.0 * cycle / cycle.hypot(fast);
    let why = format!(
        "the smallest range that holds the swing and the rest of the starter's voltage drop. AC coupling weakens what comes once in an engine cycle, to {kept:.0} % at worst; the analysis reckons that back"
    );
    stepped(signal, given, most, expected.swing_v, why)
}

fn direct(given: &Given, expected: &Expected) -> Judged {
    let rested = match given.system {
        System::TwelveVolts => RESTED_V,
        System::TwentyFourVolts => 2.0 * RESTED_V,
    };
    let why =
        format!("must hold the rested battery's {rested:.2} V, so that the swing gets few steps");
    stepped(Signal::PostsDc, given, rested, expected.swing_v, why)
}

fn stepped(signal: Signal, given: &Given, most_v: f64, swing_v: f64, why: String) -> Judged {
    let Some(range) = given.scope.range_for(most_v) else {
        return Judged {
            signal,
            fit: Fit::Unfit,
            range: None,
            steps: None,
            why: format!("no range of the scope holds {most_v:.2} V"),
        };
    };
    let steps = swing_v / SPREAD / range.step_v;
    let (fit, why) = if steps >= ENOUGH_STEPS {
        (Fit::Serves, why)
    } else if steps >= limit::STEPS {
        let few = format!("only {steps:.0} steps of {ENOUGH_STEPS:.0} that are wanted; {why}");
        (Fit::Coarse, few)
    } else {
        let few = format!("only {steps:.0} steps, the converter would draw the trace; {why}");
        (Fit::Unfit, few)
    };
    Judged {
        signal,
        fit,
        range: Some(range),
        steps: Some(steps),
        why,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advise::tests::given;
    use crate::advise::{advise, swing};
    use crate::engine::Fuel;

    fn clamp(range_a: f64, mv_per_ampere: f64) -> Option<ClampAtHand> {
        Some(ClampAtHand {
            name: None,
            mv_per_ampere,
            range_a,
            jaw_mm: Some(20.0),
        })
    }

    fn one(signal: Signal, given: &Given) -> Judged {
        judge(signal, given, &swing::expected(given))
    }

    /// A clamp of some tens of ampere saturates, whatever the coupling: common practice of the trade.
    #[test]
    fn a_small_clamp_cannot_serve_and_the_best_other_is_named() {
        let mut four = given("1-3-4-2", Fuel::Petrol, 200.0);
        four.clamp = clamp(60.0, 10.0);
        let advice = advise(&four);
        assert_eq!(advice.signals[0].signal, Signal::PostsAc);
        let refused = one(Signal::Clamp, &four);
        assert_eq!(refused.fit, Fit::Unfit);
        assert!(refused.why.contains("saturates"), "{}", refused.why);
        four.clamp = clamp(600.0, 1.0);
        assert_eq!(advise(&four).signals[0].signal, Signal::Clamp);
    }

    #[test]
    fn jaws_must_close_around_the_cable() {
        let mut four = given("1-3-4-2", Fuel::Petrol, 200.0);
        four.clamp = clamp(1000.0, 1.0);
        four.cable_mm = Some(22.0);
        assert!(one(Signal::Clamp, &four).why.contains("jaws"));
        four.cable_mm = Some(16.0);
        assert_eq!(one(Signal::Clamp, &four).fit, Fit::Serves);
        four.cable_mm = None;
        let why = one(Signal::Clamp, &four).why;
        assert!(why.contains("measure the starter's whole cable: the jaws take up to 20 mm"));
    }

    /// ±2 V at 12 bits is about 1 mV a step, and what the work sheet has asked for by hand: AC coupling.
    #[test]
    fn coupling_decides_the_steps() {
        for order in ["1-3-4-2", "1-5-3-6-2-4", "1-8-4-3-6-5-7-2"] {
            let engine = given(order, Fuel::Petrol, 200.0);
            let (ac, dc) = (one(Signal::PostsAc, &engine), one(Signal::PostsDc, &engine));
            assert_eq!(ac.range.unwrap().full_scale_v, 2.0, "{order}");
            assert_eq!(dc.range.unwrap().full_scale_v, 20.0);
            assert!((ac.steps.unwrap() / dc.steps.unwrap() - 10.0).abs() < 1e-9);
            assert_eq!((ac.fit, dc.fit), (Fit::Serves, Fit::Coarse), "{order}");
        }
    }

    /// Eight bits are too few for reading voltage ripple; ten to twelve at least (common practice).
    #[test]
    fn eight_bits_are_too_few_on_a_v8() {
        let mut engine = given("1-8-4-3-6-5-7-2", Fuel::Petrol, 200.0);
        engine.scope.bits = 8;
        assert_ne!(one(Signal::PostsAc, &engine).fit, Fit::Serves);
        assert_eq!(one(Signal::PostsDc, &engine).fit, Fit::Unfit);
    }

    #[test]
    fn grounds_decide_before_anything_else() {
        let mut engine = given("1-3-4-2", Fuel::Petrol, 200.0);
        engine.clamp = clamp(600.0, 1.0);
        let mut fits = |isolated, tied, exchanged| {
            engine.scope.grounds = Grounds {
                isolated,
                tied,
                exchanged,
            };
            [Signal::Clamp, Signal::PostsAc, Signal::Connector]
                .map(|s| one(s, &engine).fit != Fit::Unfit)
        };
        assert_eq!(fits(false, false, false), [true, true, true]);
        assert_eq!(fits(false, false, true), [true, false, true]);
        assert_eq!(fits(true, false, true), [true, true, true]);
        assert_eq!(fits(true, true, true), [true, false, true]);
        assert_eq!(fits(false, true, false), [true, false, false]);
        let rule = grounds_rule(Grounds::default());
        assert!(rule.contains("scope and laptop run on battery"), "{rule}");
    }

    #[test]
    fn a_larger_engine_needs_a_larger_clamp() {
        let mut engine = given("1-3-4-2", Fuel::Petrol, 200.0);
        engine.clamp = clamp(300.0, 1.0);
        assert_ne!(one(Signal::Clamp, &engine).fit, Fit::Unfit);
        let mut engine = given("1-8-4-3-6-5-7-2", Fuel::Diesel, 200.0);
        engine.clamp = clamp(300.0, 1.0);
        assert_eq!(one(Signal::Clamp, &engine).fit, Fit::Unfit);
    }
}
