//! Answers that lead to a given step, found by breadth first over a procedure with its calls written
//! out, and written as a scenario. Whether they really lead there is seen by playing them.

use std::collections::{BTreeMap, HashMap, VecDeque};

use rust_decimal::Decimal;

use super::scenario::Facts;
use super::told::nearest_path;
use super::usual;
use crate::procedure::computation::{Computation, Domain};
use crate::procedure::model::{
    Branch, Library, Next, NumberForm, Procedure, Question, Step, StepIndex, UnaryTest, UnaryTests,
};
use crate::procedure::unary::{self, Tested};
use crate::procedure::{Way, branches_after_call, ways};

/// Most steps that are searched, with all calls written out.
const MOST_STEPS: usize = 100_000;

/// What has to be answered, and what stated, to come to a step and from there to an outcome.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Answers {
    /// Answers other than the usual ones, in order: path and answer.
    pub answers: Vec<(String, String)>,
    /// Facts to be stated, by path of the compute step, for each visit.
    pub computed: BTreeMap<String, Vec<Facts>>,
}

struct Node<'l> {
    path: String,
    step: &'l Step<StepIndex>,
    edges: Vec<(Way, usize)>,
    root: bool,
}

/// The answers that lead to the step of that path.
///
/// # Errors
/// A sentence, where there is no such step or no way.
pub fn answers_to(library: &Library, root: &str, goal: &str) -> Result<Answers, String> {
    let nodes = flatten(library, root)?;
    let target = nodes.iter().position(|node| node.path == goal);
    let target = target.ok_or_else(|| {
        let near = nearest_path(library, root, goal);
        format!("there is no step `{goal}` in `{root}` or what it calls. {near}")
    })?;
    let is_end = |node: usize| {
        nodes[node].root && matches!(nodes[node].step.question, Question::Outcome { .. })
    };
    let mut way = way(&nodes, 0, &|node| node == target).ok_or("no way leads there")?;
    let on =
        self::way(&nodes, target, &is_end).ok_or("no way leads on from there to an outcome")?;
    way.extend(on);
    let mut answers = Answers::default();
    for (node, taken) in way {
        answers.take(&nodes[node], taken)?;
    }
    Ok(answers)
}

/// The paths of all steps, those of called procedures after their call: "battery/rest-reading".
pub(super) fn paths(library: &Library, root: &str) -> Result<Vec<String>, String> {
    let nodes = flatten(library, root)?;
    Ok(nodes.into_iter().map(|node| node.path).collect())
}

/// Procedure, prefix of its paths, node of its call, node of its first step.
type Open<'l> = (&'l Procedure<StepIndex>, String, Option<usize>, usize);

fn flatten<'l>(library: &'l Library, root: &str) -> Result<Vec<Node<'l>>, String> {
    let named = |name: &str| {
        let found = library.procedures.get(name);
        found.ok_or_else(|| format!("there is no procedure `{name}`"))
    };
    let mut nodes: Vec<Node<'l>> = Vec::new();
    let mut waiting: Vec<Open<'l>> = vec![(named(root)?, String::new(), None, 0)];
    while let Some((procedure, prefix, caller, caller_first)) = waiting.pop() {
        let first = nodes.len();
        if first + procedure.steps.len() > MOST_STEPS {
            return Err(format!(
                "more than {MOST_STEPS} steps with all calls written out"
            ));
        }
        for step in &procedure.steps {
            let called = matches!(step.question, Question::Call { .. });
            let own = ways(step).into_iter();
            let own = own.filter(|(way, _)| !called || *way == Way::PassedOver);
            nodes.push(Node {
                path: format!("{prefix}{}", step.id),
                step,
                edges: own.map(|(way, to)| (way, first + to)).collect(),
                root: caller.is_none(),
            });
        }
        for (number, step) in procedure.steps.iter().enumerate() {
            if let Question::Call { procedure, .. } = &step.question {
                let prefix = format!("{prefix}{}/", step.id);
                waiting.push((named(procedure)?, prefix, Some(first + number), first));
            }
        }
        if let Some(caller) = caller {
            nodes[caller].edges.push((Way::Only, first));
            let call = nodes[caller].step;
            for (number, step) in procedure.steps.iter().enumerate() {
                if matches!(step.question, Question::Outcome { .. }) {
                    let back = branches_after_call(call, &step.id).into_iter();
                    let back = back.map(|(_, to)| (Way::Only, caller_first + to));
                    nodes[first + number].edges.extend(back);
                }
            }
        }
    }
    Ok(nodes)
}

