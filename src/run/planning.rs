//! What a job knows, as signal advice and the connection check take it, and their facts.

use std::collections::BTreeMap;

use crate::advise::signals::{self, Signal};
use crate::advise::swing::{self, Expected, SPREAD};
use crate::advise::{ClampAtHand, Given, Scope, System};
use crate::cranking::cycles::Samples;
use crate::cranking::quiet::{self, Belongs};
use crate::engine::starter_duty::StarterDuty;
use crate::engine::{Engine, USUAL_RPM};
use crate::procedure::computation::SENSORS;
use crate::procedure::model::RecordLine;
use crate::run::value::Value;
use crate::run::vehicle::Lines;

/// The choice of 24 V, as the intake has it.
const TWENTY_FOUR: &str = "twenty-four-volts";

/// Voltages between which a rested 12 V battery lies, V: a little under empty (11.89 V, a battery council's
/// table, from memory) to fully charged with its surface charge on.
const BATTERY_V: (f64, f64) = (11.5, 13.4);

/// A signal in which nothing turns.
#[derive(Debug, Clone, PartialEq)]
pub struct LineAtRest {
    /// What it is.
    pub of: Line,
    /// Seconds.
    pub time: Vec<f64>,
    /// Volts or amperes.
    pub values: Vec<f64>,
}

/// What a line at rest shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Line {
    /// Starter current.
    Current,
    /// Battery voltage, AC-coupled.
    AlternatingVoltage,
    /// Battery voltage, DC-coupled.
    DirectVoltage,
}

/// Voltage of the starting system; 12 V where the record does not say.
#[must_use]
pub fn system(lines: &Lines) -> System {
    match lines.get(&RecordLine::SystemVoltage).map(Value::name) {
        Some(name) if name == TWENTY_FOUR => System::TwentyFourVolts,
        _ => System::TwelveVolts,
    }
}

/// The signal of a procedure's choice, one of [`SENSORS`].
///
/// # Errors
/// Of another name.
pub fn signal(choice: &str) -> Result<Signal, String> {
    match choice {
        "clamp" | "small-clamp" => Ok(Signal::Clamp),
        "posts" => Ok(Signal::PostsAc),
        "connector" => Ok(Signal::Connector),
        "crank-sensor" => Ok(Signal::CrankSensor),
        _ => Err(format!(
            "`{choice}` names no signal; a plan is made for {}",
            SENSORS.join(", ")
        )),
    }
}

/// A plan for an engine with usual instruments.
#[must_use]
pub fn given(engine: Engine, system: System, duty: StarterDuty) -> Given {
    Given {
        engine,
        rpm: USUAL_RPM,
        system,
        duty,
        scope: Scope::default(),
        clamp: None,
        cable_mm: None,
        wheel_positions: None,
    }
}

/// A plan with what the shop's list knows: of a clamp that was described, its jaws; where none was, the one
/// of the list that serves best.
#[must_use]
pub fn with_clamps(given: &Given, list: Vec<ClampAtHand>) -> Given {
    let mut given = given.clone();
    if let Some(clamp) = &mut given.clamp {
        let same = |known: &&ClampAtHand| {
            known.range_a == clamp.range_a && known.mv_per_ampere == clamp.mv_per_ampere
        };
        if let Some(known) = list.iter().find(same) {
            *clamp = known.clone();
        }
        return given;
    }
    let expected = swing::expected(&given);
    let fit = |clamp: &ClampAtHand| {
        let with = Given {
            clamp: Some(clamp.clone()),
            ..given.clone()
        };
        signals::judge(Signal::Clamp, &with, &expected).fit
    };
    let best = list.into_iter().min_by_key(fit);
    Given {
        clamp: best,
        ..given
    }
}

/// The facts of a connection check.
#[must_use]
pub fn connection(
    line: &LineAtRest,
    expected: &Expected,
    system: System,
) -> BTreeMap<String, String> {
    let volts = match system {
        System::TwelveVolts => 1.0,
        System::TwentyFourVolts => 2.0,
    };
    let (swing, belongs, unit) = match line.of {
        Line::Current => (expected.swing_a, Belongs::AtZero, "A"),
        Line::AlternatingVoltage => (expected.swing_v, Belongs::AtZero, "V"),
        Line::DirectVoltage => {
            let (least, greatest) = BATTERY_V;
            let belongs = Belongs::Between(volts * least, volts * greatest);
            (expected.swing_v, belongs, "V")
        }
    };
    let least_swing = swing / SPREAD;
    let samples = Samples {
        time: &line.time,
        values: &line.values,
    };
    let judged = quiet::judge(samples, least_swing, belongs);
    // no minus before a level that rounds to nothing
    let level = (judged.level * 1000.0).round() / 1000.0 + 0.0;
    let measured = format!(
        "level {level:.3} {unit}, noise {:.4} {unit}, {:.0} Hz hum {:.4} {unit}, {} dropouts, {} steps; a swing of at least {least_swing:.2} {unit} is expected",
        judged.noise, judged.hum.1, judged.hum.0, judged.dropouts, judged.steps
    );
    let facts = [
        ("finding", judged.finding.word().to_owned()),
        ("measured", measured),
        ("advice", judged.advice().to_owned()),
    ];
    facts.map(|(name, fact)| (name.to_owned(), fact)).into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shop_s_clamps_are_considered() {
        let engine = Engine::new(4, &[1, 3, 4, 2], None, None).unwrap();
        let given = given(engine, System::TwelveVolts, StarterDuty::default());
        let clamp = |name: &str, range_a: f64| ClampAtHand {
            name: Some(name.to_owned()),
            mv_per_ampere: 1.0,
            range_a,
            jaw_mm: Some(30.0),
        };
        let list = vec![clamp("small", 60.0), clamp("big", 600.0)];
        let with = with_clamps(&given, list.clone());
        assert_eq!(with.clamp, Some(list[1].clone()));
        assert_eq!(with_clamps(&given, Vec::new()).clamp, None);
        let mut typed = given;
        typed.clamp = Some(ClampAtHand {
            name: None,
            jaw_mm: None,
            ..clamp("", 60.0)
        });
        assert_eq!(
            with_clamps(&typed, list.clone()).clamp,
            Some(list[0].clone())
        );
    }

    fn checked(of: Line, level: f64, system: System) -> String {
        let time: Vec<f64> = (0..3000).map(|at| f64::from(at) / 1000.0).collect();
        let values = vec![level; time.len()];
        let engine = Engine::new(4, &[1, 3, 4, 2], None, None).unwrap();
        let given = given(engine, system, StarterDuty::default());
        let expected = crate::advise::swing::expected(&given);
        connection(&LineAtRest { of, time, values }, &expected, system)["finding"].clone()
    }

    #[test]
    fn each_line_belongs_where_it_belongs() {
        let twelve = System::TwelveVolts;
        assert_eq!(checked(Line::Current, 0.0, twelve), "quiet");
        assert_eq!(checked(Line::Current, 40.0, twelve), "offset");
        assert_eq!(checked(Line::AlternatingVoltage, 0.01, twelve), "quiet");
        assert_eq!(checked(Line::DirectVoltage, 12.6, twelve), "quiet");
        assert_eq!(
            checked(Line::DirectVoltage, 12.6, System::TwentyFourVolts),
            "offset"
        );
        assert_eq!(
            checked(Line::DirectVoltage, 25.2, System::TwentyFourVolts),
            "quiet"
        );
    }
}
