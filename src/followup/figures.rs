//! From a computation's name and what it is given to its facts: the one place that knows which function
//! belongs to which name. What needs captures or other jobs' records is met by `run`.

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use super::given::{Inputs, float};
use super::limits::ShopLimits;
use super::static_rule::{DIESEL, Rule};
use super::{battery, cable, circuit, leak_down, running, static_compression, vacuum, wet};
use crate::procedure::computation::Computation;

/// Whose rule it is, where the maker gives none.
const SHOPS_RULE: &str = "the shop's rule";

/// The same where the maker gives a figure.
const MAKERS_FIGURE: &str = "the maker's figure";

/// The same for diesel engines, whose one published rule is built in.
const DIESEL_RULE: &str = "built in for diesel engines, at 250 rpm";

/// The facts of a computation, as shown, by the shop's limits where the maker gives none.
///
/// # Errors
/// A sentence that says which reading cannot be, and what to do.
pub fn facts(
    computation: Computation,
    given: &Inputs,
    limits: &ShopLimits,
) -> Result<BTreeMap<String, String>, String> {
    let number = |name| given.number(name).map_err(|error| error.to_string());
    let name = |name| given.name(name).map_err(|error| error.to_string());
    match computation {
        Computation::LeakDown => {
            let measured = |name| given.measured(name).map_err(|error| error.to_string());
            let cylinder = given.text("cylinder").map_err(|error| error.to_string())?;
            leak_down::facts(
                cylinder,
                measured("supply")?,
                measured("reading")?,
                measured("bore")?,
                &limits.leak_down,
            )
            .map_err(|error| error.to_string())
        }
        Computation::EngineKind => Ok(one("kind", kind(name("fuel")?))),
        Computation::NextCylinder => next_cylinder(given),
        Computation::StaticCompression => static_facts(given, limits),
        Computation::WetGain => wet::facts(number("dry")?, number("wet")?),
        Computation::RunningCompression => {
            running::facts(number("cranking")?, number("idle")?, number("snap")?)
        }
        Computation::ManifoldVacuum => {
            vacuum::facts(number("vacuum")?, number("ratio")?, number("altitude")?)
        }
        Computation::RestedBattery => Ok(battery::rested_facts(
            number("voltage")?,
            name("system")?,
            name("kind")?,
        )),
        Computation::CrankingVoltage => {
            battery::cranking_facts(number("voltage")?, number("temperature")?, name("system")?)
        }
        Computation::CrankingCircuit => Ok(circuit::facts(
            number("positive")?,
            number("ground")?,
            number("current")?,
        )),
        Computation::CableDrop => cable::facts(
            number("drop")?,
            number("current")?,
            number("length")?,
            name("size")?,
            number("temperature")?,
        ),
        Computation::JointDrop => Ok(cable::joint_facts(number("drop")?, name("part")?)),
        Computation::RelativeCompression
        | Computation::Agreement
        | Computation::CamCorrelation
        | Computation::SignalPlan
        | Computation::ClampPlan
        | Computation::ConnectionCheck
        | Computation::FirstRecord
        | Computation::AfterRepair => Err(format!(
            "{:?} is computed from captures and records, not from answers alone",
            computation.name()
        )),
    }
}

/// Gas is burnt in a petrol engine.
fn kind(fuel: &str) -> &'static str {
    if fuel == "diesel" { "diesel" } else { "petrol" }
}

fn one(name: &str, value: &str) -> BTreeMap<String, String> {
    BTreeMap::from([(name.to_owned(), value.to_owned())])
}

fn next_cylinder(given: &Inputs) -> Result<BTreeMap<String, String>, String> {
    let done = given
        .series("readings")
        .map_err(|error| error.to_string())?
        .len();
    let cylinders = given
        .number("cylinders")
        .map_err(|error| error.to_string())?;
    let more = (done as f64) < cylinders;
    let next = if more {
        (done + 1).to_string()
    } else {
        "none".to_owned()
    };
    let mut facts = one("left", if more { "more" } else { "none" });
    facts.insert("next".to_owned(), next);
    Ok(facts)
}

/// What the maker gives goes before the shop's rule; a figure of zero is none.
fn static_facts(given: &Inputs, shop: &ShopLimits) -> Result<BTreeMap<String, String>, String> {
    let measured = |name| given.measured(name).map_err(|error| error.to_string());
    let (least, difference) = (measured("least")?.value, measured("difference")?.value);
    let fuel = given.name("fuel").map_err(|error| error.to_string())?;
    let mut limits = Vec::new();
    if difference > Decimal::ZERO {
        limits.push((
            static_compression::makers_difference(difference),
            MAKERS_FIGURE,
        ));
    } else if kind(fuel) == "diesel" {
        limits.push((DIESEL, DIESEL_RULE));
    } else {
        limits.push((Rule::from(shop.static_compression), SHOPS_RULE));
    }
    if least > Decimal::ZERO {
        let altitude = float(measured("altitude")?.value);
        limits.push((
            static_compression::makers_least(least, altitude),
            MAKERS_FIGURE,
        ));
    }
    let readings = given
        .series("readings")
        .map_err(|error| error.to_string())?;
    static_compression::facts(&readings, &limits)
}

#[cfg(test)]
mod tests {
    use super::super::given::Given;
    use super::super::static_rule::ShopRule;
    use super::*;
    use crate::procedure::computation::{Domain, InputKind};
    use crate::quantity::{Measured, Unit};

