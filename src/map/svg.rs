//! A placed chart as SVG.

use std::fmt::Write;

use super::chart::{Box, Chart, Tag};
use super::place::{BESIDE, HEAD, PHASE, Placed, TEXT, WIDTH, beside, place, tag_told};
use crate::procedure::model::SignalWord;

/// Width that a letter of what is told at a line takes, about; the widest of its texts are signs and digits.
const LETTER: f64 = 6.6;

/// The picture of one procedure, each rank in a drawing of its own, one below the other: between them a printed page may
/// end. Ids of boxes begin with the procedure's name.
pub(super) fn svg(name: &str, title: &str, chart: &Chart) -> String {
    let placed = place(chart);
    let mut ranks = vec![String::new(); placed.ends.len()];
    lines(&mut ranks, name, chart, &placed);
    told_on_lines(&mut ranks, chart, &placed);
    for (number, place) in placed.boxes.iter().enumerate() {
        let rank = &mut ranks[chart.ranks[number]];
        draw(rank, name, chart, number, *place);
        if placed.alone[number] {
            draw_beside(rank, &beside(chart, number), *place);
        }
    }
    let mut text = format!(
        "<div class=\"picture\" role=\"img\" aria-label=\"{}\">\n\
         <svg class=\"signs\" width=\"0\" height=\"0\"><defs><marker id=\"tip-{name}\" viewBox=\"0 0 8 8\" refX=\"7\" refY=\"4\" markerWidth=\"8\" markerHeight=\"8\" orient=\"auto\"><path d=\"M0 0 8 4 0 8z\"/></marker></defs></svg>\n",
        escaped(title)
    );
    let mut top = 0.0;
    for (rank, end) in ranks.iter().zip(&placed.ends) {
        let (w, h) = (placed.width, end - top);
        // writing to a String does not fail
        let _ = writeln!(
            text,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w:.0}\" height=\"{h:.0}\" viewBox=\"0 {top:.0} {w:.0} {h:.0}\">\n{rank}</svg>"
        );
        top = *end;
    }
    text + "</div>\n"
}

/// A text as SVG and HTML take it.
pub(super) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

/// Each line in all the ranks that it passes; what lies beyond one is cut off there.
fn lines(ranks: &mut [String], name: &str, chart: &Chart, placed: &Placed) {
    for (line, points) in chart.lines.iter().zip(&placed.lines) {
        let mut path = String::new();
        for (at, (x, y)) in points.iter().enumerate() {
            let _ = match at.checked_sub(1).map(|before| points[before]) {
                None => write!(path, "M{x:.1} {y:.1}"),
                Some((before_x, before_y)) => {
                    let middle = (before_y + y) / 2.0;
                    write!(
                        path,
                        "C{before_x:.1} {middle:.1} {x:.1} {middle:.1} {x:.1} {y:.1}"
                    )
                }
            };
        }
        let class = if line.untested {
            "line untested"
        } else {
            "line"
        };
        for text in &mut ranks[chart.ranks[line.from]..=chart.ranks[line.to]] {
            let _ = writeln!(
                text,
                "<path class=\"{class}\" d=\"{path}\" marker-end=\"url(#tip-{name})\"/>"
            );
        }
    }
}

