//! A procedure as boxes and the ways between them, and which of the ways are drawn as lines: one that
//! goes back, or far ahead to a step that many lead to, is told in its box, so that the
//! picture of fifty steps stays a picture.

use std::collections::BTreeMap;

use super::wording;
use crate::procedure::model::{Hazard, Procedure, Question, SignalWord, Step, StepIndex};
use crate::procedure::{Way, ways};
use crate::rehearse::coverage::Coverage;

/// Ranks that a line may span; a longer one is a tag.
const LONGEST_LINE: usize = 3;
/// Ways into a box above which lines from farther than a rank become tags.
const MANY: usize = 2;
/// Lines that may pass a rank without a box of theirs in it.
pub(super) const MOST_PASSING: usize = 12;
/// Boxes side by side: so many stand in a window of 1280 pixels, with room for lines that pass between.
pub(super) const WIDEST: usize = 3;
/// Letters in a line of a box.
pub(super) const LINE: usize = 38;
/// Lines that the question may take in a box.
const LINES: usize = 3;

/// A box.
#[derive(Debug, Clone)]
pub(super) struct Box {
    pub(super) id: String,
    pub(super) kind: String,
    /// Signal words, each with the numbers of its hazards in the chart's list.
    pub(super) hazards: Vec<(SignalWord, Vec<usize>)>,
    pub(super) work: Option<String>,
    pub(super) asked: Vec<String>,
    /// What to do and the hazards in words, for the room beside a box that stands alone.
    pub(super) beside: Vec<String>,
    /// What to do, for a box that has others or lines beside it.
    pub(super) done: Vec<String>,
    /// Everything, for whoever points at the box.
    pub(super) whole: String,
    pub(super) vouched: Vec<String>,
    pub(super) tags: Vec<Tag>,
    pub(super) phase: Option<String>,
    pub(super) is_end: bool,
    pub(super) signed: bool,
    pub(super) called: Option<String>,
    pub(super) untested: bool,
}

/// A way that is told in its box.
#[derive(Debug, Clone)]
pub(super) struct Tag {
    pub(super) told: String,
    pub(super) to: usize,
    pub(super) back: bool,
    pub(super) untested: bool,
}

/// A way that is drawn.
#[derive(Debug, Clone)]
pub(super) struct Line {
    pub(super) from: usize,
    pub(super) to: usize,
    pub(super) told: String,
    pub(super) untested: bool,
}

/// Boxes in the order of the file, and lines; each box's rank: how many lines lead to it at most.
#[derive(Debug, Clone)]
pub(super) struct Chart {
    pub(super) boxes: Vec<Box>,
    pub(super) lines: Vec<Line>,
    pub(super) ranks: Vec<usize>,
    /// Every hazard once, in the order of the file; they are numbered from 1.
    pub(super) hazards: Vec<Hazard>,
}

/// All ways from one step to another, together.
struct Joined {
    from: usize,
    to: usize,
    told: Vec<String>,
    untested: bool,
}

impl Chart {
    /// The chart of a procedure; what `coverage` did not reach is marked.
    pub(super) fn of(procedure: &Procedure<StepIndex>, coverage: Option<&Coverage>) -> Self {
        let joined = joined(procedure, coverage);
        let back = backward(procedure.steps.len(), &joined);
        let ranks = ranks(procedure.steps.len(), &joined, &back);
        let mut into = vec![0; procedure.steps.len()];
        for way in &joined {
            into[way.to] += 1;
        }
        let drawn = |way: &Joined, back: bool| {
            let span = ranks[way.to].saturating_sub(ranks[way.from]);
            !back && span <= LONGEST_LINE && (span <= 1 || into[way.to] <= MANY)
        };
        let mut drawn: Vec<bool> = joined
            .iter()
            .zip(&back)
            .map(|(way, back)| drawn(way, *back))
            .collect();
        let spans = joined.iter().map(|way| (ranks[way.from], ranks[way.to]));
        make_room(&spans.collect::<Vec<_>>(), &mut drawn);
        let hazards = every_hazard(procedure);
        let mut boxes = boxes(procedure, &hazards, coverage);
        let mut lines = Vec::new();
        for ((way, back), drawn) in joined.into_iter().zip(back).zip(drawn) {
            let told = way.told.join(" · ");
            if drawn {
                lines.push(Line {
                    from: way.from,
                    to: way.to,
                    told,
                    untested: way.untested,
                });
            } else {
                boxes[way.from].tags.push(Tag {
                    told,
                    to: way.to,
                    back,
                    untested: way.untested,
                });
            }
        }
        let mut chart = Chart {
            boxes,
            lines,
            ranks,
            hazards,
        };
        for (number, step) in procedure.steps.iter().enumerate() {
            if !chart.alone(number) {
                let action = step.action.as_deref().unwrap_or_default();
                chart.boxes[number].done = wording::wrapped(action, LINE);
                chart.boxes[number].done.retain(|line| !line.is_empty());
            }
        }
        chart
    }

