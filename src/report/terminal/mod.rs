//! An analysis for the terminal: rows, verdict, what it rests on, checks that failed, and the trace.
//! Meaning is carried by words; there is no colour to lose.

mod advice;
mod canvas;
mod waveform;

pub use advice::{advice, plan};
use comfy_table::presets::NOTHING;
use comfy_table::{CellAlignment, ContentArrangement, Table};

use super::text::number;
use super::wording::{self, Row};
use crate::cranking::answer::{Analysis, Check, Drawing};
use crate::text::clean;
use crate::text::wrap;

/// Least width that is laid out for; narrower screens wrap.
const LEAST_WIDTH: usize = 60;

/// Least width at which there is room for bars.
const LEAST_WIDTH_WITH_BARS: usize = 68;

/// Longest bar, characters.
const LONGEST_BAR: usize = 24;

/// Percent that the longest bar stands for: the upper ends of even cylinders' intervals lie below.
const BAR_FULL_PERCENT: f64 = 110.0;

/// What the other columns of the result take.
const OTHER_COLUMNS: usize = 59;

/// Stands where the percentages of a capture would look like a result.
const NOT_SHOWN: &str =
    "The percentages behind it cannot be relied on, so they are not shown here.";

/// What bars are drawn with: up to the interval, and the interval itself.
const BAR: (&str, &str) = ("█", "▒");

/// The same in ASCII.
const PLAIN_BAR: (&str, &str) = ("#", "=");

/// What is written to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Screen {
    /// Characters in a line.
    pub width: usize,
    /// ASCII only, for terminals and files that show nothing else.
    pub plain: bool,
}

impl Screen {
    fn wide(self) -> usize {
        self.width.max(LEAST_WIDTH)
    }

    /// In a plain screen, what is not ASCII is written in other words.
    fn words(self, text: &str) -> String {
        if !self.plain {
            return text.to_owned();
        }
        text.chars()
            .map(|c| match c {
                '–' | '—' => "-".to_owned(),
                '°' => "deg".to_owned(),
                '’' | '‘' => "'".to_owned(),
                '“' | '”' => "\"".to_owned(),
                c if c.is_ascii() => c.to_string(),
                _ => "?".to_owned(),
            })
            .collect()
    }
}

/// The result of a capture. The drawing, where there is one, comes first. Ends with a line break.
#[must_use]
pub fn result(analysis: &Analysis, drawing: Option<&Drawing>, screen: Screen) -> String {
    let width = screen.wide();
    let mut blocks: Vec<String> = Vec::new();
    if let Some(drawing) = drawing {
        let low = wording::low_rows(analysis);
        blocks.extend(waveform::waveform(drawing, &low, screen));
    }
    blocks.extend(rows_table(analysis, screen));
    // what a failed check advises stands below it once
    let failed = wording::failed(&analysis.quality);
    let told = failed.is_some_and(|(cause, _)| analysis.verdict.why.contains(&cause.advice));
    let mut verdict = vec![wrap(&format!("{}.", wording::verdict(analysis)), width, 0)];
    if !told {
        verdict.push(wrap(&analysis.verdict.why, width, 0));
    }
    if !wording::judged(analysis) && !wording::rows(analysis).is_empty() {
        verdict.push(wrap(NOT_SHOWN, width, 0));
    }
    verdict.push(wrap(&wording::basis(analysis), width, 0));
    verdict.push(wrap(wording::COMMON_LOSS, width, 0));
    verdict.extend(wording::naming(analysis).map(|text| wrap(text, width, 0)));
    blocks.push(verdict.join("\n"));
    blocks.extend(failed_checks(analysis, width));
    blocks.extend(remarks(analysis, width));
    screen.words(&(blocks.join("\n\n") + "\n"))
}

