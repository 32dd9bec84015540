//! The words for what was decided, the same in every rendering.

use super::text::{measured, number};
use crate::cranking::answer::{
    Analysis, Bound, Check, CheckName, Finding, Identified, VerdictKind,
};
use crate::procedure::model::SignalWord;
use crate::record::bundle::model::{CaptureResult, PathEntry, Record};
use crate::run::ended::{self, Cranked};
use crate::run::value::Value;
use crate::text::{clean, list, one_of};

/// Stands below every result, whatever it is: no relative method sees a loss that all share.
pub(super) const COMMON_LOSS: &str = "Cylinders are compared with each other only. An even result does not prove that all are good: a loss common to all cylinders cannot be seen this way.";

/// The outcome in words, as the terminal told it.
pub(crate) fn found(record: &Record) -> String {
    let counts = record.captures.iter().filter(|capture| !capture.superseded);
    let taken = counts.clone().map(|capture| capture.file.sha256.as_str());
    let analyses = counts.filter_map(|capture| capture.analysis.as_ref());
    let analyses: Vec<&Analysis> = analyses.collect();
    let notes = record.notes.iter();
    let refused = notes.filter_map(|note| Cranked::of_note(&note.text));
    let cranked = Cranked::of(&analyses, refused, &taken.collect());
    ended::found(record.outcome.kind, &cranked)
}

/// What shows that somebody may have been hurt, and that the end of the job says nothing of: each no to a step with a
/// danger that was gone back behind or became a yes, as of an engine that fired at a proof, and each capture that was
/// gone back behind and in which the engine ran.
pub(crate) fn taken_back(record: &Record) -> Vec<String> {
    let mut all: Vec<(String, &str, Vec<&str>)> = Vec::new();
    let mut take = |what: String, step, at| match all.iter_mut().find(|one| one.0 == what) {
        Some((.., times)) => times.push(at),
        None => all.push((what, step, vec![at])),
    };
    for (number, entry) in record.path.iter().enumerate() {
        if is_no_to_danger(entry) && (entry.superseded || became_yes(&record.path[number..], entry))
        {
            take(format!("\"{}\"", entry.asked), &entry.step, &entry.at);
        }
    }
    let captures = record.captures.iter().filter(|capture| capture.superseded);
    for capture in captures.filter(|capture| ran(capture)) {
        let what = format!("no engine that runs, in {}", capture.file.file);
        take(what, &capture.step, &capture.at);
    }
    let told = all.into_iter().map(|(what, step, times)| {
        let often = match times.len() {
            1 => String::new(),
            count => format!(", {count} times"),
        };
        format!(
            "Not so at first: {what} ({step}, {}{often}). See Path taken.",
            times[0]
        )
    });
    told.collect()
}

fn is_no_to_danger(entry: &PathEntry) -> bool {
    let mut words = entry.hazards.iter().map(|hazard| hazard.word);
    let no = Value::Confirmed(false).shown();
    entry.answered == no && words.any(|word| word == SignalWord::Danger)
}

/// Whether what was denied was confirmed later.
fn became_yes(since: &[PathEntry], denied: &PathEntry) -> bool {
    let yes = Value::Confirmed(true).shown();
    let mut same = since.iter().filter(|entry| entry.step == denied.step);
    same.any(|entry| entry.answered == yes)
}

/// Whether the engine ran in a capture.
fn ran(capture: &CaptureResult) -> bool {
    let mut checks = capture
        .analysis
        .iter()
        .flat_map(|analysis| &analysis.quality);
    checks.any(|check| check.check == CheckName::EngineRunning && !check.passed)
}

/// One result, cylinder or position alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Row {
    /// Number of the cylinder, or of the position in firing sequence.
    pub number: usize,
    /// The other cylinder that it may be, where only the pair is known.
    pub companion: Option<usize>,
    /// Estimate, percent.
    pub percent: f64,
    /// Lower end of the 95 % interval, percent.
    pub low: f64,
    /// Its upper end, percent.
    pub high: f64,
    /// The finding.
    pub finding: Finding,
}

impl Row {
    /// Which it is: "3", or "3 or 2" where only the pair is known.
    #[must_use]
    pub(super) fn which(&self) -> String {
        match self.companion {
            Some(other) => format!("{} or {other}", self.number),
            None => self.number.to_string(),
        }
    }
}

/// The rows of an analysis in order of number.
#[must_use]
pub(super) fn rows(analysis: &Analysis) -> Vec<Row> {
    let mut rows: Vec<Row> = match (&analysis.cylinders, &analysis.positions) {
        (Some(cylinders), _) => cylinders
            .iter()
            .map(|row| Row {
                number: row.cylinder,
                companion: row.companion,
                percent: row.relative_compression_percent,
                low: row.low,
                high: row.high,
                finding: row.finding,
            })
            .collect(),
        (None, Some(positions)) => positions
            .iter()
            .map(|row| Row {
                number: row.position,
                companion: None,
                percent: row.relative_compression_percent,
                low: row.low,
                high: row.high,
                finding: row.finding,
            })
            .collect(),
        (None, None) => Vec::new(),
    };
    rows.sort_by_key(|row| row.number);
    rows
}