    /// Whether nothing stands beside a box, no line that passes its rank either.
    pub(super) fn alone(&self, number: usize) -> bool {
        let rank = self.ranks[number];
        let passes = |line: &Line| self.ranks[line.from] < rank && rank < self.ranks[line.to];
        let boxes = self.ranks.iter().filter(|other| **other == rank).count();
        boxes == 1 && !self.lines.iter().any(passes)
    }
}

impl Chart {
    /// Mark the steps that may be waived, with by whom.
    pub(super) fn waivable(&mut self, by: impl Fn(&str) -> Option<String>) {
        for one in &mut self.boxes {
            let who = by(&one.id);
            one.vouched
                .extend(who.map(|who| format!("may be waived by {who}")));
        }
    }
}

/// Make tags of the lines that would pass a rank beyond what it has room for, the longest first.
fn make_room(spans: &[(usize, usize)], drawn: &mut [bool]) {
    for rank in 0..spans.iter().map(|(_, to)| *to).max().unwrap_or(0) {
        let passing = (0..spans.len()).filter(|way| {
            let (from, to) = spans[*way];
            drawn[*way] && from < rank && rank < to
        });
        let mut passing: Vec<usize> = passing.collect();
        passing.sort_by_key(|way| spans[*way].1 - spans[*way].0);
        for way in passing.into_iter().skip(MOST_PASSING) {
            drawn[way] = false;
        }
    }
}

fn joined(procedure: &Procedure<StepIndex>, coverage: Option<&Coverage>) -> Vec<Joined> {
    let mut all: BTreeMap<(usize, usize), Joined> = BTreeMap::new();
    for (from, step) in procedure.steps.iter().enumerate() {
        for (way, to) in ways(step) {
            let untested = coverage
                .is_some_and(|coverage| !coverage.has_way(&procedure.name, StepIndex(from), way));
            let entry = all.entry((from, to)).or_insert(Joined {
                from,
                to,
                told: Vec::new(),
                untested: false,
            });
            entry.untested |= untested;
            if way != Way::Only {
                entry.told.push(wording::way(step, way));
            }
        }
    }
    all.into_values().collect()
}

/// Which ways lead back to a step that is still open when they are met, depth first.
fn backward(count: usize, ways: &[Joined]) -> Vec<bool> {
    let mut out: Vec<Vec<usize>> = vec![Vec::new(); count];
    for (number, way) in ways.iter().enumerate() {
        out[way.from].push(number);
    }
    let mut back = vec![false; ways.len()];
    // 0: not met, 1: open, 2: finished
    let mut state = vec![0_u8; count];
    for start in 0..count {
        if state[start] != 0 {
            continue;
        }
        let mut open = vec![(start, 0)];
        state[start] = 1;
        while let Some((node, next)) = open.last_mut() {
            let Some(way) = out[*node].get(*next).copied() else {
                state[*node] = 2;
                open.pop();
                continue;
            };
            *next += 1;
            let to = ways[way].to;
            match state[to] {
                0 => {
                    state[to] = 1;
                    open.push((to, 0));
                }
                1 => back[way] = true,
                _ => {}
            }
        }
    }
    back
}

