//! Answers that lead to a given step, found by breadth first over a procedure with its calls written
//! out, and written as a scenario. Whether they really lead there is seen by playing them.

use std::collections::{BTreeMap, HashMap, VecDeque};

use super::goal::Goal;
use super::scenario::Facts;
use super::told::nearest_path;
use super::values::{facts, leads_by, number};
use crate::procedure::model::{Library, Next, Procedure, Question, Step, StepIndex};
use crate::procedure::unary::Tested;
use crate::procedure::{Way, branches_after_call, way_told, ways};
use crate::text::wrap;

/// Letters in a line of what is said of answers.
const COMMENT: usize = 100;

/// Most steps that are searched, with all calls written out.
const MOST_STEPS: usize = 100_000;

/// What has to be answered, and what stated, to come to a step and from there to an outcome.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Answers {
    /// Answers other than the usual ones, in order: path and answer.
    pub answers: Vec<(String, String)>,
    /// Facts to be stated, by path of the compute step, for each visit.
    pub computed: BTreeMap<String, Vec<Facts>>,
    /// How many of the answers lead to the step; those after them lead on to an end.
    to_step: usize,
}

impl Answers {
    /// The same with the usual answers from the step on; none where these lead to the end that is found.
    #[must_use]
    pub fn usual_from_step(&self) -> Option<Answers> {
        let mut usual = self.clone();
        usual.answers.truncate(self.to_step);
        (usual != *self).then_some(usual)
    }
}

struct Node<'l> {
    path: String,
    procedure: &'l str,
    /// The node of its procedure's first step.
    first: usize,
    step: &'l Step<StepIndex>,
    edges: Vec<(Way, usize)>,
    root: bool,
}

/// The answers that lead to a step, or out of it by a way. A step of a called procedure may be named by the procedure in
/// place of the call, where that is called once: the goal comes back with its path.
///
/// # Errors
/// A sentence, where there is no such step or no way.
pub fn answers_to(library: &Library, root: &str, goal: &Goal) -> Result<(Goal, Answers), String> {
    let nodes = flatten(library, root)?;
    let target = target(&nodes, &goal.step).ok_or_else(|| {
        let near = nearest_path(library, root, &goal.step);
        format!(
            "there is no step `{}` in `{root}` or what it calls. {near}",
            goal.step
        )
    })?;
    let is_end = |node: usize| {
        nodes[node].root && matches!(nodes[node].step.question, Question::Outcome { .. })
    };
    let mut way = way(&nodes, 0, &|node| node == target).ok_or("no way leads there")?;
    let from = match &goal.way {
        Some(told) => {
            let (out, to) = leaving(&nodes, target, told)?;
            way.extend(out);
            to
        }
        None => target,
    };
    let on = self::way(&nodes, from, &is_end).ok_or("no way leads on from there to an outcome")?;
    let mut answers = Answers::default();
    for (node, taken) in way {
        answers.take(&nodes[node], taken)?;
    }
    answers.to_step = answers.answers.len();
    for (node, taken) in on {
        answers.take(&nodes[node], taken)?;
    }
    let goal = Goal {
        step: nodes[target].path.clone(),
        way: goal.way.clone(),
    };
    Ok((goal, answers))
}

/// The node of a path, or of `procedure/step` where that is one node.
fn target(nodes: &[Node<'_>], wanted: &str) -> Option<usize> {
    let exact = nodes.iter().position(|node| node.path == wanted);
    exact.or_else(|| {
        let (procedure, id) = wanted.rsplit_once('/')?;
        let named = |node: &&Node<'_>| node.procedure == procedure && node.step.id == id;
        let mut found = nodes.iter().filter(named);
        let (only, other) = (found.next()?, found.next());
        let path = other.is_none().then_some(&only.path)?;
        nodes.iter().position(|node| node.path == *path)
    })
}

/// The steps out of a node by the way of those words, and the node that they lead to.
fn leaving(
    nodes: &[Node<'_>],
    from: usize,
    told: &str,
) -> Result<(Vec<(usize, Way)>, usize), String> {
    let question = &nodes[from].step.question;
    let all = ways(nodes[from].step);
    let Some((taken, to)) = all.iter().find(|(way, _)| way_told(question, *way) == told) else {
        let known = all.iter().map(|(way, _)| way_told(question, *way));
        let known: Vec<String> = known.collect();
        return Err(format!(
            "`{told}` is no way out of `{}`; those are: {}",
            nodes[from].path,
            known.join("; ")
        ));
    };
    let to = nodes[from].first + to;
    let none = || format!("no way leads out of `{}` by `{told}`", nodes[from].path);
    if *taken == Way::PassedOver {
        let times = nodes[from]
            .step
            .at_most
            .as_ref()
            .map_or(0, |bound| bound.times);
        let round = search(nodes, from, &|node| node == from, false).ok_or_else(none)?;
        let rounds = (0..times).flat_map(|_| round.iter().copied());
        return Ok((rounds.collect(), to));
    }
    if !matches!(question, Question::Call { .. }) {
        return Ok((vec![(from, *taken)], to));
    }
    // a call is left through the outcomes that lead that way
    let inside = format!("{}/", nodes[from].path);
    let leads = |node: usize| {
        let Node { path, step, .. } = &nodes[node];
        let own = path
            .strip_prefix(&inside)
            .is_some_and(|rest| !rest.contains('/'));
        own && matches!(step.question, Question::Outcome { .. })
            && branches_after_call(nodes[from].step, &step.id)
                .iter()
                .any(|(number, _)| matches!(taken, Way::Only) || *taken == Way::Branch(*number))
    };
    let mut out = way(nodes, from, &leads).ok_or_else(none)?;
    let end = (0..nodes.len()).filter(|node| leads(*node));
    let mut end = end.filter(|node| {
        out.last()
            .is_some_and(|(last, way)| nodes[*last].edges.contains(&(*way, *node)))
    });
    out.push((end.next().ok_or_else(none)?, Way::Only));
    Ok((out, to))
}

/// The path of a step that is named by its procedure, where one call leads there.
pub(super) fn by_procedure(library: &Library, root: &str, wanted: &str) -> Option<String> {
    let nodes = flatten(library, root).ok()?;
    target(&nodes, wanted).map(|node| nodes[node].path.clone())
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
                procedure: &procedure.name,
                first,
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
                // written even where it is the usual one, which moves with what is expected
                self.answers.push((path, value.to_string()));
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

    /// As a scenario file that must come to an outcome. `rest` is said of the answers behind the step.
    #[must_use]
    pub fn written(&self, procedure: &str, goal: &Goal, outcome: &str, rest: &str) -> String {
        let quoted = |text: &str| serde_json::Value::from(text).to_string();
        let mut text = format!(
            "procedure: {procedure}\nabout: {}\n",
            quoted(&format!("Leads to {}", goal.told()))
        );
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
        for (number, (path, answer)) in self.answers.iter().enumerate() {
            if number == self.to_step && !rest.is_empty() {
                text += &format!("  # {}\n", wrap(rest, COMMENT, 0).replace('\n', "\n  # "));
            }
            text += &format!("  - {{step: {path}, answer: {}}}\n", quoted(answer));
        }
        text + &format!("expect:\n  outcome: {outcome}\n  way: [{}]\n", goal.step)
    }
}
