//! What holds at a step whichever way it was reached: the must-hold data flow, over any graph whose
//! edges add and drop facts. The number of ways never matters, only the number of edges.

use std::collections::VecDeque;

/// A set of small numbers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Bits(Vec<u64>);

impl Bits {
    /// The empty set, with room for numbers below `size`.
    pub(crate) fn none(size: usize) -> Self {
        Self(vec![0; size.div_ceil(64)])
    }

    /// All numbers below `size`.
    pub(crate) fn all(size: usize) -> Self {
        let mut bits = Self::none(size);
        (0..size).for_each(|number| bits.add(number));
        bits
    }

    pub(crate) fn add(&mut self, number: usize) {
        self.0[number / 64] |= 1 << (number % 64);
    }

    fn drop(&mut self, number: usize) {
        self.0[number / 64] &= !(1 << (number % 64));
    }

    pub(crate) fn has(&self, number: usize) -> bool {
        self.0[number / 64] & (1 << (number % 64)) != 0
    }

    /// Keep what the other has too; whether that changed anything.
    fn keep(&mut self, other: &Self) -> bool {
        let mut changed = false;
        for (own, other) in self.0.iter_mut().zip(&other.0) {
            let both = *own & other;
            changed |= both != *own;
            *own = both;
        }
        changed
    }
}

/// A way from one node to another; `drops` first, then `adds`.
#[derive(Debug, Clone, Default)]
pub(crate) struct Edge {
    pub(crate) to: usize,
    /// What the way is, where a reader needs to be told: " (no)".
    pub(crate) note: &'static str,
    pub(crate) drops: Vec<usize>,
    pub(crate) adds: Vec<usize>,
}

impl Edge {
    fn carry(&self, before: &Bits) -> Bits {
        let mut after = before.clone();
        self.drops.iter().for_each(|number| after.drop(*number));
        self.adds.iter().for_each(|number| after.add(*number));
        after
    }

    fn carries(&self, number: usize, before: bool) -> bool {
        self.adds.contains(&number) || before && !self.drops.contains(&number)
    }
}

/// Nodes and the ways between them; node 0 is the start.
#[derive(Debug, Default)]
pub(crate) struct Graph {
    pub(crate) edges: Vec<Vec<Edge>>,
}

impl Graph {
    /// What holds at each node on entry, whichever way it was reached; `None` where no way leads.
    pub(crate) fn holding(&self, at_start: Bits) -> Vec<Option<Bits>> {
        let mut states: Vec<Option<Bits>> = vec![None; self.edges.len()];
        let mut waiting = vec![false; self.edges.len()];
        let mut queue = VecDeque::new();
        if let Some(start) = states.first_mut() {
            *start = Some(at_start);
            queue.push_back(0);
        }
        while let Some(node) = queue.pop_front() {
            waiting[node] = false;
            let Some(state) = states[node].clone() else {
                continue;
            };
            for edge in &self.edges[node] {
                let carried = edge.carry(&state);
                let changed = match &mut states[edge.to] {
                    Some(known) => known.keep(&carried),
                    unknown => {
                        *unknown = Some(carried);
                        true
                    }
                };
                if changed && !waiting[edge.to] {
                    waiting[edge.to] = true;
                    queue.push_back(edge.to);
                }
            }
        }
        states
    }

    /// The shortest way from the start to a node on which a fact does not hold there: the nodes in
    /// order, each with the note of the way that leads on from it.
    pub(crate) fn way_without(
        &self,
        goal: usize,
        fact: usize,
        at_start: bool,
    ) -> Option<Vec<(usize, &'static str)>> {
        let place = |node: usize, holds: bool| node * 2 + usize::from(holds);
        let mut from: Vec<Option<(usize, &'static str)>> = vec![None; self.edges.len() * 2];
        let start = place(0, at_start);
        let wanted = place(goal, false);
        let mut queue = VecDeque::from([start]);
        let mut seen = vec![false; from.len()];
        seen[start] = true;
        while let Some(here) = queue.pop_front() {
            if here == wanted {
                return Some(trace(&from, start, wanted));
            }
            for edge in &self.edges[here / 2] {
                let next = place(edge.to, edge.carries(fact, here % 2 == 1));
                if !seen[next] {
                    seen[next] = true;
                    from[next] = Some((here, edge.note));
                    queue.push_back(next);
                }
            }
        }
        None
    }
}

fn trace(
    from: &[Option<(usize, &'static str)>],
    start: usize,
    goal: usize,
) -> Vec<(usize, &'static str)> {
    let mut way = vec![(goal / 2, "")];
    let mut here = goal;
    while here != start
        && let Some((before, note)) = from[here]
    {
        way.push((before / 2, note));
        here = before;
    }
    way.reverse();
    way
}

/// A way in words: "hold-vehicle (no) → crank".
pub(crate) fn told<'a>(way: &[(usize, &'static str)], name: impl Fn(usize) -> &'a str) -> String {
    let steps: Vec<String> = way
        .iter()
        .map(|(node, note)| format!("{}{note}", name(*node)))
        .collect();
    steps.join(" → ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// What holds at `goal` on every way, by walking all states there are: slow and plain.
    fn by_walking(graph: &Graph, facts: usize, goal: usize) -> Option<Bits> {
        let mut seen: Vec<(usize, Bits)> = vec![(0, Bits::none(facts))];
        let mut next = 0;
        while next < seen.len() {
            let (node, state) = seen[next].clone();
            for edge in &graph.edges[node] {
                let reached = (edge.to, edge.carry(&state));
                if !seen.contains(&reached) {
                    seen.push(reached);
                }
            }
            next += 1;
        }
        let mut states = seen.into_iter().filter(|(node, _)| *node == goal);
        let (_, mut common) = states.next()?;
        for (_, state) in states {
            common.keep(&state);
        }
        Some(common)
    }

    fn any_graph() -> impl Strategy<Value = Graph> {
        let edge = (
            0..6_usize,
            prop::collection::vec(0..3_usize, 0..2),
            prop::collection::vec(0..3_usize, 0..2),
        );
        let edge = edge.prop_map(|(to, drops, adds)| Edge {
            to,
            note: "",
            drops,
            adds,
        });
        let edges = prop::collection::vec(prop::collection::vec(edge, 0..3), 6);
        edges.prop_map(|edges| Graph { edges })
    }

    proptest! {
        #[test]
        fn the_flow_finds_what_walking_every_way_finds(graph in any_graph()) {
            let states = graph.holding(Bits::none(3));
            for (goal, state) in states.iter().enumerate() {
                prop_assert_eq!(state, &by_walking(&graph, 3, goal));
                for fact in 0..3 {
                    let way = graph.way_without(goal, fact, false);
                    let lacks = state.as_ref().is_some_and(|state| !state.has(fact));
                    prop_assert_eq!(way.is_some(), lacks);
                }
            }
        }
    }
}