/// The shortest way from a node to one that is wanted: first without what opens only after too many
/// visits, then with it, going round as often as that takes.
fn way(
    nodes: &[Node<'_>],
    from: usize,
    wanted: &dyn Fn(usize) -> bool,
) -> Option<Vec<(usize, Way)>> {
    search(nodes, from, wanted, false).or_else(|| {
        let way = search(nodes, from, wanted, true)?;
        let mut whole = Vec::new();
        for (node, taken) in way {
            if taken == Way::PassedOver {
                let round = search(nodes, node, &|to| to == node, false)?;
                let times = nodes[node]
                    .step
                    .at_most
                    .as_ref()
                    .map_or(0, |bound| bound.times);
                (0..times).for_each(|_| whole.extend(round.iter().copied()));
            } else {
                whole.push((node, taken));
            }
        }
        Some(whole)
    })
}

fn search(
    nodes: &[Node<'_>],
    from: usize,
    wanted: &dyn Fn(usize) -> bool,
    passing_over: bool,
) -> Option<Vec<(usize, Way)>> {
    let mut came: HashMap<usize, (usize, Way)> = HashMap::new();
    let mut queue = VecDeque::from([from]);
    if wanted(from) && nodes[from].edges.is_empty() {
        return Some(Vec::new());
    }
    if from == 0 && wanted(0) {
        return Some(Vec::new());
    }
    while let Some(node) = queue.pop_front() {
        for (way, to) in &nodes[node].edges {
            if (*way == Way::PassedOver && !passing_over) || came.contains_key(to) {
                continue;
            }
            came.insert(*to, (node, *way));
            if wanted(*to) {
                let mut steps = vec![(node, *way)];
                while steps[steps.len() - 1].0 != from {
                    steps.push(*came.get(&steps[steps.len() - 1].0)?);
                }
                steps.reverse();
                return Some(steps);
            }
            queue.push_back(*to);
        }
    }
    None
}

impl Answers {
    fn take(&mut self, node: &Node<'_>, way: Way) -> Result<(), String> {
        let path = node.path.clone();
        match &node.step.question {
            Question::Confirm { .. } if way == Way::No => {
                self.answers.push((path, "no".to_owned()))
            }
            Question::Choose { choices, next, .. } if matches!(next, Next::When(_)) => {
                let taken = |name: &str| leads_by(next, Tested::Name(name), way);
                let choice = choices.iter().find(|choice| taken(&choice.name));
                let choice =
                    choice.ok_or_else(|| format!("no choice of `{path}` leads on that way"))?;
                if choice != &choices[0] {
                    self.answers.push((path, choice.name.clone()));
                }
            }
            Question::Measure { form, next, .. } if matches!(next, Next::When(_)) => {
                let value = number(form, next, way);
                let value =
                    value.ok_or_else(|| format!("no value of `{path}` leads on that way"))?;
                if value != usual::middle(form) {
                    self.answers.push((path, value.to_string()));
                }
            }
            Question::Compute {
                computation,
                tested,
                next,
                ..
            } => {
                let facts = facts(*computation, tested.as_deref(), next, way);
                let facts =
                    facts.ok_or_else(|| format!("no result of `{path}` leads on that way"))?;
                self.computed.entry(path).or_default().push(facts);
            }
            _ => {}
        }
        Ok(())
    }

    /// As a scenario file that must come to an outcome.
    #[must_use]
    pub fn written(&self, procedure: &str, goal: &str, outcome: &str) -> String {
        let quoted = |text: &str| serde_json::Value::from(text).to_string();
        let mut text = format!("procedure: {procedure}\nabout: Leads to {goal}\n");
        if !self.computed.is_empty() {
            text += "computed:\n";
        }
        for (path, visits) in &self.computed {
            let told = |facts: &Facts| {
                let facts: Vec<String> = facts
                    .iter()
                    .map(|(name, value)| format!("{name}: {}", quoted(value)))
                    .collect();
                format!("{{{}}}", facts.join(", "))
            };
            let visits: Vec<String> = visits.iter().map(told).collect();
            text += &match &visits[..] {
                [one] => format!("  {path}: {one}\n"),
                many => format!("  {path}: [{}]\n", many.join(", ")),
            };
        }
        if !self.answers.is_empty() {
            text += "answers:\n";
        }
        for (path, answer) in &self.answers {
            text += &format!("  - {{step: {path}, answer: {}}}\n", quoted(answer));
        }
        text + &format!("expect:\n  outcome: {outcome}\n  way: [{goal}]\n")
    }
}

/// Whether a value takes a way.
fn leads_by(next: &Next<StepIndex>, value: Tested<'_>, way: Way) -> bool {
    match (next, way) {
        (Next::Always(_), _) => true,
        (Next::When(branches), Way::Branch(number)) => {
            let taken = unary::branch(branches, value);
            taken.is_some_and(|taken| std::ptr::eq(taken, &branches[number]))
        }
        _ => false,
    }
}

/// A value that takes a way: the usual one if it does, else one at a limit of a test.
fn number(form: &NumberForm, next: &Next<StepIndex>, way: Way) -> Option<Decimal> {
    let range = form.expected.unwrap_or(form.possible);
    let ends = [
        range.least,
        range.greatest,
        form.possible.least,
        form.possible.greatest,
    ];
    let limits = match next {
        Next::When(branches) => branches.iter().flat_map(limits).collect(),
        Next::Always(_) => Vec::new(),
    };
    let beside = |limit: Decimal| [limit, limit + form.resolution, limit - form.resolution];
    let possible =
        |value: &Decimal| *value >= form.possible.least && *value <= form.possible.greatest;
    [usual::middle(form)]
        .into_iter()
        .chain(limits.into_iter().flat_map(beside))
        .chain(ends)
        .filter(possible)
        .find(|value| leads_by(next, Tested::Number(*value), way))
}

fn limits(branch: &Branch<StepIndex>) -> Vec<Decimal> {
    let (UnaryTests::Any(tests) | UnaryTests::Not(tests)) = &branch.tests else {
        return Vec::new();
    };
    let ends = tests.iter().flat_map(|test| match test {
        UnaryTest::Range { low, high } => [*low, *high],
        UnaryTest::Name(_) => [None, None],
    });
    ends.flatten().map(|(end, _)| end).collect()
}

/// Facts that take a way: the tested one, where it must be another than the first.
fn facts(
    computation: Computation,
    tested: Option<&str>,
    next: &Next<StepIndex>,
    way: Way,
) -> Option<Facts> {
    let Some(tested) = tested.filter(|_| matches!(next, Next::When(_))) else {
        return Some(Facts::new());
    };
    let fact = computation
        .facts()
        .into_iter()
        .find(|fact| fact.name == tested)?;
    let value = match &fact.domain {
        Domain::Choice(names) => {
            let mut names = names.iter();
            names
                .find(|name| leads_by(next, Tested::Name(name), way))?
                .clone()
        }
        Domain::Number { unit, .. } => {
            let value = number(&fact.domain.form()?, next, way)?;
            format!("{value} {}", unit.symbol())
        }
        Domain::Text => return None,
    };
    Some(Facts::from([(tested.to_owned(), value)]))
}
