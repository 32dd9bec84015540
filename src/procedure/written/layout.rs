//! Steps that do not stand in as the others do: they are taken for a part of the step above, or reading stops at an
//! innocent line behind them. Told from the lines of the file, because no tree shows what was meant.

use std::collections::BTreeMap;

use super::keys;
use super::slips::{Slip, blanks, head, indent, is_key};
use crate::procedure::names::is_kebab;

/// Steps out of line that are told.
const MOST_TOLD: usize = 5;

/// How far steps stand in where as many stand in otherwise: as in the files that `evenfire new procedure` makes.
const USUAL: usize = 2;

/// A step's id on a line of its own, with a key of a step on the next.
struct Head<'t> {
    line: usize,
    id: &'t str,
    depth: usize,
    key_depth: usize,
}

/// The steps of a file that stand in otherwise than most, in their order.
pub(crate) fn out_of_line(text: &str) -> Vec<Slip> {
    let heads = heads(text);
    if heads.len() < 2 {
        return Vec::new();
    }
    let depth = most(heads.iter().map(|head| head.depth), USUAL);
    let in_line = heads.iter().filter(|head| head.depth == depth);
    let deeper = in_line.map(|head| head.key_depth - depth);
    let deeper = most(deeper.filter(|deeper| *deeper > 0), USUAL);
    let slips = heads
        .iter()
        .filter_map(|head| head.slip(depth, depth + deeper));
    slips.take(MOST_TOLD).collect()
}

/// The number that comes most often; of several the one nearest to what is usual.
fn most(numbers: impl Iterator<Item = usize>, usual: usize) -> usize {
    let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
    for number in numbers {
        *counts.entry(number).or_default() += 1;
    }
    let rank = |(number, count): &(usize, usize)| (*count, usize::MAX - number.abs_diff(usual));
    let most = counts.into_iter().max_by_key(rank);
    most.map_or(usual, |(number, _)| number)
}

/// The ids of steps under `steps`, wherever they stand; what a text over several lines says is none.
fn heads(text: &str) -> Vec<Head<'_>> {
    let mut written: Vec<(usize, &str)> = Vec::new();
    let mut text_under = usize::MAX;
    let lines = text.lines().enumerate();
    for (at, line) in lines.skip_while(|(_, line)| head(line) != Some("steps")) {
        let begun = line.trim_start();
        if begun.is_empty() || begun.starts_with('#') || indent(line) > text_under {
            continue;
        }
        let value = line.split_once(": ").map(|(_, value)| value.trim_start());
        let folds = value.is_some_and(|value| value.starts_with(['>', '|']));
        text_under = if folds { indent(line) } else { usize::MAX };
        written.push((at, line));
    }
    let pairs = written.windows(2).filter_map(|pair| {
        let [(line, content), (_, next)] = *pair else {
            return None;
        };
        let id = head(content).filter(|id| is_kebab(id) && !is_key(id))?;
        let (_, behind) = content.split_once(':')?;
        let alone = behind.trim().is_empty() || behind.trim_start().starts_with('#');
        let key = head(next).filter(|key| keys::STEP.iter().any(|(known, _)| known == key));
        let (depth, key_depth) = (indent(content), indent(next));
        (alone && key.is_some() && key_depth >= depth).then_some(Head {
            line: line + 1,
            id,
            depth,
            key_depth,
        })
    });
    pairs.collect()
}

impl Head<'_> {
    /// What is wrong with where it or its lines stand, where steps stand in by `depth` and their lines by `keys`.
    fn slip(&self, depth: usize, keys: usize) -> Option<Slip> {
        let id = self.id;
        if self.depth == depth {
            return (self.key_depth == depth).then(|| Slip {
                line: self.line,
                column: self.depth + 1,
                message: format!("the lines of step `{id}` stand in no deeper than `{id}` itself"),
                remedy: format!("Give each of them {}.", moved(depth, keys)),
            });
        }
        let message = match self.depth {
            0 => format!("step `{id}` stands outside `steps`, not in by {depth} as the others"),
            own => format!(
                "step `{id}` stands in by {}, the other steps by {depth}",
                blanks(own)
            ),
        };
        let change = moved(self.depth, depth);
        let remedy = if self.key_depth == keys {
            format!("Give it {change}; its lines stand right.")
        } else if self.key_depth + depth == keys + self.depth {
            format!("Give it and its lines {change}.")
        } else {
            format!("Give it {}, and its lines {keys}.", blanks(depth))
        };
        Some(Slip {
            line: self.line,
            column: self.depth + 1,
            message,
            remedy,
        })
    }
}

/// "2 blanks less".
fn moved(from: usize, to: usize) -> String {
    let way = if from > to { "less" } else { "more" };
    format!("{} {way}", blanks(from.abs_diff(to)))
}
