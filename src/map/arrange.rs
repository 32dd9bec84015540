//! The order of boxes within each rank: lines that span several ranks get a point in each, and every
//! rank is sorted by the middle of its neighbours, down and up again, until fewer crossings are not
//! found (the layered method of Sugiyama, Tagawa and Toda, 1981, with the barycentre rule).

use super::chart::Chart;

/// Sweeps down and up.
const SWEEPS: usize = 12;

/// Something that has a place in a rank: a box, or a point of a long line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Item {
    Box(usize),
    Point,
}

/// Items by rank, and the neighbours of each, by number.
#[derive(Debug)]
pub(super) struct Ranks {
    pub(super) items: Vec<Item>,
    /// Numbers of items in each rank, from left to right.
    pub(super) ranks: Vec<Vec<usize>>,
    pub(super) above: Vec<Vec<usize>>,
    pub(super) below: Vec<Vec<usize>>,
    /// For each line of the chart, the items that it passes, from its box to its target's.
    pub(super) chains: Vec<Vec<usize>>,
}

/// Arrange a chart.
pub(super) fn arrange(chart: &Chart) -> Ranks {
    let mut ranks = with_points(chart);
    let mut best = (crossings(&ranks), ranks.ranks.clone());
    for sweep in 0..SWEEPS {
        if sweep % 2 == 0 {
            for rank in 1..ranks.ranks.len() {
                sort(&mut ranks.ranks, rank, rank - 1, &ranks.above);
            }
        } else {
            for rank in (0..ranks.ranks.len().saturating_sub(1)).rev() {
                sort(&mut ranks.ranks, rank, rank + 1, &ranks.below);
            }
        }
        let now = crossings(&ranks);
        if now < best.0 {
            best = (now, ranks.ranks.clone());
        }
    }
    ranks.ranks = best.1;
    ranks
}

fn with_points(chart: &Chart) -> Ranks {
    let count = chart.ranks.iter().max().map_or(0, |last| last + 1);
    let mut ranks = Ranks {
        items: (0..chart.boxes.len()).map(Item::Box).collect(),
        ranks: vec![Vec::new(); count],
        above: vec![Vec::new(); chart.boxes.len()],
        below: vec![Vec::new(); chart.boxes.len()],
        chains: Vec::new(),
    };
    for (node, rank) in chart.ranks.iter().enumerate() {
        ranks.ranks[*rank].push(node);
    }
    for line in &chart.lines {
        let mut chain = vec![line.from];
        for rank in chart.ranks[line.from] + 1..chart.ranks[line.to] {
            let point = ranks.items.len();
            ranks.items.push(Item::Point);
            ranks.above.push(Vec::new());
            ranks.below.push(Vec::new());
            ranks.ranks[rank].push(point);
            chain.push(point);
        }
        chain.push(line.to);
        for pair in chain.windows(2) {
            ranks.below[pair[0]].push(pair[1]);
            ranks.above[pair[1]].push(pair[0]);
        }
        ranks.chains.push(chain);
    }
    ranks
}

/// Sort a rank by the middle of its neighbours in another; those without keep their place.
fn sort(ranks: &mut [Vec<usize>], rank: usize, other: usize, neighbours: &[Vec<usize>]) {
    let place = |item: usize| ranks[other].iter().position(|known| *known == item);
    let middle = |(at, item): (usize, &usize)| {
        let places: Vec<usize> = neighbours[*item].iter().filter_map(|n| place(*n)).collect();
        let middle = if places.is_empty() {
            at as f64
        } else {
            places.iter().sum::<usize>() as f64 / places.len() as f64
        };
        (middle, *item)
    };
    let mut middles: Vec<(f64, usize)> = ranks[rank].iter().enumerate().map(middle).collect();
    middles.sort_by(|one, other| one.0.total_cmp(&other.0));
    ranks[rank] = middles.into_iter().map(|(_, item)| item).collect();
}

/// Pairs of lines between neighbouring ranks that cross.
fn crossings(ranks: &Ranks) -> usize {
    let mut all = 0;
    for pair in ranks.ranks.windows(2) {
        let mut ends: Vec<(usize, usize)> = Vec::new();
        for (at, item) in pair[0].iter().enumerate() {
            let below = ranks.below[*item].iter();
            let below = below.filter_map(|to| pair[1].iter().position(|known| known == to));
            ends.extend(below.map(|to| (at, to)));
        }
        for (number, one) in ends.iter().enumerate() {
            let crossed = ends[..number].iter().filter(|other| {
                (other.0 < one.0 && other.1 > one.1) || (other.0 > one.0 && other.1 < one.1)
            });
            all += crossed.count();
        }
    }
    all
}