/// The rank of each box: behind all that lead to it, ways back left out, and no more boxes in a rank
/// than can be seen side by side (the rule of Coffman and Graham, 1972, with the order of the longest way
/// and of the file).
fn ranks(count: usize, ways: &[Joined], back: &[bool]) -> Vec<usize> {
    let onward = || {
        ways.iter()
            .zip(back)
            .filter(|(_, back)| !**back)
            .map(|(way, _)| way)
    };
    let mut before: Vec<Vec<usize>> = vec![Vec::new(); count];
    for way in onward() {
        before[way.to].push(way.from);
    }
    let order = longest(count, onward());
    let mut ranks = vec![0; count];
    let mut full: Vec<usize> = Vec::new();
    for node in order {
        let mut rank = before[node]
            .iter()
            .map(|from| ranks[*from] + 1)
            .max()
            .unwrap_or(0);
        while full.get(rank).is_some_and(|boxes| *boxes >= WIDEST) {
            rank += 1;
        }
        full.resize(full.len().max(rank + 1), 0);
        full[rank] += 1;
        ranks[node] = rank;
    }
    ranks
}

/// Boxes in the order of the longest way to each, then of the file.
fn longest<'w>(count: usize, onward: impl Iterator<Item = &'w Joined>) -> Vec<usize> {
    let mut into = vec![0_usize; count];
    let mut out: Vec<Vec<usize>> = vec![Vec::new(); count];
    for way in onward {
        into[way.to] += 1;
        out[way.from].push(way.to);
    }
    let mut length = vec![0; count];
    let mut ready: Vec<usize> = (0..count).filter(|node| into[*node] == 0).collect();
    while let Some(node) = ready.pop() {
        for to in &out[node] {
            length[*to] = length[*to].max(length[node] + 1);
            into[*to] -= 1;
            if into[*to] == 0 {
                ready.push(*to);
            }
        }
    }
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by_key(|node| (length[*node], *node));
    order
}

fn boxes(
    procedure: &Procedure<StepIndex>,
    all: &[Hazard],
    coverage: Option<&Coverage>,
) -> Vec<Box> {
    let mut phase = "";
    let steps = procedure.steps.iter().enumerate();
    steps
        .map(|(number, step)| {
            let new = (step.phase != phase).then(|| step.phase.clone());
            phase = &step.phase;
            Box {
                id: step.id.clone(),
                kind: wording::kind(&step.question),
                hazards: hazards(step, all),
                work: wording::work(step),
                asked: wording::shortened(&wording::asked(&step.question), LINE, LINES),
                beside: beside(step),
                done: Vec::new(),
                whole: whole(step),
                vouched: wording::vouched(step),
                tags: Vec::new(),
                phase: new,
                is_end: matches!(step.question, Question::Outcome { .. }),
                signed: !step.establishes.is_empty() || !step.restores.is_empty(),
                called: match &step.question {
                    Question::Call { procedure, .. } => Some(procedure.clone()),
                    _ => None,
                },
                untested: coverage
                    .is_some_and(|known| !known.has_step(&procedure.name, StepIndex(number))),
            }
        })
        .collect()
}

fn every_hazard(procedure: &Procedure<StepIndex>) -> Vec<Hazard> {
    let mut every: Vec<Hazard> = Vec::new();
    for hazard in procedure.steps.iter().flat_map(|step| &step.hazards) {
        if !every.contains(hazard) {
            every.push(hazard.clone());
        }
    }
    every
}

fn hazards(step: &Step<StepIndex>, all: &[Hazard]) -> Vec<(SignalWord, Vec<usize>)> {
    let mut words: Vec<(SignalWord, Vec<usize>)> = Vec::new();
    for hazard in &step.hazards {
        let number = all
            .iter()
            .position(|known| known == hazard)
            .map(|at| at + 1);
        match words.last_mut() {
            Some((word, numbers)) if *word == hazard.word => numbers.extend(number),
            _ => words.push((hazard.word, number.into_iter().collect())),
        }
    }
    words
}

fn beside(step: &Step<StepIndex>) -> Vec<String> {
    let hazards = step
        .hazards
        .iter()
        .map(|h| format!("{}: {}", h.word.text(), h.text));
    hazards.chain(step.action.iter().cloned()).collect()
}

fn whole(step: &Step<StepIndex>) -> String {
    let mut parts = beside(step);
    parts.push(wording::asked(&step.question));
    parts.join("\n")
}
