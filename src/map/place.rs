//! Coordinates of boxes and lines. Across, every item is drawn to the middle of its neighbours, as near
//! as the others of its rank and the edges of the page allow (least squares, by pooling); a box that is
//! alone in its rank stands at the left edge, so that a long chain runs straight down and the room beside it
//! takes its words. Downwards, each rank is as high as its highest box.

use super::arrange::{Item, Ranks, arrange};
use super::chart::{Chart, Tag};
use super::wording::shortened;

/// Width of the page: a window of 1280 pixels less its margins and a scroll bar.
pub(super) const PAGE: f64 = 1216.0;
/// Empty at both edges of the page.
const EDGE: f64 = 10.0;
/// Width of a box, and of how many letters its tags may be.
pub(super) const WIDTH: f64 = 290.0;
const TAG_LETTERS: usize = 40;
/// Space between boxes side by side, and for a line that passes between them.
const GAP: f64 = 26.0;
const POINT: f64 = 18.0;
/// Space between ranks: an arrow and what its way is called must fit.
const BETWEEN: f64 = 46.0;
/// How much of it goes with the rank above.
const BELOW: f64 = 4.0;
/// Rounds of drawing items to their neighbours.
const ROUNDS: usize = 25;
/// Heights of lines of letters.
pub(super) const HEAD: f64 = 22.0;
pub(super) const TEXT: f64 = 16.0;
pub(super) const PHASE: f64 = 24.0;

/// Where everything stands.
#[derive(Debug)]
pub(super) struct Placed {
    pub(super) width: f64,
    /// Where each rank ends, below its boxes and above what is told of the ways to the next: a page may end there.
    pub(super) ends: Vec<f64>,
    /// Left upper corner and height of each box.
    pub(super) boxes: Vec<(f64, f64, f64)>,
    /// Whether each box is alone in its rank, lines that pass included.
    pub(super) alone: Vec<bool>,
    /// Points of each line, from the lower edge of its box to the upper edge of its target.
    pub(super) lines: Vec<Vec<(f64, f64)>>,
}

/// What a tag says.
pub(super) fn tag_told(chart: &Chart, from: usize, tag: &Tag) -> String {
    let target = if tag.to == from {
        "↻ again".to_owned()
    } else {
        let arrow = if tag.back { "↑" } else { "→" };
        format!(
            "{arrow} {}",
            shortened(&chart.boxes[tag.to].id, 28, 1).concat()
        )
    };
    if tag.told.is_empty() {
        return target;
    }
    let room = TAG_LETTERS - 2 - target.chars().count();
    format!("{}: {target}", shortened(&tag.told, room, 1).concat())
}

/// Letters in a line beside a box that stands alone, and how far from it the line begins. Our own choice: what a
/// window of 1280 pixels holds.
pub(super) const BESIDE_LETTERS: usize = 118;
pub(super) const BESIDE: f64 = 28.0;

/// What stands beside a box that is alone in its rank: no higher than the box.
pub(super) fn beside(chart: &Chart, number: usize) -> Vec<String> {
    let room = ((height(chart, number) - 6.0) / TEXT).floor() as usize;
    let parts = &chart.boxes[number].beside;
    let mut lines: Vec<String> = Vec::new();
    for (at, part) in parts.iter().enumerate() {
        // each of those that follow gets a line at least
        let left = room.saturating_sub(lines.len() + parts.len() - at - 1);
        lines.extend(shortened(part, BESIDE_LETTERS, left));
    }
    lines
}

/// Height of a box.
pub(super) fn height(chart: &Chart, number: usize) -> f64 {
    let one = &chart.boxes[number];
    let signs = !one.hazards.is_empty() || one.work.is_some();
    let lines = one.done.len() + one.asked.len() + one.vouched.len() + one.tags.len();
    HEAD + if signs { HEAD } else { 0.0 } + lines as f64 * TEXT + 14.0
}

/// Place a chart.
pub(super) fn place(chart: &Chart) -> Placed {
    let ranks = arrange(chart);
    let across = across(&ranks);
    let mut downwards = Vec::new();
    let mut y = 8.0;
    for rank in &ranks.ranks {
        let boxes = rank.iter().filter_map(|item| match ranks.items[*item] {
            Item::Box(number) => Some(number),
            Item::Point => None,
        });
        let boxes: Vec<usize> = boxes.collect();
        let phase = boxes
            .iter()
            .any(|number| chart.boxes[*number].phase.is_some());
        y += if phase { PHASE } else { 0.0 };
        let highest = boxes
            .iter()
            .map(|number| height(chart, *number))
            .fold(0.0, f64::max);
        downwards.push((y, highest));
        y += highest + BETWEEN;
    }
    let boxes = (0..chart.boxes.len()).map(|number| {
        let top = downwards[chart.ranks[number]].0;
        (across[number] - WIDTH / 2.0, top, height(chart, number))
    });
    let boxes: Vec<(f64, f64, f64)> = boxes.collect();
    let ends = downwards
        .iter()
        .map(|(top, highest)| (top + highest + BELOW).ceil());
    let rank_of = rank_of(&ranks);
    let lines = ranks.chains.iter().map(|chain| {
        let last = chain.len() - 1;
        let mut points = Vec::new();
        for (at, item) in chain.iter().enumerate() {
            let x = across[*item];
            let (top, highest) = downwards[rank_of[*item]];
            match at {
                // down to where the highest box of the rank ends, then aside: no line runs behind a box
                0 => points.extend([(x, top + boxes[*item].2), (x, top + highest)]),
                at if at == last => points.push((x, top)),
                _ => points.extend([(x, top), (x, top + highest)]),
            }
        }
        points
    });
    let alone = (0..chart.boxes.len()).map(|number| chart.alone(number));
    Placed {
        alone: alone.collect(),
        width: PAGE,
        ends: ends.collect(),
        lines: lines.collect(),
        boxes,
    }
}