/// What is written at the lines, after all of them and on a ground of its own, so that none runs through a sign.
fn told_on_lines(ranks: &mut [String], chart: &Chart, placed: &Placed) {
    // how many ways are told already left and right of each box's arrows
    let mut told_at = vec![[0.0; 2]; chart.boxes.len()];
    for (line, points) in chart.lines.iter().zip(&placed.lines) {
        if line.told.is_empty() && !line.untested {
            continue;
        }
        // at the target, where few ways meet; at their box many would begin in one point
        let text = &mut ranks[chart.ranks[line.to]];
        let (x, mut y) = points[points.len() - 1];
        let from_left = points[points.len() - 2].0 < x - 1.0;
        let before = &mut told_at[line.to][usize::from(from_left)];
        y -= *before;
        *before += TEXT;
        if chart.boxes[line.to].phase.is_some() {
            y -= PHASE; // above the heading
        }
        let mark = if line.untested { " ⚑" } else { "" };
        let told = super::wording::shortened(&line.told, 30, 1).concat() + mark;
        let wide = LETTER * told.chars().count() as f64 + 6.0;
        let (at, anchor, left) = if from_left {
            (x - 7.0, " text-anchor=\"end\"", x - 4.0 - wide)
        } else {
            (x + 7.0, "", x + 4.0)
        };
        let _ = writeln!(
            text,
            "<rect class=\"ground\" x=\"{left:.1}\" y=\"{:.1}\" width=\"{wide:.1}\" height=\"{TEXT:.1}\"/>",
            y - 10.0 - TEXT * 0.75
        );
        let _ = writeln!(
            text,
            "<text class=\"way{}\" x=\"{at:.1}\" y=\"{:.1}\"{anchor}>{}</text>",
            if line.untested { " untested" } else { "" },
            y - 10.0,
            escaped(&told)
        );
    }
}

fn draw(text: &mut String, name: &str, chart: &Chart, at: usize, (x, y, height): (f64, f64, f64)) {
    let one = &chart.boxes[at];
    let mut classes = vec!["box"];
    classes.extend(one.is_end.then_some("end"));
    classes.extend(one.signed.then_some("signed"));
    classes.extend(one.called.is_some().then_some("called"));
    classes.extend(one.untested.then_some("untested"));
    let round = if one.is_end { height / 2.0 } else { 5.0 };
    let round = round.min(24.0);
    let _ = write!(
        text,
        "<g class=\"{}\" id=\"{name}.{}\"><title>{}</title>",
        classes.join(" "),
        one.id,
        escaped(&one.whole)
    );
    if let Some(phase) = &one.phase {
        let _ = write!(
            text,
            "<text class=\"phase\" x=\"{x:.1}\" y=\"{:.1}\">{}</text>",
            y - 9.0,
            escaped(phase)
        );
    }
    let _ = write!(
        text,
        "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{WIDTH}\" height=\"{height:.1}\" rx=\"{round:.1}\"/>"
    );
    if one.called.is_some() {
        let (left, right) = (x + 6.0, x + WIDTH - 6.0);
        let low = y + height;
        let _ = write!(
            text,
            "<path class=\"side\" d=\"M{left:.1} {y:.1}V{low:.1}M{right:.1} {y:.1}V{low:.1}\"/>"
        );
    }
    inside(text, one, x + 14.0, y, WIDTH - 28.0);
    for (number, tag) in one.tags.iter().rev().enumerate() {
        let base = y + height - 9.0 - TEXT * number as f64;
        draw_tag(text, name, chart, at, tag, (x + 14.0, base));
    }
    text.push_str("</g>\n");
}

fn draw_beside(text: &mut String, lines: &[String], (x, y, _): (f64, f64, f64)) {
    for (number, line) in lines.iter().enumerate() {
        let base = y + 16.0 + TEXT * number as f64;
        let _ = writeln!(
            text,
            "<text class=\"beside\" x=\"{:.1}\" y=\"{base:.1}\">{}</text>",
            x + WIDTH + BESIDE,
            escaped(line)
        );
    }
}

