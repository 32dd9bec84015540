//! Bars of relative compression with their 95 % intervals and the limit, as SVG.

use maud::{Markup, html};

use crate::cranking::answer::{Analysis, Finding};
use crate::report::text::{measured, number};
use crate::report::wording::{self, Row};

const WIDTH: f64 = 720.0;
const LEFT: f64 = 124.0;
const RIGHT: f64 = 200.0;
const TOP: f64 = 26.0;
const ROW: f64 = 26.0;
const BAR: f64 = 15.0;
const FOOT: f64 = 24.0;

/// Least percentage at which the scale ends; higher results stretch it.
const SCALE_PERCENT: f64 = 110.0;

/// Highest percentage that is drawn; what lies above ends at the frame, its number still tells it.
const MOST_PERCENT: f64 = 200.0;

/// Steps of the scale, percent.
const STEP_PERCENT: usize = 20;

struct Scale {
    most: f64,
}

impl Scale {
    fn of(rows: &[Row]) -> Self {
        let highest = rows
            .iter()
            .map(|row| row.high.max(row.percent))
            .filter(|value| value.is_finite())
            .fold(SCALE_PERCENT, f64::max);
        Self {
            most: ((highest / 10.0).ceil() * 10.0).min(MOST_PERCENT),
        }
    }

    fn x(&self, percent: f64) -> f64 {
        let share = if percent.is_finite() {
            percent / self.most
        } else {
            0.0
        };
        LEFT + share.clamp(0.0, 1.0) * (WIDTH - LEFT - RIGHT)
    }
}

/// The figure; nothing where there are no rows. `id` makes its names unique in the page.
pub(super) fn figure(analysis: &Analysis, id: &str) -> Markup {
    let rows = wording::rows(analysis);
    if rows.is_empty() {
        return html! {};
    }
    let scale = Scale::of(&rows);
    let name = wording::row_name(analysis);
    let height = TOP + ROW * rows.len() as f64 + FOOT;
    let foot = height - FOOT;
    html! {
        figure {
            svg viewBox=(format!("0 0 {WIDTH} {height}")) role="img"
                aria-labelledby=(format!("bars-{id}-title bars-{id}-text")) {
                title id=(format!("bars-{id}-title")) { "Relative compression by " (name.to_lowercase()) }
                desc id=(format!("bars-{id}-text")) { (description(&rows, name, analysis.low_percent)) }
                (hatching(id))
                (grid(&scale, foot))
                @for (at, row) in rows.iter().enumerate() {
                    (bar(row, TOP + ROW * at as f64, &scale, name, id))
                }
                (limit(analysis.low_percent, &scale, foot))
            }
            figcaption {
                "Compression of each " (name.to_lowercase())
                " in percent of the good ones; the black line across each bar is the 95 % interval, the dashed line the limit."
            }
        }
    }
}

fn description(rows: &[Row], name: &str, limit: f64) -> String {
    let rows: Vec<String> = rows
        .iter()
        .map(|row| {
            format!(
                "{name} {}: {} %, interval {} %, {}",
                row.which(),
                number(row.percent, 0),
                wording::interval(row),
                wording::finding(row.finding, limit)
            )
        })
        .collect();
    rows.join("; ")
}

fn hatching(id: &str) -> Markup {
    html! {
        defs {
            pattern id=(format!("hatch-{id}")) width="7" height="7" patternUnits="userSpaceOnUse"
                patternTransform="rotate(45)" {
                line.hatch x1="0" y1="0" x2="0" y2="7" {}
            }
        }
    }
}

fn grid(scale: &Scale, foot: f64) -> Markup {
    html! {
        @for percent in (0..=scale.most as usize).step_by(STEP_PERCENT) {
            @let x = number(scale.x(percent as f64), 1);
            line.grid x1=(x) x2=(x) y1=(TOP) y2=(foot) {}
            text.small.middle x=(x) y=(foot + 16.0) { (percent) " %" }
        }
    }
}

fn bar(row: &Row, top: f64, scale: &Scale, name: &str, id: &str) -> Markup {
    let class = match row.finding {
        Finding::Even => "bar-even",
        Finding::Low => "bar-low",
        Finding::Uncertain => "bar-uncertain",
    };
    let weight = if row.finding == Finding::Low {
        "strong"
    } else {
        ""
    };
    let width = number(scale.x(row.percent) - LEFT, 1);
    let y = top + (ROW - BAR) / 2.0;
    let middle = top + ROW / 2.0;
    let words = format!(
        "{} % ({} %) {}",
        number(row.percent, 0),
        wording::interval(row),
        wording::finding_word(row.finding)
    );
    html! {
        text.right class=(weight) x=(LEFT - 8.0) y=(middle + 4.0) { (name) " " (row.which()) }
        rect class=(class) x=(LEFT) y=(number(y, 1)) width=(width) height=(BAR) {}
        @if row.finding == Finding::Low {
            rect x=(LEFT) y=(number(y, 1)) width=(width) height=(BAR) fill=(format!("url(#hatch-{id})")) {}
        }
        (whisker(scale.x(row.low), scale.x(row.high), middle))
        text class=(weight) x=(WIDTH - RIGHT + 12.0) y=(middle + 4.0) { (words) }
    }
}

fn whisker(from: f64, to: f64, y: f64) -> Markup {
    let path = format!(
        "M{0} {2}V{3}M{0} {4}H{1}M{1} {2}V{3}",
        number(from, 1),
        number(to, 1),
        number(y - 4.0, 1),
        number(y + 4.0, 1),
        number(y, 1)
    );
    html! { path.whisker d=(path) {} }
}

fn limit(percent: f64, scale: &Scale, foot: f64) -> Markup {
    let x = number(scale.x(percent), 1);
    html! {
        line.limit x1=(x) x2=(x) y1=(TOP - 6.0) y2=(foot) {}
        text.small.middle x=(x) y=(TOP - 10.0) { "limit " (measured(percent)) " %" }
    }
}