fn rows_table(analysis: &Analysis, screen: Screen) -> Option<String> {
    let rows = wording::rows(analysis);
    if rows.is_empty() || !wording::judged(analysis) {
        return None;
    }
    let bars = screen.wide() >= LEAST_WIDTH_WITH_BARS;
    let longest = (screen.wide().saturating_sub(OTHER_COLUMNS)).min(LONGEST_BAR);
    let name = wording::row_name(analysis);
    let mut header = vec![name, "Relative", "95 % interval", "Finding"];
    let (_, drawn) = signs(screen.plain);
    let interval = format!("95 % interval {drawn}");
    if bars {
        header[2] = &interval;
        header.insert(2, "compression");
    } else {
        header[1] = "Compression";
    }
    let mut table = Table::new();
    table
        .load_style(NOTHING)
        .set_content_arrangement(ContentArrangement::Disabled)
        .set_header(header);
    for row in &rows {
        let mut cells = vec![
            row.which(),
            format!("{} %", number(row.percent, 0)),
            wording::interval(row),
            wording::finding(row.finding, analysis.low_percent),
        ];
        if bars {
            cells.insert(2, bar(row, longest, screen.plain));
        }
        table.add_row(cells);
    }
    for at in [1, if bars { 3 } else { 2 }] {
        if let Some(column) = table.column_mut(at) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    Some(trimmed(&table.to_string()))
}

/// Tables pad their lines; files and diffs are better without.
fn trimmed(text: &str) -> String {
    let lines: Vec<&str> = text.lines().map(str::trim_end).collect();
    lines.join("\n")
}

fn signs(plain: bool) -> (&'static str, &'static str) {
    if plain { PLAIN_BAR } else { BAR }
}

/// Solid up to the lower end of the interval, then the interval, at least one sign wide.
fn bar(row: &Row, longest: usize, plain: bool) -> String {
    let cells = |percent: f64| {
        let share = (percent / BAR_FULL_PERCENT).clamp(0.0, 1.0);
        (share * longest as f64).round() as usize
    };
    let high = cells(row.high).max(1);
    let low = cells(row.low).min(high - 1);
    let (solid, interval) = signs(plain);
    solid.repeat(low) + &interval.repeat(high - low)
}

fn failed_checks(analysis: &Analysis, width: usize) -> Option<String> {
    let mut lines = Vec::new();
    if let Some((cause, others)) = wording::failed(&analysis.quality) {
        lines.push("The capture is not good enough:".to_owned());
        let advice = clean(&cause.advice);
        lines.push(wrap(&format!("* {}; {advice}", told(cause)), width, 2));
        let others: Vec<String> = others.into_iter().map(told).collect();
        if !others.is_empty() {
            let told = format!(
                "These failed too, {}: {}.",
                wording::FOLLOWS,
                others.join("; ")
            );
            lines.push(wrap(&told, width, 2));
        }
    }
    for passed_over in &analysis.passed_over {
        let why: Vec<&str> = passed_over
            .quality
            .iter()
            .filter(|check| !check.passed)
            .map(|check| check.check.words())
            .collect();
        let why = if why.is_empty() {
            String::new()
        } else {
            format!(" (failed: {})", why.join(", "))
        };
        let line = format!("Not used: {}{why}.", passed_over.source.name());
        lines.push(wrap(&line, width, 4));
    }
    (!lines.is_empty()).then(|| lines.join("\n"))
}

/// A check that failed, with what was measured and what is allowed.
fn told(check: &Check) -> String {
    format!(
        "{}: {}, allowed is {}",
        check.check.words(),
        wording::check_measured(check),
        wording::check_limit(check)
    )
}

fn remarks(analysis: &Analysis, width: usize) -> Option<String> {
    let lines: Vec<String> = analysis
        .remarks
        .iter()
        .map(|remark| wrap(&format!("Remark: {}", clean(remark)), width, 4))
        .collect();
    (!lines.is_empty()).then(|| lines.join("\n"))
}

#[cfg(test)]
mod tests;
