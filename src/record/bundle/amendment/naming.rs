//! Lines of the record by which cylinders are named. The result was worked out with them when the job was done; what
//! corrects one later changes no number, so it is told wherever the result is read.

use super::about;
use crate::engine::{Engine, MOST_CYLINDERS};
use crate::procedure::model::RecordLine;
use crate::record::bundle::manifest::shown;
use crate::record::bundle::model::Record;
use crate::run::vehicle;

/// The lines from which a place in the firing sequence gets the name of a cylinder.
const NAMING: [RecordLine; 5] = [
    RecordLine::Cylinders,
    RecordLine::FiringOrder,
    RecordLine::FiringIntervals,
    RecordLine::FiringOrderSource,
    RecordLine::NumberingSource,
];

/// The lines of [`NAMING`] that texts of amendments correct, in their order.
fn corrected(record: &Record, corrects: &[&str]) -> Vec<RecordLine> {
    let named: Vec<String> = corrects
        .iter()
        .flat_map(|text| about::lines(record, text))
        .collect();
    let is_named = |line: &RecordLine| named.iter().any(|name| name == line.name());
    NAMING.into_iter().filter(is_named).collect()
}

/// That the cylinders in the result are still named by what was corrected since; nothing where none of it was, or where
/// nothing was worked out. Text from the record in it is not made tame.
#[must_use]
pub fn outdated(record: &Record, corrects: &[&str]) -> Option<String> {
    let mut counted = record.captures.iter().filter(|one| !one.superseded);
    if !counted.any(|one| one.analysis.is_some()) {
        return None;
    }
    let lines = corrected(record, corrects);
    if lines.is_empty() {
        return None;
    }
    let old = lines.iter().map(|line| {
        let value = record.lines.get(line.name()).map(String::as_str);
        format!("{} {}", line.name(), value.unwrap_or("not recorded"))
    });
    let old: Vec<String> = old.collect();
    Some(format!(
        "Corrected after signing: the cylinders in this result are still named by the old record ({}). Nothing was \
         worked out anew: do the test again before anything is taken apart.",
        old.join("; ")
    ))
}

/// Refuse what cannot stand in place of the line that it corrects: an order that is none of that many cylinders.
/// `before` are the amendments that are there already, oldest first: what was corrected first, and what to.
///
/// # Errors
/// What is wrong with it and how to write it.
pub fn judge(
    record: &Record,
    (corrects, adds): (&str, &str),
    before: &[(&str, &str)],
) -> Result<(), String> {
    let named = about::lines(record, corrects);
    let [name] = named.as_slice() else {
        // one text for several lines is not taken apart
        return Ok(());
    };
    let told = adds.trim();
    let count = cylinders(record, before);
    let line = RecordLine::ALL.into_iter().find(|line| line.name() == name);
    match line {
        Some(RecordLine::Cylinders) => number(told),
        Some(RecordLine::FiringOrder) => order(told, count),
        Some(RecordLine::FiringIntervals) => intervals(told, count),
        _ => Ok(()),
    }
}

/// How what is refused is written instead.
const ALONE: &str = "write it alone, and what else there is to say in the reason";

fn number(told: &str) -> Result<(), String> {
    let number = told.parse().ok();
    let number = number.filter(|number| (1..=MOST_CYLINDERS).contains(number));
    number.map(|_| ()).ok_or_else(|| {
        format!(
            "{} is no number of cylinders from 1 to {MOST_CYLINDERS}; {ALONE}",
            shown(told)
        )
    })
}

fn order(told: &str, count: Option<usize>) -> Result<(), String> {
    let refused = |why: String| {
        format!(
            "{} is no firing order: {why}; {ALONE}, as in 1-3-4-2. If the number of cylinders is wrong, correct \
             `cylinders` first",
            shown(told)
        )
    };
    let order =
        vehicle::order(told).map_err(|part| refused(format!("{} is no cylinder", shown(&part))))?;
    let judged = Engine::new(count.unwrap_or(order.len()), &order, None, None);
    judged.map(|_| ()).map_err(|why| refused(why.to_string()))
}

fn intervals(told: &str, count: Option<usize>) -> Result<(), String> {
    let refused = |why: String| {
        format!(
            "{} are no firing intervals: {why}; {ALONE}: the degrees from each firing to the next, or `even`",
            shown(told)
        )
    };
    let intervals = vehicle::intervals(told)
        .map_err(|part| refused(format!("{} is no angle", shown(&part))))?;
    let Some(intervals) = intervals else {
        return Ok(());
    };
    let count = count.unwrap_or(intervals.len());
    let order: Vec<usize> = (1..=count).collect();
    let judged = Engine::new(count, &order, Some(&intervals), None);
    judged.map(|_| ()).map_err(|why| refused(why.to_string()))
}

/// Number of cylinders as it is to be read now: as corrected last, else as recorded.
fn cylinders(record: &Record, before: &[(&str, &str)]) -> Option<usize> {
    let line = RecordLine::Cylinders.name();
    let later = before.iter().rev();
    let mut later = later.filter(|(corrects, _)| about::lines(record, corrects) == [line]);
    let told = match later.next() {
        Some((_, adds)) => adds,
        None => record.lines.get(line)?.as_str(),
    };
    told.trim().parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::example;

    #[test]
    fn what_names_the_cylinders_is_told_once_it_is_corrected() {
        let mut record = example::record();
        let told = outdated(&record, &["odometer", "the firing order"]).unwrap();
        for part in ["firing order 1-8-4-3-6-5-7-2", "do the test again"] {
            assert!(told.contains(part), "{told}");
        }
        for line in NAMING {
            assert!(outdated(&record, &[line.name()]).is_some(), "{line:?}");
        }
        assert_eq!(outdated(&record, &["odometer", "complaint"]), None);
        assert_eq!(outdated(&record, &[]), None);
        for capture in &mut record.captures {
            capture.analysis = None;
        }
        assert_eq!(outdated(&record, &["firing order"]), None);
    }

    #[test]
    fn an_order_is_one_of_that_many_cylinders() {
        let record = example::record();
        let judged =
            |line: &str, adds: &str, before: &[(&str, &str)]| judge(&record, (line, adds), before);
        for (line, adds) in [
            ("firing order", "1-2-7-8-4-5-6-3"),
            ("firing order", " 12784563 "),
            ("firing intervals", "even"),
            ("firing intervals", "90 90 90 90 90 90 90 90"),
            ("cylinders", "6"),
            ("odometer", "anything"),
            ("cylinders, firing order", "4, and 1-3-4-2"),
        ] {
            assert_eq!(judged(line, adds, &[]), Ok(()), "{line}: {adds}");
        }
        for (line, adds, why) in [
            ("firing order", "1-3-4-2", "8"),
            ("firing order", "1-2-7-8-4-5-6-6", "stands twice"),
            ("firing order", "see the plate", "no cylinder"),
            ("firing intervals", "90 90", "8"),
            ("firing intervals", "wide", "no angle"),
            ("cylinders", "many", "no number"),
            ("cylinders", "0", "no number"),
        ] {
            let told = judged(line, adds, &[]).unwrap_err();
            assert!(
                told.contains(why) && told.contains("write it alone"),
                "{told}"
            );
        }
        let fewer = [("odometer", "1 km"), ("cylinders", "4")];
        assert_eq!(judged("firing order", "1-3-4-2", &fewer), Ok(()));
        assert!(judged("firing order", "1-2-7-8-4-5-6-3", &fewer).is_err());
    }
}