    /// Inputs as declared: every number 20 of its unit, every choice its first name; but less where a gauge
    /// must show less than another, or a battery cannot hold as much.
    fn given(computation: Computation) -> Inputs {
        let number = |unit: Unit, value: u32| Measured {
            value: value.into(),
            unit,
        };
        let usual = |name| match (computation, name) {
            (Computation::LeakDown, "reading") => 15,
            (Computation::CrankingVoltage, "voltage") => 10,
            _ => 20,
        };
        let value = |name, kind| match kind {
            InputKind::Number(unit) => Some(Given::Number(number(unit, usual(name)))),
            InputKind::Series(unit) => Some(Given::Series(vec![number(unit, 20); 4])),
            InputKind::Name(names) => Some(Given::Name(names[0].to_owned())),
            InputKind::Text => Some(Given::Text("3".to_owned())),
            InputKind::Capture | InputKind::Result(_) => None,
        };
        let inputs = computation.inputs();
        Inputs(
            inputs
                .iter()
                .filter_map(|input| Some((input.name, value(input.name, input.kind)?)))
                .collect(),
        )
    }

    /// What procedures are proved against must be what comes out, for all that is computed from answers.
    #[test]
    fn facts_are_those_that_procedures_are_proved_against() {
        let from_answers = |computation: &Computation| {
            // plans are made from numbers, but by what knows signals; a first record lies in another job
            let elsewhere = [
                Computation::SignalPlan,
                Computation::ClampPlan,
                Computation::FirstRecord,
            ];
            let inputs = computation.inputs();
            !elsewhere.contains(computation)
                && !inputs
                    .iter()
                    .any(|input| matches!(input.kind, InputKind::Capture | InputKind::Result(_)))
        };
        let mut seen = 0;
        for computation in Computation::ALL.into_iter().filter(from_answers) {
            let found = facts(computation, &given(computation), &ShopLimits::default()).unwrap();
            let declared = computation.facts();
            assert_eq!(found.len(), declared.len(), "{}", computation.name());
            for fact in declared {
                let value = &found[fact.name];
                match fact.domain {
                    Domain::Choice(names) => {
                        assert!(names.contains(value), "{}: {value}", fact.name)
                    }
                    Domain::Number { unit, .. } => {
                        assert_eq!(Measured::parse(value, unit).unwrap().unit, unit);
                    }
                    Domain::Text => assert!(!value.is_empty(), "{}", fact.name),
                }
            }
            seen += 1;
        }
        assert_eq!(seen, 12);
    }

    #[test]
    fn cylinders_are_counted_by_their_readings() {
        let readings = |count| {
            let mut given = given(Computation::NextCylinder);
            let one = Measured {
                value: 150.into(),
                unit: Unit::Psi,
            };
            let cylinders = Measured {
                value: 4.into(),
                unit: Unit::Count,
            };
            given.0.insert("readings", Given::Series(vec![one; count]));
            given.0.insert("cylinders", Given::Number(cylinders));
            facts(Computation::NextCylinder, &given, &ShopLimits::default()).unwrap()
        };
        assert_eq!(
            (readings(1)["left"].as_str(), readings(1)["next"].as_str()),
            ("more", "2")
        );
        assert_eq!(
            (readings(4)["left"].as_str(), readings(4)["next"].as_str()),
            ("none", "none")
        );
    }

    #[test]
    fn a_diesel_is_never_judged_by_the_shops_petrol_rule() {
        let strict = ShopLimits {
            static_compression: ShopRule::MeanLess20,
            ..ShopLimits::default()
        };
        let of = |fuel: &str| {
            let mut given = given(Computation::StaticCompression);
            let none = Given::Number(Measured {
                value: 0.into(),
                unit: Unit::Psi,
            });
            given.0.insert("fuel", Given::Name(fuel.to_owned()));
            given.0.insert("least", none.clone());
            given.0.insert("difference", none);
            facts(Computation::StaticCompression, &given, &strict).unwrap()
        };
        assert_eq!(of("gas")["verdict"], "even");
        assert_eq!(of("diesel")["verdict"], "all-low");
        assert!(of("diesel")["rule"].contains("300 psi"));
    }

    /// The maker's figures are 20 psi each here, the readings 20 psi: at sea level not low, and the shop's
    /// rule has no say.
    #[test]
    fn the_makers_figures_go_before_the_shops_rule() {
        let mut given = given(Computation::StaticCompression);
        let metres = |value: i64| {
            Given::Number(Measured {
                value: value.into(),
                unit: Unit::Metre,
            })
        };
        given.0.insert("altitude", metres(0));
        let of = |given: &Inputs| {
            facts(
                Computation::StaticCompression,
                given,
                &ShopLimits::default(),
            )
            .unwrap()
        };
        assert_eq!(of(&given)["verdict"], "even");
        let rule = of(&given)["rule"].clone();
        assert!(
            rule.contains("the maker's figure") && !rule.contains("the shop's"),
            "{rule}"
        );
        let more = Given::Number(Measured {
            value: 25.into(),
            unit: Unit::Psi,
        });
        given.0.insert("least", more);
        assert_eq!(of(&given)["verdict"], "all-low");
        given.0.insert("altitude", metres(3000)); // ISO 2533: 0.692 of the pressure, 17.3 psi
        assert_eq!(of(&given)["verdict"], "even");
    }

    #[test]
    fn what_is_missing_is_named() {
        let error = facts(
            Computation::WetGain,
            &Inputs::default(),
            &ShopLimits::default(),
        )
        .unwrap_err();
        assert!(error.contains("\"dry\""), "{error}");
    }
}