fn rank_of(ranks: &Ranks) -> Vec<usize> {
    let mut of = vec![0; ranks.items.len()];
    for (rank, items) in ranks.ranks.iter().enumerate() {
        items.iter().for_each(|item| of[*item] = rank);
    }
    of
}

/// Half the width of an item.
fn half(item: Item) -> f64 {
    match item {
        Item::Point => POINT / 2.0,
        Item::Box(_) => WIDTH / 2.0,
    }
}

/// How far apart the middles of two items beside each other stand at least.
fn apart(one: Item, other: Item) -> f64 {
    let between = if one == Item::Point || other == Item::Point {
        0.0
    } else {
        GAP
    };
    half(one) + between + half(other)
}

/// The middle of each item.
fn across(ranks: &Ranks) -> Vec<f64> {
    let mut x = vec![PAGE / 2.0; ranks.items.len()];
    let settle = |x: &mut Vec<f64>, items: &[usize], wanted: &[f64]| {
        let kind = |item: usize| ranks.items[item];
        let pairs = items.windows(2);
        let apart: Vec<f64> = pairs
            .map(|pair| apart(kind(pair[0]), kind(pair[1])))
            .collect();
        let edge = |item: Option<&usize>| EDGE + item.map_or(0.0, |item| half(kind(*item)));
        let edges = (edge(items.first()), PAGE - edge(items.last()));
        if items.len() == 1 {
            x[items[0]] = edges.0;
            return;
        }
        for (item, at) in items.iter().zip(pooled(wanted, &apart, edges)) {
            x[*item] = at;
        }
    };
    for items in &ranks.ranks {
        settle(&mut x, items, &vec![PAGE / 2.0; items.len()]);
    }
    let count = ranks.ranks.len();
    for round in 0..ROUNDS {
        let down = round % 2 == 0;
        for number in 0..count {
            let rank = if down { number } else { count - 1 - number };
            let items = &ranks.ranks[rank];
            let near = if down { &ranks.above } else { &ranks.below };
            let wanted = items.iter().map(|item| match near[*item].len() {
                0 => x[*item],
                count => near[*item].iter().map(|n| x[*n]).sum::<f64>() / count as f64,
            });
            let wanted: Vec<f64> = wanted.collect();
            settle(&mut x, items, &wanted);
        }
    }
    x
}

/// Places nearest to the wanted ones, in order, at least so far apart, and between two edges: those that
/// are too near are pooled and moved together, and what would pass an edge is stopped there.
fn pooled(wanted: &[f64], apart: &[f64], (least, most): (f64, f64)) -> Vec<f64> {
    let mut offsets = vec![0.0];
    for gap in apart {
        offsets.push(offsets[offsets.len() - 1] + gap);
    }
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (number, want) in wanted.iter().enumerate() {
        let mut pool = (want - offsets[number], 1);
        while let Some(last) = pools.last().copied().filter(|last| last.0 > pool.0) {
            pools.pop();
            let count = last.1 + pool.1;
            let mean = (last.0 * last.1 as f64 + pool.0 * pool.1 as f64) / count as f64;
            pool = (mean, count);
        }
        pools.push(pool);
    }
    let most = most - offsets[offsets.len() - 1];
    let bases = pools
        .into_iter()
        .flat_map(|(base, count)| vec![base.min(most).max(least); count]);
    bases
        .zip(offsets)
        .map(|(base, offset)| base + offset)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::chart::{MOST_PASSING, WIDEST};
    use super::*;

    /// Two that want the same place share the shift; a free one stands where it wants; none leaves the page.
    #[test]
    fn pools_share_what_they_must_give_way() {
        let wide = (-1000.0, 1000.0);
        assert_eq!(pooled(&[0.0, 0.0], &[10.0], wide), [-5.0, 5.0]);
        assert_eq!(pooled(&[0.0, 30.0], &[10.0], wide), [0.0, 30.0]);
        let three = pooled(&[0.0, 0.0, 0.0], &[10.0, 10.0], wide);
        assert_eq!(three, [-10.0, 0.0, 10.0]);
        assert_eq!(pooled(&[5.0], &[], wide), [5.0]);
        assert_eq!(pooled(&[0.0, 0.0], &[10.0], (0.0, 20.0)), [0.0, 10.0]);
        assert_eq!(pooled(&[0.0, 30.0], &[10.0], (0.0, 20.0)), [0.0, 20.0]);
    }

    /// The fullest rank has room on the page.
    #[test]
    fn the_fullest_rank_fits() {
        let boxes = WIDEST as f64 * (WIDTH + GAP) + MOST_PASSING as f64 * POINT;
        assert!(boxes + 2.0 * EDGE <= PAGE, "{boxes}");
    }
}
