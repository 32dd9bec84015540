//! The trace of a capture in a few lines: one or two cycles, each firing with its number under it.

use super::Screen;
use super::canvas::Canvas;
use crate::cranking::answer::Drawing;
use crate::report::text::number;
use crate::report::trace::View;
use crate::text::clean;
use crate::text::wrap;

/// Widest plot, characters.
const WIDEST: usize = 64;

/// Lines of the trace.
const LINES: usize = 8;

/// Characters for the scale at the left.
const SCALE: usize = 8;

/// Least characters between two firings' numbers.
const LABEL_SPACING: usize = 6;

/// The picture; none where there is no trace. `low` holds the numbers to be marked as low.
pub(super) fn waveform(drawing: &Drawing, low: &[usize], screen: Screen) -> Option<String> {
    let characters = screen.wide().saturating_sub(SCALE).min(WIDEST);
    let view = View::close_up(drawing, characters / LABEL_SPACING)?;
    let mut canvas = Canvas::new(characters, LINES, screen.plain);
    for (at, (least, greatest)) in view.columns(canvas.width()).into_iter().enumerate() {
        if least <= greatest {
            canvas.stroke(at, view.up(least), view.up(greatest));
        }
    }
    let title = format!("{} ({})", clean(&drawing.label), clean(&drawing.unit));
    let mut lines = vec![wrap(&title, screen.wide(), 0)];
    for (at, line) in canvas.lines().into_iter().enumerate() {
        let scale = match at {
            0 => value(view.greatest),
            _ if at == LINES - 1 => value(view.least),
            _ => String::new(),
        };
        lines.push(format!("{scale:>7} {line}"));
    }
    lines.push(marks(
        &view,
        characters,
        |_| None,
        if screen.plain { '^' } else { '▲' },
    ));
    lines.push(marks(&view, characters, |n| Some(n.to_string()), ' '));
    if view.firings.iter().any(|(_, n)| low.contains(n)) {
        let word = |n: usize| low.contains(&n).then(|| "LOW".to_owned());
        lines.push(marks(&view, characters, word, ' '));
    }
    lines.push(caption(&view, characters, screen.plain));
    let trimmed: Vec<&str> = lines.iter().map(|line| line.trim_end()).collect();
    Some(trimmed.join("\n"))
}

/// A value of the scale in at most seven characters.
fn value(value: f64) -> String {
    match value.abs() {
        size if size >= 1e6 => format!("{value:.1e}"),
        size if size >= 100.0 => number(value, 0),
        size if size >= 10.0 => number(value, 1),
        _ => number(value, 3),
    }
}

/// One line under the trace: reference events as `reference`, firings with their words, each centred
/// under its time; a word that would touch the one before is left out.
fn marks(
    view: &View,
    characters: usize,
    word: impl Fn(usize) -> Option<String>,
    reference: char,
) -> String {
    let mut line = vec![' '; characters];
    let cell = |time: f64| {
        let at = view.across(time) * characters as f64;
        (at.max(0.0) as usize).min(characters - 1)
    };
    for time in &view.references {
        line[cell(*time)] = reference;
    }
    let mut free = 0;
    for (time, number) in &view.firings {
        let Some(text) = word(*number) else { continue };
        let start = cell(*time)
            .saturating_sub(text.chars().count() / 2)
            .max(free);
        let end = start + text.chars().count();
        if end <= characters && start <= cell(*time) {
            line.splice(start..end, text.chars());
            free = end + 1;
        }
    }
    let line: String = line.into_iter().collect();
    format!("{:>7} {line}", "")
}

fn caption(view: &View, characters: usize, plain: bool) -> String {
    let reference = match (view.references.is_empty(), plain) {
        (true, _) => "",
        (false, true) => ", ^ reference",
        (false, false) => ", ▲ reference",
    };
    let text = format!(
        "{} to {} s, numbers at firing top dead centres{reference}. Heights of humps mislead: the percentages count.",
        number(view.start, 2),
        number(view.end, 2)
    );
    let lines = wrap(&text, characters, 0);
    format!("{:>7} {}", "", lines.replace('\n', "\n        "))
}
