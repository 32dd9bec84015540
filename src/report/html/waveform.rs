//! The trace of a capture as SVG, at two scales: all of it, and one or two cycles with every firing
//! named.

use std::fmt::Write as _;

use maud::{Markup, html};

use crate::cranking::answer::Drawing;
use crate::report::text::number;
use crate::report::trace::View;
use crate::text::clean;

const WIDTH: f64 = 720.0;
const LEFT: f64 = 52.0;
const RIGHT: f64 = 12.0;
const TOP: f64 = 20.0;
const PLOT: f64 = 150.0;
const FOOT: f64 = 56.0;

/// Most points drawn one by one; a longer trace is drawn by its least and greatest value per column.
const MOST_POINTS: usize = 2000;

/// Columns of a longer trace.
const COLUMNS: usize = 700;

/// Most firings that a close-up names.
const MOST_LABELS: usize = 26;

/// Least distance of two firings at which each gets its line, in units of the drawing.
const LEAST_SPACING: f64 = 16.0;

/// The rows of text under the plot.
const FIRST_ROW: f64 = TOP + PLOT + 15.0;
const SECOND_ROW: f64 = TOP + PLOT + 29.0;
const THIRD_ROW: f64 = TOP + PLOT + 45.0;

/// Both figures; a sentence where there is nothing to draw. `low` holds the numbers to be marked,
/// `name` is what they count, `id` makes names unique in the page.
pub(super) fn figures(drawing: &Drawing, low: &[usize], name: &str, id: &str) -> Markup {
    let whole = View::whole(drawing);
    let close = View::close_up(drawing, MOST_LABELS);
    let label = format!("{} ({})", clean(&drawing.label), clean(&drawing.unit));
    html! {
        @if let Some(view) = &whole {
            (figure(drawing, view, low, name, &format!("{id}-whole"), &format!("The whole capture: {label}")))
        } @else {
            p { "The capture holds no trace that could be drawn." }
        }
        @if let Some(view) = close.filter(|view| Some(view) != whole.as_ref()) {
            (figure(drawing, &view, low, name, &format!("{id}-close"), &format!("Close up: {label}")))
            p.aside {
                "Numbers under the plot name the " (name.to_lowercase())
                " whose firing top dead centre stands there; triangles are reference events. Humps overlap and lag, so their heights do not give the compression; the percentages come from a fit of all together."
            }
        }
    }
}

fn figure(
    drawing: &Drawing,
    view: &View,
    low: &[usize],
    name: &str,
    id: &str,
    title: &str,
) -> Markup {
    let height = TOP + PLOT + FOOT;
    html! {
        figure {
            svg viewBox=(format!("0 0 {WIDTH} {height}")) role="img"
                aria-labelledby=(format!("{id}-title {id}-text")) {
                title id=(format!("{id}-title")) { (title) }
                desc id=(format!("{id}-text")) { (description(view, low, name)) }
                (window(drawing, view))
                (firings(view, low))
                (scales(view, &drawing.unit))
                path.trace d=(trace(view)) {}
                rect.frame x=(LEFT) y=(TOP) width=(WIDTH - LEFT - RIGHT) height=(PLOT) {}
                (references(view))
            }
            figcaption {
                (title)
                @if analysed(drawing, view).is_some() { "; what was analysed has a blue ground" }
            }
        }
    }
}

fn description(view: &View, low: &[usize], name: &str) -> String {
    let numbers: Vec<String> = view.firings.iter().map(|f| f.1.to_string()).collect();
    let low: Vec<String> = low.iter().map(ToString::to_string).collect();
    let marked = if low.is_empty() {
        String::new()
    } else {
        format!(" Marked as low: {}.", low.join(", "))
    };
    format!(
        "From {} to {} s. {name}s fire in the order {}.{marked}",
        number(view.start, 2),
        number(view.end, 2),
        numbers.join(" ")
    )
}

fn x(view: &View, time: f64) -> f64 {
    LEFT + view.across(time).clamp(0.0, 1.0) * (WIDTH - LEFT - RIGHT)
}

fn y(view: &View, value: f64) -> f64 {
    // a margin of 4 % above and below keeps the trace off the frame
    TOP + PLOT * (0.96 - 0.92 * view.up(value))
}

fn trace(view: &View) -> String {
    let mut path = String::new();
    let mut add = |x: f64, y: f64| {
        let command = if path.is_empty() { 'M' } else { 'L' };
        // writing into a string cannot fail
        let _ = write!(path, "{command}{} {}", number(x, 1), number(y, 1));
    };
    if view.points.len() <= MOST_POINTS {
        for (time, value) in &view.points {
            add(x(view, *time), y(view, *value));
        }
    } else {
        let step = (WIDTH - LEFT - RIGHT) / COLUMNS as f64;
        for (at, (least, greatest)) in view.columns(COLUMNS).into_iter().enumerate() {
            if least <= greatest {
                let middle = LEFT + step * (at as f64 + 0.5);
                add(middle, y(view, least));
                add(middle, y(view, greatest));
            }
        }
    }
    path
}

/// Both ends of what was analysed, in units of the drawing; none where that is all or nothing of the view.
fn analysed(drawing: &Drawing, view: &View) -> Option<(f64, f64)> {
    let (from, to) = drawing.window;
    let whole = from <= view.start && view.end <= to;
    let inside = from < to && from < view.end && view.start < to;
    (inside && !whole).then(|| (x(view, from), x(view, to)))
}

