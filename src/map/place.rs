//! Coordinates of boxes and lines. Across, every item is drawn to the middle of its neighbours, as near
//! as the others of its rank allow (least squares, by pooling); downwards, each rank is as high as its
//! highest box.

use super::arrange::{Item, Ranks, arrange};
use super::chart::{Chart, Tag};
use super::wording::shortened;

/// Width of a box, its letters included, and of a tag.
pub(super) const WIDTH: f64 = 252.0;
/// Width of a letter in a tag, and of what stands before its letters.
const TAG_LETTER: f64 = 6.4;
const TAG_HEAD: f64 = 26.0;
/// Space between boxes side by side, and for a line that passes between them.
const GAP: f64 = 26.0;
const POINT: f64 = 10.0;
/// Space between ranks: an arrow and what its way is called must fit.
const BETWEEN: f64 = 46.0;
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
    pub(super) height: f64,
    /// Left upper corner and height of each box.
    pub(super) boxes: Vec<(f64, f64, f64)>,
    /// Points of each line, from the lower edge of its box to the upper edge of its target.
    pub(super) lines: Vec<Vec<(f64, f64)>>,
}

/// What a tag says.
pub(super) fn tag_told(chart: &Chart, from: usize, tag: &Tag) -> String {
    let way = if tag.told.is_empty() {
        String::new()
    } else {
        format!("{}: ", shortened(&tag.told, 16, 1).concat())
    };
    if tag.to == from {
        return format!("{way}↻ again");
    }
    let arrow = if tag.back { "↑" } else { "→" };
    format!("{way}{arrow} {}", chart.boxes[tag.to].id)
}

/// Height of a box.
pub(super) fn height(chart: &Chart, number: usize) -> f64 {
    let one = &chart.boxes[number];
    let signs = !one.hazards.is_empty() || one.work.is_some();
    let lines = one.asked.len() + one.vouched.len();
    let own = HEAD + if signs { HEAD } else { 0.0 } + lines as f64 * TEXT + 14.0;
    own.max(one.tags.len() as f64 * 22.0 + 8.0)
}

/// Place a chart.
pub(super) fn place(chart: &Chart) -> Placed {
    let ranks = arrange(chart);
    let across = across(chart, &ranks);
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
    let left = |item: usize| across[item] - reach(chart, &ranks, item).0;
    let right = |item: usize| across[item] + reach(chart, &ranks, item).1;
    let all = || 0..ranks.items.len();
    let least = all().map(left).fold(f64::INFINITY, f64::min);
    let most = all().map(right).fold(f64::NEG_INFINITY, f64::max);
    let shift = if least.is_finite() { 12.0 - least } else { 0.0 };
    let boxes = (0..chart.boxes.len()).map(|number| {
        let top = downwards[chart.ranks[number]].0;
        let left = across[number] + shift - WIDTH / 2.0;
        (left, top, height(chart, number))
    });
    let boxes: Vec<(f64, f64, f64)> = boxes.collect();
    let rank_of = rank_of(&ranks);
    let lines = ranks.chains.iter().map(|chain| {
        let last = chain.len() - 1;
        let mut points = Vec::new();
        for (at, item) in chain.iter().enumerate() {
            let x = across[*item] + shift;
            let (top, highest) = downwards[rank_of[*item]];
            match at {
                0 => points.push((x, top + boxes[*item].2)),
                at if at == last => points.push((x, top)),
                _ => points.extend([(x, top), (x, top + highest)]),
            }
        }
        points
    });
    Placed {
        width: if most.is_finite() {
            most + shift + 12.0
        } else {
            24.0
        },
        height: y,
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

/// How far an item reaches to the left and right of its middle.
fn reach(chart: &Chart, ranks: &Ranks, item: usize) -> (f64, f64) {
    match ranks.items[item] {
        Item::Point => (POINT / 2.0, POINT / 2.0),
        Item::Box(number) => {
            let tags = &chart.boxes[number].tags;
            let letters = tags
                .iter()
                .map(|tag| tag_told(chart, number, tag).chars().count());
            let tags = letters
                .max()
                .map_or(0.0, |most| TAG_HEAD + most as f64 * TAG_LETTER);
            (WIDTH / 2.0, WIDTH / 2.0 + tags)
        }
    }
}

/// The middle of each item.
fn across(chart: &Chart, ranks: &Ranks) -> Vec<f64> {
    let mut x = vec![0.0; ranks.items.len()];
    let apart: Vec<Vec<f64>> = ranks
        .ranks
        .iter()
        .map(|rank| {
            let pairs = rank.windows(2);
            let apart = pairs.map(|pair| {
                let (one, other) = (reach(chart, ranks, pair[0]), reach(chart, ranks, pair[1]));
                one.1 + other.0 + GAP
            });
            apart.collect()
        })
        .collect();
    for (rank, items) in ranks.ranks.iter().enumerate() {
        let wanted = vec![0.0; items.len()];
        for (item, at) in items.iter().zip(pooled(&wanted, &apart[rank])) {
            x[*item] = at;
        }
    }
    for round in 0..ROUNDS {
        let down = round % 2 == 0;
        let count = ranks.ranks.len();
        for number in 0..count {
            let rank = if down { number } else { count - 1 - number };
            let items = &ranks.ranks[rank];
            let wanted: Vec<f64> = items
                .iter()
                .map(|item| {
                    let near = if down {
                        &ranks.above[*item]
                    } else {
                        &ranks.below[*item]
                    };
                    match near.len() {
                        0 => x[*item],
                        count => near.iter().map(|n| x[*n]).sum::<f64>() / count as f64,
                    }
                })
                .collect();
            for (item, at) in items.iter().zip(pooled(&wanted, &apart[rank])) {
                x[*item] = at;
            }
        }
    }
    x
}

/// Places nearest to the wanted ones, in order and at least so far apart: those that are too near are
/// pooled and moved together.
fn pooled(wanted: &[f64], apart: &[f64]) -> Vec<f64> {
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
    let bases = pools
        .into_iter()
        .flat_map(|(base, count)| vec![base; count]);
    bases
        .zip(offsets)
        .map(|(base, offset)| base + offset)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two that want the same place share the shift; a free one stands where it wants.
    #[test]
    fn pools_share_what_they_must_give_way() {
        assert_eq!(pooled(&[0.0, 0.0], &[10.0]), [-5.0, 5.0]);
        assert_eq!(pooled(&[0.0, 30.0], &[10.0]), [0.0, 30.0]);
        assert_eq!(pooled(&[0.0, 0.0, 0.0], &[10.0, 10.0]), [-10.0, 0.0, 10.0]);
        assert_eq!(pooled(&[5.0], &[]), [5.0]);
    }
}
