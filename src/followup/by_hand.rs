//! The rules of the computations that are plain enough to be applied with a pencil, in words, by the same
//! figures. Where a shop's policy is not at hand, the words say which limits it may set otherwise.

use super::battery::{self, LEAST_CRANKING, MOST_CRANKING};
use super::cable::{CONNECTION_V, SWITCH_V};
use super::circuit::{GROUND_V, POSITIVE_V, WHOLE_V_PER_A};
use super::limits::ShopLimits;
use super::running::{EXHAUST_PERCENT, INLET_PERCENT, USUAL_IDLE_PERCENT};
use super::static_rule::{DIESEL, Rule, ShopRule};
use super::wet::RISEN_PERCENT;
use crate::procedure::computation::Computation;

/// The rule of a computation by a shop's limits, or by the usual ones; none where it needs the program.
#[must_use]
pub fn rule(computation: Computation, shop: Option<&ShopLimits>) -> Option<String> {
    let limits = shop.copied().unwrap_or_default();
    let unless = match shop {
        Some(_) => "by the shop's policy",
        None => "if the shop has set nothing else",
    };
    let words = match computation {
        Computation::EngineKind => "diesel for diesel, petrol for everything else".to_owned(),
        Computation::NextCylinder => {
            "more while a cylinder has no reading, the lowest number next; then none".to_owned()
        }
        Computation::LeakDown => format!(
            "loss = (supply − reading) ÷ supply: {}, {unless}",
            limits.leak_down.words()
        ),
        Computation::StaticCompression => statically(limits.static_compression, unless),
        Computation::WetGain => {
            format!("risen from {RISEN_PERCENT:.0} % over the dry reading on, else same")
        }
        Computation::RunningCompression => running(),
        Computation::RestedBattery => format!(
            "a flooded battery is full enough from {:.2} V on ({:.2} V in a 24 V system), below it is charged first; \
             any other kind by its maker's data",
            battery::enough_voltage(1.0),
            battery::enough_voltage(2.0)
        ),
        Computation::CrankingVoltage => cranking(),
        Computation::CrankingCircuit => format!(
            "at most {POSITIVE_V} V on the positive side, {GROUND_V} V on the ground side, and {:.2} V per 100 A on \
             both together; where only both together are over, the side that takes more than its part of it, \
             two thirds positive, one third ground",
            WHOLE_V_PER_A * 100.0
        ),
        Computation::JointDrop => format!(
            "sound up to {CONNECTION_V} V on a joint, {SWITCH_V} V on a switch or solenoid; else over"
        ),
        Computation::RelativeCompression
        | Computation::Agreement
        | Computation::ManifoldVacuum
        | Computation::CableDrop
        | Computation::CamCorrelation
        | Computation::SignalPlan
        | Computation::ClampPlan
        | Computation::ConnectionCheck
        | Computation::FirstRecord
        | Computation::AfterRepair => return None,
    };
    Some(words)
}

fn statically(rule: ShopRule, unless: &str) -> String {
    format!(
        "low is what falls short of the maker's figures; where the maker gives none: {}, {unless}; \
         diesel {}. All-low where every cylinder is",
        Rule::from(rule).words(),
        DIESEL.words()
    )
}

fn running() -> String {
    format!(
        "in percent of the cranking pressure: snap from {EXHAUST_PERCENT:.0} on exhaust, under {INLET_PERCENT:.0} inlet; \
         else idle from {:.0} to {:.0} usual, outside idle-off",
        USUAL_IDLE_PERCENT.start(),
        USUAL_IDLE_PERCENT.end()
    )
}

fn cranking() -> String {
    let table: Vec<String> = LEAST_CRANKING
        .iter()
        .rev()
        .map(|(celsius, volts)| format!("{volts:.1} V at {celsius:.0} °C"))
        .collect();
    format!(
        "holds from {} on, in between in proportion; over {MOST_CRANKING} V refused; twice that in a 24 V system",
        table.join(", ")
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::followup::bands::Bands;
    use crate::followup::{battery, cable, circuit, leak_down, running, wet};
    use crate::quantity::{Measured, Unit};

    fn says(computation: Computation, words: &[&str]) {
        let rule = rule(computation, None).unwrap();
        for word in words {
            assert!(rule.contains(word), "{word}: {rule}");
        }
    }

    /// What is printed for paper decides as the program does, on both sides of every limit.
    #[test]
    fn the_words_decide_as_the_program_does() {
        let rested =
            |volts| battery::rested_facts(volts, "twelve-volts", "flooded")["charge"].clone();
        says(Computation::RestedBattery, &["12.45 V on (24.90 V"]);
        assert_eq!(
            (rested(12.45), rested(12.44)),
            ("enough".into(), "charge-first".into())
        );
        says(
            Computation::CrankingVoltage,
            &["9.6 V at 20 °C, 9.4 V at 10 °C", "8.5 V at -18 °C"],
        );
        says(
            Computation::JointDrop,
            &["up to 0.1 V on a joint, 0.3 V on a switch"],
        );
        let joint = |drop, part| cable::joint_facts(drop, part)["finding"].clone();
        assert_eq!(
            (joint(0.1, "joint"), joint(0.11, "joint")),
            ("sound".into(), "over".into())
        );
        assert_eq!(
            (joint(0.3, "switch"), joint(0.31, "switch")),
            ("sound".into(), "over".into())
        );
        says(
            Computation::CrankingCircuit,
            &[
                "0.4 V on the positive",
                "0.2 V on the ground",
                "0.20 V per 100 A",
            ],
        );
        assert_eq!(circuit::judge(0.4, 0.2, 300.0), circuit::Finding::Sound);
        assert_eq!(circuit::judge(0.35, 0.1, 200.0), circuit::Finding::Positive);
        says(Computation::WetGain, &["from 10 % over"]);
        let wet = |wet| wet::facts(100.0, wet).unwrap()["change"].clone();
        assert_eq!((wet(110.0), wet(109.9)), ("risen".into(), "same".into()));
        says(
            Computation::RunningCompression,
            &["from 95 on exhaust, under 65 inlet", "35 to 70 usual"],
        );
        assert_eq!(running::judge(100.0, 34.0, 80.0), running::Finding::IdleOff);
        says(
            Computation::LeakDown,
            &["under 10 % good, under 20 % acceptable, under 30 % poor"],
        );
        let psi = |text| Measured::parse(text, Unit::Psi).unwrap();
        let loss = leak_down::loss_percent(psi("80"), psi("64")).unwrap();
        assert_eq!(
            (loss.to_string().as_str(), Bands::default().of(loss).name()),
            ("20.0", "poor")
        );
        says(
            Computation::StaticCompression,
            &["75 % of the highest", "100 psi below the highest"],
        );
        assert!(rule(Computation::RelativeCompression, None).is_none());
    }

    /// A shop's own limits are printed in place of the usual ones.
    #[test]
    fn the_words_are_those_of_the_shop() {
        let limit = |percent: i64| percent.into();
        let shop = ShopLimits {
            leak_down: Bands::new(limit(8), limit(15), limit(25)).unwrap(),
            static_compression: ShopRule::MeanLess20,
            ..ShopLimits::default()
        };
        let words = rule(Computation::LeakDown, Some(&shop)).unwrap();
        assert!(words.contains("under 8 % good, under 15 %"), "{words}");
        assert!(words.contains("by the shop's policy"), "{words}");
        let words = rule(Computation::StaticCompression, Some(&shop)).unwrap();
        assert!(
            words.contains(&Rule::from(ShopRule::MeanLess20).words()),
            "{words}"
        );
    }
}