fn window(drawing: &Drawing, view: &View) -> Markup {
    html! {
        @if let Some((left, right)) = analysed(drawing, view) {
            rect.window x=(number(left, 1)) y=(TOP) width=(number(right - left, 1)) height=(PLOT) {}
        }
    }
}

/// Whether there is room to name each firing.
fn is_roomy(view: &View) -> bool {
    spacing(view) >= LEAST_SPACING
}

/// Least distance of two firings; endless where there are fewer.
fn spacing(view: &View) -> f64 {
    view.firings
        .windows(2)
        .map(|pair| x(view, pair[1].0) - x(view, pair[0].0))
        .fold(f64::INFINITY, f64::min)
}

/// Lines and numbers where there is room for them; otherwise the numbers of the low ones only.
fn firings(view: &View, low: &[usize]) -> Markup {
    let roomy = is_roomy(view);
    let band = spacing(view).min(WIDTH / 8.0) * 0.9;
    let crowded_low = !roomy && view.firings.iter().any(|(_, n)| low.contains(n));
    html! {
        @for (time, name) in &view.firings {
            @let at = x(view, *time);
            @let is_low = low.contains(name);
            @if roomy {
                (firing(at, *name, is_low, band))
            } @else if is_low {
                text.small.strong.middle x=(number(at, 1)) y=(SECOND_ROW) { (name) }
            }
        }
        @if crowded_low {
            text.small.middle x=(number(f64::midpoint(LEFT, WIDTH - RIGHT), 1)) y=(THIRD_ROW) {
                "numbers: firings of the low ones"
            }
        }
    }
}

fn firing(at: f64, name: usize, is_low: bool, band: f64) -> Markup {
    let (left, right) = (
        (at - band / 2.0).max(LEFT),
        (at + band / 2.0).min(WIDTH - RIGHT),
    );
    let weight = if is_low { "strong" } else { "" };
    let at = number(at, 1);
    html! {
        @if is_low {
            rect.lowband x=(number(left, 1)) y=(TOP) width=(number(right - left, 1)) height=(PLOT) {}
            text.small.strong.middle x=(at) y=(SECOND_ROW) { "low" }
        }
        line.firing x1=(at) x2=(at) y1=(TOP) y2=(TOP + PLOT) {}
        text.middle class=(weight) x=(at) y=(FIRST_ROW) { (name) }
    }
}

fn references(view: &View) -> Markup {
    html! {
        @for time in &view.references {
            @let at = x(view, *time);
            path.reference d=(format!("M{} {TOP}l-4 -8h8z", number(at, 1))) {}
        }
    }
}

fn scales(view: &View, unit: &str) -> Markup {
    let row = if is_roomy(view) { THIRD_ROW } else { FIRST_ROW };
    html! {
        @let (values, places) = ticks(view.least, view.greatest, 4);
        @for value in values {
            @let at = number(y(view, value), 1);
            line.grid x1=(LEFT) x2=(WIDTH - RIGHT) y1=(at) y2=(at) {}
            text.small.right x=(LEFT - 6.0) y=(number(y(view, value) + 4.0, 1)) { (number(value, places)) }
        }
        @let (times, places) = ticks(view.start, view.end, 8);
        @for time in times {
            @let at = number(x(view, time), 1);
            line.frame x1=(at) x2=(at) y1=(TOP + PLOT) y2=(TOP + PLOT + 4.0) {}
            text.small.middle x=(at) y=(row) { (number(time, places)) " s" }
        }
        text.small.right x=(LEFT - 6.0) y=(TOP - 6.0) { (clean(unit)) }
    }
}

/// Round values between two ends, about that many, and the decimal places that they need: steps of 1,
/// 2 or 5 times a power of ten.
fn ticks(from: f64, to: f64, about: usize) -> (Vec<f64>, usize) {
    let span = to - from;
    if !(span > 0.0 && span.is_finite()) {
        return (vec![from], 2);
    }
    let rough = span / about as f64;
    let power = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|factor| factor * power)
        .find(|step| *step >= rough)
        .unwrap_or(rough);
    let first = (from / step).ceil();
    let values = (0..=about * 2)
        .map(|at| (first + at as f64) * step)
        .take_while(|value| *value <= to + step * 1e-9)
        .collect();
    // the small amount keeps 0.1, whose logarithm comes out a hair below -1, at one place
    let places = (-(step.log10() + 1e-9).floor()).clamp(0.0, 9.0);
    (values, places as usize)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_inside() {
        let texts = |from, to, about| {
            let (values, places) = ticks(from, to, about);
            values
                .into_iter()
                .map(|value| number(value, places))
                .collect::<Vec<_>>()
        };
        assert_eq!(
            texts(0.0, 8.0, 8),
            ["0", "1", "2", "3", "4", "5", "6", "7", "8"]
        );
        assert_eq!(texts(1.18, 1.84, 4), ["1.2", "1.4", "1.6", "1.8"]);
        assert_eq!(texts(-120.0, 410.0, 4), ["0", "200", "400"]);
        assert_eq!(texts(0.0, 0.4, 4), ["0.0", "0.1", "0.2", "0.3", "0.4"]);
        assert_eq!(ticks(5.0, 5.0, 4).0, [5.0]);
    }
}
