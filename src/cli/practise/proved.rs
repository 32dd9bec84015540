//! Whether a job is of the exercise that is kept for it: the captures that lie in it are those that the exercise simulates.

use crate::practise::Exercise;
use crate::record::bundle::model::Record;
use crate::record::digest;

/// Captures that may lie in a job's folder beside those of the record: a process was killed between the two.
const UNANSWERED: usize = 4;

/// Refuse a job whose captures are of another exercise; one without captures has nothing that could be held against it.
///
/// # Errors
/// What is wrong, for whoever wants the grade.
pub(super) fn proved(record: &Record, exercise: &Exercise) -> Result<(), String> {
    let all = record.captures.iter().map(|capture| &capture.file);
    let simulated = all.filter(|file| file.simulated);
    let mut open: Vec<&str> = simulated.map(|file| file.sha256.as_str()).collect();
    if record.captures.is_empty() {
        return Ok(());
    }
    if open.is_empty() {
        return Err("no capture in the job was simulated, as all of an exercise are".to_owned());
    }
    let most = open.len();
    let mut matched = |csv: String| {
        let sha256 = digest::of_bytes(csv.as_bytes());
        open.retain(|kept| *kept != sha256);
        open.is_empty()
    };
    if matched(exercise.at_rest()?.csv()) {
        return Ok(());
    }
    for again in (0..).take(most + UNANSWERED) {
        if matched(exercise.capture(again)?.csv()) {
            return Ok(());
        }
    }
    Err(format!(
        "{} of the {most} captures in the job are not those that this exercise simulates",
        open.len()
    ))
}
