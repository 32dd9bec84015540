//! A procedure with all that it calls as one graph: each call's steps stand in it once for each way
//! of calls that leads there. What holds afterwards can differ by the outcome that a call came to.

use std::collections::BTreeSet;

use super::kinds::OUTCOME;
use super::sets::{Bits, Edge, Graph, told};
use crate::procedure::computation::Computation;
use crate::procedure::edges::{self, Way};
use crate::procedure::library::{Sheet, Sheets};
use crate::procedure::model::{Next, Question, Step, StepIndex};
use crate::procedure::problem::Findings;
use crate::procedure::unary::{self, Tested};
use crate::procedure::work::{Condition, FUEL_OFF, ON_THE_CRANK, PROVED, cuts_fuel};

/// Most steps that a procedure may have with all its calls written out.
const MOST_STEPS: usize = 100_000;

/// The fact that something which cuts the fuel is still off or disconnected: no author writes it.
pub(crate) const FUEL_CUT: &str = "(what cuts the fuel is still off)";

/// The fact that a thing of [`ON_THE_CRANK`] is off it: no author writes it either.
pub(crate) fn off_crank(item: &str) -> String {
    format!("(the {item} is off)")
}

/// The fact of an analysis that tells an engine which ran from other refused captures, and its value for that.
const RESULT: &str = "result";
const RAN: &str = "running";

/// A step within the graph.
pub(crate) struct Place<'a> {
    pub(crate) sheet: &'a Sheet,
    pub(crate) number: usize,
    /// "test-leakage/raise-pressure".
    pub(crate) path: String,
}

impl Place<'_> {
    pub(crate) fn step(&self) -> &Step<StepIndex> {
        &self.sheet.procedure.steps[self.number]
    }

    /// The calls through which it is come to, the outermost first: "measure/", "measure/intake/".
    fn calls(&self) -> impl Iterator<Item = &str> {
        let ends = self.path.match_indices('/').map(|(at, _)| at);
        ends.map(|at| &self.path[..=at])
    }
}

/// The graph with its steps and the facts that its edges speak of.
pub(crate) struct Flat<'a> {
    pub(crate) places: Vec<Place<'a>>,
    pub(crate) graph: Graph,
    pub(crate) facts: Vec<String>,
}

impl Flat<'_> {
    pub(crate) fn fact(&self, name: &str) -> Option<usize> {
        self.facts
            .binary_search_by(|known| known.as_str().cmp(name))
            .ok()
    }
}

/// Write out all calls; `None`, with a finding, where that would never end.
pub(crate) fn flatten<'a>(
    root: &str,
    sheets: &'a Sheets,
    findings: &mut Findings,
) -> Option<Flat<'a>> {
    let mut flat = Flat {
        places: Vec::new(),
        graph: Graph::default(),
        facts: facts(sheets),
    };
    let mut waiting = vec![(root.to_owned(), String::new(), None)];
    while let Some((name, prefix, caller)) = waiting.pop() {
        let sheet = sheets.get(&name)?;
        let first = flat.places.len();
        if first + sheet.procedure.steps.len() > MOST_STEPS {
            findings.flaw(
                &sheet.procedure.steps.first()?.position,
                format!("more than {MOST_STEPS} steps with all calls written out"),
                "Nobody could go through such a job, and it is not proved.",
                "Call procedures less often, or make them smaller.".to_owned(),
            );
            return None;
        }
        for (number, step) in sheet.procedure.steps.iter().enumerate() {
            flat.places.push(Place {
                sheet,
                number,
                path: format!("{prefix}{}", step.id),
            });
            flat.graph.edges.push(Vec::new());
        }
        for (number, step) in sheet.procedure.steps.iter().enumerate() {
            let edges = flat.edges(step, first);
            flat.graph.edges[first + number] = edges;
            if let Question::Call { procedure, .. } = &step.question {
                let prefix = format!("{prefix}{}/", step.id);
                waiting.push((procedure.clone(), prefix, Some(first + number)));
            }
        }
        if let Some(caller) = caller {
            flat.connect(caller, first, sheet);
        }
    }
    Some(flat)
}

/// Every condition that any step establishes or revokes, sorted, with [`FUEL_CUT`] and what some step puts on the crank.
fn facts(sheets: &Sheets) -> Vec<String> {
    let steps = sheets.values().flat_map(|sheet| &sheet.procedure.steps);
    let mut facts: BTreeSet<String> = steps
        .flat_map(|step| step.establishes.iter().chain(&step.revokes))
        .map(|condition| condition.0.clone())
        .collect();
    facts.insert(FUEL_CUT.to_owned());
    let steps = sheets.values().flat_map(|sheet| &sheet.procedure.steps);
    let put_on = steps.flat_map(|step| &step.disables);
    let put_on = put_on.filter(|disabled| ON_THE_CRANK.contains(&disabled.item.0.as_str()));
    facts.extend(put_on.map(|disabled| off_crank(&disabled.item.0)));
    facts.into_iter().collect()
}

