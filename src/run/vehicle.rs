//! The engine as the lines of the record describe it.

use std::collections::BTreeMap;

use rust_decimal::prelude::ToPrimitive;

use crate::engine::{CYCLE_DEG, Engine, EngineError, Fuel};
use crate::procedure::model::RecordLine;
use crate::run::value::Value;

/// The word for intervals that are all alike.
const EVEN: &str = "even";

/// The lines of the record that are filled so far.
pub type Lines = BTreeMap<RecordLine, Value>;

/// Number of cylinders, where it is known: a number, or a choice whose name is one.
#[must_use]
pub fn cylinders(lines: &Lines) -> Option<usize> {
    match lines.get(&RecordLine::Cylinders)? {
        Value::Number(number) => number.value.to_usize(),
        other => other.name().trim().parse().ok(),
    }
}

/// Numbers of a firing order such as "1-3-4-2", "1 3 4 2" or "1, 3, 4, 2"; "1342" too, because up to nine
/// cylinders have one digit each.
///
/// # Errors
/// The part that is no number.
pub fn order(text: &str) -> Result<Vec<usize>, String> {
    let joined = text.trim();
    if joined.len() > 1 && joined.bytes().all(|byte| matches!(byte, b'1'..=b'9')) {
        return Ok(joined
            .bytes()
            .map(|byte| usize::from(byte - b'0'))
            .collect());
    }
    parts(text)
        .map(|part| part.parse().map_err(|_| part.to_owned()))
        .collect()
}

/// Degrees of firing intervals such as "90 150 90 150 90 150"; nothing for "even".
///
/// # Errors
/// The part that is no number.
pub fn intervals(text: &str) -> Result<Option<Vec<f64>>, String> {
    if text.trim().eq_ignore_ascii_case(EVEN) {
        return Ok(None);
    }
    parts(text)
        .map(|part| {
            let number = part.trim_end_matches('°');
            number.parse().map_err(|_| part.to_owned())
        })
        .collect::<Result<Vec<f64>, String>>()
        .map(Some)
}

fn parts(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| c.is_whitespace() || matches!(c, '-' | '–' | ',' | ';' | '/'))
        .filter(|part| !part.is_empty())
}

/// Judge a firing order by the number of cylinders, where that is known.
///
/// # Errors
/// Where it is no permutation of the cylinders.
pub fn judge_order(order: &[usize], lines: &Lines) -> Result<(), EngineError> {
    let count = cylinders(lines).unwrap_or(order.len());
    Engine::new(count, order, None, None).map(|_| ())
}

/// Judge firing intervals by the number of cylinders, where that is known.
///
/// # Errors
/// Where their number is another one, or they do not make 720°.
pub fn judge_intervals(intervals: &[f64], lines: &Lines) -> Result<(), EngineError> {
    let count = cylinders(lines).unwrap_or(intervals.len());
    let any_order: Vec<usize> = (1..=count).collect();
    Engine::new(count, &any_order, Some(intervals), None).map(|_| ())
}

/// The engine that the lines describe.
///
/// # Errors
/// A sentence that says which line is missing or what does not go together.
pub fn engine(lines: &Lines) -> Result<Engine, String> {
    let missing = |line: RecordLine| {
        format!(
            "the record has no {:?} yet; go back and answer that step",
            line.name()
        )
    };
    let count = cylinders(lines).ok_or_else(|| missing(RecordLine::Cylinders))?;
    let text = lines
        .get(&RecordLine::FiringOrder)
        .map(Value::name)
        .ok_or_else(|| missing(RecordLine::FiringOrder))?;
    let order = order(&text).map_err(|part| format!("firing order: {part:?} is no cylinder"))?;
    let intervals = match lines.get(&RecordLine::FiringIntervals).map(Value::name) {
        Some(text) => {
            intervals(&text).map_err(|part| format!("firing intervals: {part:?} is no angle"))?
        }
        None => None,
    };
    let fuel = match lines.get(&RecordLine::Fuel).map(Value::name).as_deref() {
        Some("petrol") => Some(Fuel::Petrol),
        Some("diesel") => Some(Fuel::Diesel),
        _ => None,
    };
    Engine::new(count, &order, intervals.as_deref(), fuel).map_err(|error| error.to_string())
}