fn inside(text: &mut String, one: &Box, x: f64, y: f64, width: f64) {
    let mut base = y + 18.0;
    let _ = write!(
        text,
        "<text class=\"id\" x=\"{x:.1}\" y=\"{base:.1}\">{}</text><text class=\"kind\" x=\"{:.1}\" y=\"{base:.1}\">{}</text>",
        escaped(&super::wording::shortened(&one.id, 22, 1).concat()),
        x + width,
        escaped(&one.kind)
    );
    if !one.hazards.is_empty() || one.work.is_some() {
        base += HEAD;
        let mut at = x;
        for (word, numbers) in &one.hazards {
            let numbers: Vec<String> = numbers.iter().map(usize::to_string).collect();
            let told = format!("{} {}", word.text(), numbers.join(", "));
            let wide = 14.0 + 7.4 * told.len() as f64;
            let _ = write!(
                text,
                "<g class=\"{}\"><rect x=\"{at:.1}\" y=\"{:.1}\" width=\"{wide:.1}\" height=\"17\" rx=\"2\"/><text x=\"{:.1}\" y=\"{:.1}\">{}</text></g>",
                class_of(*word),
                base - 13.0,
                at + wide / 2.0,
                base,
                told
            );
            at += wide + 5.0;
        }
        if let Some(work) = &one.work {
            let _ = write!(
                text,
                "<text class=\"work\" x=\"{:.1}\" y=\"{base:.1}\">{}</text>",
                at + 2.0,
                escaped(work)
            );
        }
    }
    base += 3.0;
    let done = one.done.iter().map(|line| (" class=\"done\"", line));
    let asked = one.asked.iter().map(|line| ("", line));
    for (class, line) in done.chain(asked) {
        base += TEXT;
        let line = escaped(line);
        let _ = write!(
            text,
            "<text{class} x=\"{x:.1}\" y=\"{base:.1}\">{line}</text>"
        );
    }
    for line in &one.vouched {
        base += TEXT;
        let line = super::wording::shortened(line, 38, 1).concat();
        let _ = write!(
            text,
            "<text class=\"vouched\" x=\"{x:.1}\" y=\"{base:.1}\">{}</text>",
            escaped(&line)
        );
    }
}

/// The class of a signal word.
pub(super) fn class_of(word: SignalWord) -> &'static str {
    match word {
        SignalWord::Danger => "danger",
        SignalWord::Warning => "warning",
        SignalWord::Caution => "caution",
        SignalWord::Notice => "notice",
    }
}

fn draw_tag(
    text: &mut String,
    name: &str,
    chart: &Chart,
    from: usize,
    tag: &Tag,
    (x, y): (f64, f64),
) {
    let to = &chart.boxes[tag.to].id;
    let mark = if tag.untested { " ⚑" } else { "" };
    let class = if tag.untested { "tag untested" } else { "tag" };
    let _ = write!(
        text,
        "<a class=\"{class}\" href=\"#{name}.{to}\"><title>{} → {to}</title><text x=\"{x:.1}\" y=\"{y:.1}\">{}{mark}</text></a>",
        escaped(&tag.told),
        escaped(&tag_told(chart, from, tag)),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::procedure::read_library;

    /// A printed page ends below a rank, never within a box, and a way goes on where the next drawing begins.
    #[test]
    fn a_page_may_end_between_ranks_and_nowhere_else() {
        let sheet = include_str!("../procedure/check/tests/sound.yaml");
        let source = |_: &str| Some(("sound.yaml".to_owned(), sheet.to_owned()));
        let library = read_library("sound", &source).unwrap();
        let chart = Chart::of(&library.procedures["sound"], None);
        let shown = svg("sound", "Sound", &chart);
        let drawings: Vec<&str> = shown.split("<svg xmlns").skip(1).collect();
        let placed = place(&chart);
        assert_eq!(drawings.len(), placed.ends.len());
        assert!(drawings.len() > 3, "{}", drawings.len());
        for (number, (_, y, height)) in placed.boxes.iter().enumerate() {
            let rank = chart.ranks[number];
            let begin = rank.checked_sub(1).map_or(0.0, |above| placed.ends[above]);
            assert!(begin < *y && y + height < placed.ends[rank]);
            let id = format!("id=\"sound.{}\"", chart.boxes[number].id);
            let holding = (0..drawings.len()).filter(|at| drawings[*at].contains(&id));
            assert_eq!(holding.collect::<Vec<_>>(), [rank], "{id}");
            let view = format!(
                "viewBox=\"0 {begin:.0} {:.0} {:.0}\"",
                placed.width,
                placed.ends[rank] - begin
            );
            assert!(drawings[rank].contains(&view), "{view}");
        }
        for (line, points) in chart.lines.iter().zip(&placed.lines) {
            let begins = format!("d=\"M{:.1} {:.1}C", points[0].0, points[0].1);
            let passed = &drawings[chart.ranks[line.from]..=chart.ranks[line.to]];
            assert!(passed.iter().all(|one| one.contains(&begins)), "{begins}");
        }
    }
}