/// What a row is called: "Cylinder" or "Position".
#[must_use]
pub(super) fn row_name(analysis: &Analysis) -> &'static str {
    if analysis.cylinders.is_none() && analysis.positions.is_some() {
        "Position"
    } else {
        "Cylinder"
    }
}

/// Numbers of the rows that are low.
#[must_use]
pub(super) fn low_rows(analysis: &Analysis) -> Vec<usize> {
    rows(analysis)
        .into_iter()
        .filter(|row| row.finding == Finding::Low)
        .map(|row| row.number)
        .collect()
}

/// A finding in one word.
#[must_use]
pub(super) fn finding_word(finding: Finding) -> &'static str {
    match finding {
        Finding::Even => "even",
        Finding::Low => "LOW",
        Finding::Uncertain => "uncertain",
    }
}

/// A finding, with the limit where one was missed.
#[must_use]
pub(super) fn finding(finding: Finding, limit: f64) -> String {
    let word = finding_word(finding);
    match finding {
        Finding::Low => format!("{word} (limit {} %)", measured(limit)),
        Finding::Even | Finding::Uncertain => word.to_owned(),
    }
}

/// A 95 % interval in percent.
#[must_use]
pub(super) fn interval(row: &Row) -> String {
    format!("{} – {}", number(row.low, 0), number(row.high, 0))
}

/// A verdict in a few words; the sentence of the analysis follows it.
#[must_use]
pub(super) fn verdict(analysis: &Analysis) -> String {
    match analysis.verdict.kind {
        VerdictKind::Even => "None low".to_owned(),
        VerdictKind::Inconclusive => "No verdict".to_owned(),
        VerdictKind::Low => {
            let (name, numbers) = match &analysis.verdict.positions {
                Some(positions) if !positions.is_empty() => ("position", positions),
                _ => ("cylinder", &analysis.verdict.cylinders),
            };
            let texts: Vec<String> = numbers.iter().map(ToString::to_string).collect();
            if analysis.identified == Some(Identified::OneOfPair) {
                return format!("Low: {name} {}", one_of(&texts));
            }
            let plural = if texts.len() == 1 { "" } else { "s" };
            format!("Low: {name}{plural} {}", list(&texts))
        }
    }
}

/// Whether the capture gave a verdict: without one nothing is drawn of its cylinders.
#[must_use]
pub(super) fn judged(analysis: &Analysis) -> bool {
    analysis.verdict.kind != VerdictKind::Inconclusive
}

/// Whether its rows may be told: a failed check leaves nothing of them, an interval across the limit does.
#[must_use]
pub(super) fn tells_rows(analysis: &Analysis) -> bool {
    analysis.quality.iter().all(|check| check.passed)
}

/// What is to be known of the rows' names, where they are not plain cylinder numbers.
#[must_use]
pub(super) fn naming(analysis: &Analysis) -> Option<&'static str> {
    match analysis.identified {
        Some(Identified::OneOfPair) => Some(
            "The reference comes once a turn: each row belongs to the cylinder named or to its companion, which fires one turn apart.",
        ),
        Some(Identified::PositionOnly) => Some(
            "Without a reference no cylinder can be named: positions count in firing sequence from an arbitrary start.",
        ),
        Some(Identified::Cylinder) | None => None,
    }
}

/// What was cranked and from which signal: "9 engine cycles at 187 rpm, from battery voltage".
#[must_use]
pub(super) fn basis(analysis: &Analysis) -> String {
    let signal = analysis.source.map_or_else(
        || "no signal".to_owned(),
        |source| format!("from {}", source.name()),
    );
    match analysis.cranking {
        Some(cranking) => format!(
            "{} engine cycles at {} rpm, {signal}.",
            measured(cranking.cycles),
            number(cranking.mean_rpm, 0)
        ),
        None => format!("No cranking found, {signal}."),
    }
}

/// The checks that failed: the cause, and those that failed with it.
#[must_use]
pub(super) fn failed(checks: &[Check]) -> Option<(&Check, Vec<&Check>)> {
    let mut failed = checks.iter().filter(|check| !check.passed);
    let cause = failed.next()?;
    Some((cause, failed.collect()))
}

/// Stands for the advice of a check that failed beside the cause: what is done about that mends it too, if anything.
pub(super) const FOLLOWS: &str = "probably for the same reason";

/// What was measured: "0.9 V".
#[must_use]
pub(super) fn check_measured(check: &Check) -> String {
    check.measured.map_or_else(
        || "not measurable".to_owned(),
        |value| with_unit(value, &check.unit),
    )
}

/// What is allowed: "at most 2 V".
#[must_use]
pub(super) fn check_limit(check: &Check) -> String {
    let side = match check.bound {
        Bound::Max => "at most",
        Bound::Min => "at least",
    };
    format!("{side} {}", with_unit(check.limit, &check.unit))
}

fn with_unit(value: f64, unit: &str) -> String {
    format!("{} {}", measured(value), clean(unit))
        .trim_end()
        .to_owned()
}