/// Where two descriptions of an engine differ, in words; nothing where they agree. A fuel that only
/// one of them names is no difference.
#[must_use]
pub fn difference(recorded: &Engine, set_up: &Engine) -> Option<String> {
    let joined = |engine: &Engine| {
        let order: Vec<String> = engine.firing_order().iter().map(usize::to_string).collect();
        order.join("-")
    };
    if recorded.cylinders() != set_up.cylinders() {
        return Some(format!(
            "the set-up has {} cylinders, the intake {}",
            set_up.cylinders(),
            recorded.cylinders()
        ));
    }
    if recorded.firing_order() != set_up.firing_order() {
        return Some(format!(
            "the set-up has the firing order {}, the intake {}",
            joined(set_up),
            joined(recorded)
        ));
    }
    let pairs = recorded.firing_intervals_deg().iter();
    let mut pairs = pairs.zip(set_up.firing_intervals_deg());
    if let Some((ours, theirs)) = pairs.find(|(a, b)| (*a - *b).abs() > INTERVAL_TOLERANCE_DEG) {
        return Some(format!(
            "the set-up has a firing interval of {theirs:.1}° where the intake has {ours:.1}° of {CYCLE_DEG}°"
        ));
    }
    match (recorded.fuel(), set_up.fuel()) {
        (Some(ours), Some(theirs)) if ours != theirs => {
            Some(format!("the set-up says {theirs:?}, the intake {ours:?}"))
        }
        _ => None,
    }
}

/// How far two statements of one interval may differ by rounding (102.86 for a seventh of 720°).
const INTERVAL_TOLERANCE_DEG: f64 = 0.5;

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(entries: &[(RecordLine, &str)]) -> Lines {
        let text = |text: &str| Value::Text(text.to_owned());
        entries.iter().map(|(line, t)| (*line, text(t))).collect()
    }

    #[test]
    fn orders_and_intervals_are_read_as_people_write_them() {
        assert_eq!(order("1-3-4-2"), Ok(vec![1, 3, 4, 2]));
        assert_eq!(order("1, 3, 4, 2"), Ok(vec![1, 3, 4, 2]));
        assert_eq!(order(" 1342"), Ok(vec![1, 3, 4, 2]));
        assert_eq!(order("1203"), Ok(vec![1203]), "0 is no cylinder");
        assert_eq!(order("1-3-x-2"), Err("x".to_owned()));
        assert_eq!(intervals("Even"), Ok(None));
        assert_eq!(intervals("90° 150"), Ok(Some(vec![90.0, 150.0])));
    }

    #[test]
    fn the_engine_comes_from_the_lines() {
        let mut known = lines(&[
            (RecordLine::Cylinders, "6"),
            (RecordLine::FiringOrder, "1-6-5-4-3-2"),
            (RecordLine::FiringIntervals, "90 150 90 150 90 150"),
            (RecordLine::Fuel, "diesel"),
        ]);
        let odd = engine(&known).unwrap();
        assert_eq!(odd.fuel(), Some(Fuel::Diesel));
        assert_eq!(odd.firing_intervals_deg()[1], 150.0);
        known.remove(&RecordLine::FiringIntervals);
        let even = engine(&known).unwrap();
        assert!(
            difference(&even, &odd)
                .unwrap()
                .contains("90.0° where the intake has 120.0°")
        );
        assert_eq!(difference(&even, &even), None);
        known.remove(&RecordLine::FiringOrder);
        assert!(engine(&known).unwrap_err().contains("firing order"));
    }

    #[test]
    fn an_order_is_judged_by_the_number_of_cylinders() {
        let four = lines(&[(RecordLine::Cylinders, "4")]);
        assert!(judge_order(&[1, 3, 4, 2], &four).is_ok());
        assert!(judge_order(&[1, 3, 4], &four).is_err());
        assert!(judge_order(&[1, 2, 3], &Lines::new()).is_ok());
        assert!(judge_intervals(&[180.0, 180.0, 180.0, 170.0], &four).is_err());
    }
}