impl Flat<'_> {
    /// What holds before the first step: nothing is on the crank.
    pub(crate) fn at_start(&self) -> Bits {
        let mut holding = Bits::none(self.facts.len());
        let off = ON_THE_CRANK.iter();
        off.filter_map(|item| self.fact(&off_crank(item)))
            .for_each(|fact| holding.add(fact));
        holding
    }

    /// A way in words, on which a fact is missing at the end. Steps of a call that lies between are left out where none of
    /// that call's steps has to do with the fact: the call's own step stands for them.
    pub(crate) fn shown_way(&self, way: &[(usize, &'static str)], fact: usize) -> String {
        let changes = |edge: &Edge| edge.drops.contains(&fact) || edge.adds.contains(&fact);
        let changing = self.places.iter().zip(&self.graph.edges);
        let changing = changing.filter(|(_, edges)| edges.iter().any(changes));
        let matters: BTreeSet<&str> = changing.flat_map(|(place, _)| place.calls()).collect();
        let goal = way.last().map(|(node, _)| self.places[*node].calls());
        let goal: BTreeSet<&str> = goal.into_iter().flatten().collect();
        let mut shown = way.to_vec();
        shown.retain(|(node, _)| {
            let mut calls = self.places[*node].calls();
            calls.all(|call| goal.contains(call) || matters.contains(call))
        });
        told(&shown, |node| self.places[node].path.as_str())
    }

    fn numbers(&self, conditions: &[Condition]) -> Vec<usize> {
        conditions.iter().filter_map(|c| self.fact(&c.0)).collect()
    }

    /// The ways out of a step within its own procedure; a call's lead through the called one.
    fn edges(&self, step: &Step<StepIndex>, first: usize) -> Vec<Edge> {
        let mut revoked = self.numbers(&step.revokes);
        let established = self.numbers(&step.establishes);
        let cut = self.fact(FUEL_CUT);
        if step.restores.iter().any(cuts_fuel) {
            revoked.extend(cut);
        }
        let cuts = step.disables.iter().any(|d| cuts_fuel(&d.item));
        let on_crank = |item: &Condition| self.fact(&off_crank(&item.0));
        revoked.extend(step.disables.iter().filter_map(|d| on_crank(&d.item)));
        let taken_off: Vec<usize> = step.restores.iter().filter_map(on_crank).collect();
        let proof: Vec<usize> = [FUEL_OFF, PROVED]
            .iter()
            .filter_map(|name| self.fact(name))
            .collect();
        let proves = step.establishes.iter().any(|c| c.0 == PROVED);
        let is_call = matches!(step.question, Question::Call { .. });
        let edge = |(way, to): (Way, usize)| {
            let mut edge = Edge {
                to: first + to,
                note: note(way),
                drops: revoked.clone(),
                adds: Vec::new(),
            };
            match way {
                Way::Yes => {
                    edge.adds.extend(&established);
                    edge.adds.extend(cut.filter(|_| cuts));
                    edge.adds.extend(&taken_off);
                }
                Way::No => {
                    edge.drops.extend(&established);
                    // an engine that fired at the proof was not cut off
                    edge.drops.extend(proof.iter().filter(|_| proves));
                }
                Way::Branch(number) if is_after_running(step, number) => edge.drops.extend(&proof),
                Way::PassedOver => edge.drops.clear(),
                Way::Only | Way::Branch(_) => {}
            }
            edge
        };
        edges::ways(step)
            .into_iter()
            .filter(|(way, _)| !is_call || *way == Way::PassedOver)
            .map(edge)
            .collect()
    }

    /// From the call into the called procedure, and from its outcomes on.
    fn connect(&mut self, caller: usize, first: usize, callee: &Sheet) {
        let step = &self.places[caller].sheet.procedure.steps[self.places[caller].number];
        let caller_first = caller - self.places[caller].number;
        let enter = Edge {
            to: first,
            note: "",
            drops: self.numbers(&step.revokes),
            adds: Vec::new(),
        };
        let mut back = Vec::new();
        for (number, outcome) in callee.procedure.steps.iter().enumerate() {
            if matches!(outcome.question, Question::Outcome { .. }) {
                for target in after_call(step, &outcome.id) {
                    let to = caller_first + target;
                    back.push((first + number, to));
                }
            }
        }
        self.graph.edges[caller].push(enter);
        for (from, to) in back {
            let edge = Edge {
                to,
                ..Edge::default()
            };
            self.graph.edges[from].push(edge);
        }
    }
}

/// Whether a branch is taken where the capture shows that the engine ran: then nothing cuts its fuel.
fn is_after_running(step: &Step<StepIndex>, number: usize) -> bool {
    let Question::Compute {
        computation: Computation::RelativeCompression,
        tested: Some(tested),
        next: Next::When(branches),
        ..
    } = &step.question
    else {
        return false;
    };
    let mut own = branches.get(number).into_iter();
    tested == RESULT && own.any(|own| unary::takes(branches, own, Tested::Name(RAN)))
}

fn note(way: Way) -> &'static str {
    match way {
        Way::No => " (no)",
        Way::PassedOver => " (visited as often as it may be)",
        Way::Only | Way::Yes | Way::Branch(_) => "",
    }
}

/// Where a call can lead after the called procedure came to an outcome.
pub(crate) fn after_call(step: &Step<StepIndex>, outcome: &str) -> Vec<usize> {
    branches_after_call(step, outcome)
        .into_iter()
        .map(|(_, target)| target)
        .collect()
}

/// The same with the number of the branch, 0 where there are none.
pub(crate) fn branches_after_call(step: &Step<StepIndex>, outcome: &str) -> Vec<(usize, usize)> {
    let Question::Call { tested, next, .. } = &step.question else {
        return Vec::new();
    };
    match next {
        Next::Always(target) => vec![(0, target.0)],
        Next::When(branches) => {
            let all = branches.iter().enumerate();
            let by_outcome = tested.as_deref().is_none_or(|fact| fact == OUTCOME);
            let taken = |branch| unary::takes(branches, branch, Tested::Name(outcome));
            all.filter(|(_, branch)| !by_outcome || taken(branch))
                .map(|(number, branch)| (number, branch.target.0))
                .collect()
        }
    }
}
