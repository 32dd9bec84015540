//! Which steps every way to an outcome passes, within one procedure.

use super::sets::{Bits, Edge, Graph};
use crate::procedure::edges::{self, Way};
use crate::procedure::model::{Procedure, Question, StepIndex};

/// For each outcome that is reached, the steps that every way to it passes: left by an answer, not
/// passed over; a statement by yes.
pub(crate) fn passed_on_every_way(procedure: &Procedure<StepIndex>) -> Vec<(usize, Vec<usize>)> {
    let count = procedure.steps.len();
    let states = graph(procedure).holding(Bits::none(count));
    let steps = procedure.steps.iter().enumerate();
    let outcomes = steps.filter(|(_, step)| matches!(step.question, Question::Outcome { .. }));
    outcomes
        .filter_map(|(number, _)| {
            let state = states[number].as_ref()?;
            Some((number, (0..count).filter(|step| state.has(*step)).collect()))
        })
        .collect()
}

/// The ways of a procedure with the fact, for each step, that it was passed.
fn graph(procedure: &Procedure<StepIndex>) -> Graph {
    let steps = procedure.steps.iter().enumerate();
    let edges = steps.map(|(number, step)| {
        let edge = |(way, to): (Way, usize)| Edge {
            to,
            note: match way {
                Way::No => " (no)",
                Way::PassedOver => " (visited as often as it may be)",
                Way::Only | Way::Yes | Way::Branch(_) => "",
            },
            drops: Vec::new(),
            adds: match way {
                Way::No | Way::PassedOver => Vec::new(),
                Way::Only | Way::Yes | Way::Branch(_) => vec![number],
            },
        };
        edges::ways(step).into_iter().map(edge).collect()
    });
    Graph {
        edges: edges.collect(),
    }
}
