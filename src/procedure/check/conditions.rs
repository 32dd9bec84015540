//! Does what a step needs hold whichever way it was reached, through every call?

use std::collections::BTreeSet;

use super::flat::{FUEL_CUT, Flat, Place, off_crank};
use crate::procedure::model::{Position, Question, Step, StepIndex};
use crate::procedure::nearest::nearest;
use crate::procedure::problem::missing::{Mend, Missing};
use crate::procedure::problem::{Findings, Problem};
use crate::procedure::rules::Rules;
use crate::procedure::work::{Condition, FUEL_CUTS, FUEL_OFF, ON_THE_CRANK, PROVED, cuts_fuel};

/// Needs that are reported with their shortest way and the nearest name; in a file with more, something else
/// is wrong, and each way costs a walk through the whole graph.
const MOST_EXPLAINED: usize = 100;

pub(crate) fn check(flat: &Flat<'_>, rules: &Rules, findings: &mut Findings) {
    let states = flat.graph.holding(flat.at_start());
    let mut reported: BTreeSet<(*const u8, usize, Condition)> = BTreeSet::new();
    for (node, state) in states.iter().enumerate() {
        let Some(state) = state else {
            continue;
        };
        let place = &flat.places[node];
        for need in needs(flat, rules, node) {
            let fact = flat.fact(&need.0);
            if fact.is_some_and(|fact| state.has(fact)) || findings.misspelt.contains(&need.0) {
                continue;
            }
            let sheet = std::ptr::from_ref(place.sheet).cast::<u8>();
            if reported.insert((sheet, place.number, need.clone())) {
                let explained = reported.len() <= MOST_EXPLAINED;
                let problem = report(flat, rules, node, &need, explained);
                findings.list.push(problem);
            }
        }
    }
}

/// What must hold when a step is reached.
fn needs(flat: &Flat<'_>, rules: &Rules, node: usize) -> BTreeSet<Condition> {
    let step = flat.places[node].step();
    let of_work = step.work.iter().flat_map(|work| work.needs());
    let mut needs: BTreeSet<Condition> = of_work.chain(step.needs.iter().cloned()).collect();
    needs.extend(rules.needed(&step.work).cloned());
    let says_off = step.establishes.iter().any(|c| c.0 == FUEL_OFF);
    if says_off && !step.disables.iter().any(|d| cuts_fuel(&d.item)) {
        needs.insert(Condition(FUEL_CUT.to_owned()));
    }
    let flung = step.work.iter().flat_map(|work| work.flings());
    let flung = flung.map(|item| off_crank(item));
    needs.extend(
        flung
            .filter(|fact| flat.fact(fact).is_some())
            .map(Condition),
    );
    needs
}

fn report(
    flat: &Flat<'_>,
    rules: &Rules,
    node: usize,
    need: &Condition,
    explained: bool,
) -> Problem {
    let place = &flat.places[node];
    let step = place.step();
    let fact = flat.fact(&need.0).unwrap_or(flat.facts.len());
    let way = explained.then(|| {
        let holds = off_of_crank(need).is_some();
        flat.graph.way_without(node, fact, holds)
    });
    let nodes = way.flatten().unwrap_or_default();
    let distance = if explained { nodes.len() } else { usize::MAX };
    let way = flat.shown_way(&nodes, fact);
    let part = format!("needs/{need}");
    let own = step.needs.contains(need);
    let part = if own { part.as_str() } else { "work" };
    let here = place.sheet.places.of(place.number, step, part);
    if need.0 == FUEL_CUT {
        return nothing_cut(step, &here, &way);
    }
    if let Some(item) = off_of_crank(need) {
        return still_on_crank(step, &here, &way, item);
    }
    let of_shop = !own && step.work.iter().all(|work| !work.needs().contains(need));
    let ruled = of_shop
        .then(|| rules.need_place(&step.work, need))
        .flatten();
    let because = match (explained && !own, of_shop) {
        (false, _) => String::new(),
        (true, true) => " (the shop's policy wants that for its work)".to_owned(),
        (true, false) => because(step, need),
    };
    let message = format!(
        "step `{}` needs `{need}`, which does not hold on every way to it{because}",
        step.id
    );
    let mend = if explained {
        mend(flat, need, &nodes)
    } else {
        Mend::Later
    };
    if let (Some(ruled), Mend::Rename(near)) = (ruled, &mend) {
        return misspelt_in_policy(ruled, need, near);
    }
    let why = if explained {
        format!("The shortest way to it without: {way}")
    } else {
        String::new()
    };
    let (position, remedy) = (ruled.unwrap_or(&here), mend.told(&[&need.0]));
    let problem = Problem::new(position, message, why, remedy).of_step(&step.id);
    problem.with_missing(Missing {
        root: flat.places[0].sheet.procedure.name.clone(),
        condition: need.0.clone(),
        distance,
        step: place.path.clone(),
        place: here,
        because,
        way,
        mend,
    })
}

/// A condition of the policy that is written nearly like one of the procedure: the same for every step whose work it is
/// for, so that it is told once.
fn misspelt_in_policy(ruled: &Position, need: &Condition, near: &str) -> Problem {
    let file = ruled.file.rsplit(['/', '\\']).next().unwrap_or_default();
    Problem::new(
        ruled,
        format!("the shop's policy wants `{need}`, which no step establishes"),
        "Work that the policy wants it for could never begin.",
        format!(
            "Correct it in {file}, line {}: did you mean `{near}`? Only if the policy has it right, write `{need}` in \
             the procedure instead.",
            ruled.line
        ),
    )
}

fn nothing_cut(step: &Step<StepIndex>, here: &Position, way: &str) -> Problem {
    let message = format!(
        "step `{}` says `{FUEL_OFF}` where nothing need cut the fuel",
        step.id
    );
    let why = format!("The shortest way to it with nothing cut: {way}");
    let remedy = format!(
        "Disable what cuts it in this step, or reach it only after a step that does. That is one of: {}.",
        FUEL_CUTS.join(", ")
    );
    Problem::new(here, message, why, remedy).of_step(&step.id)
}

/// The thing that a need wants off the crank; it is off before the first step.
fn off_of_crank(need: &Condition) -> Option<&'static str> {
    let mut items = ON_THE_CRANK.into_iter();
    items.find(|item| off_crank(item) == need.0)
}

fn still_on_crank(step: &Step<StepIndex>, here: &Position, way: &str, item: &str) -> Problem {
    let kinds = step.work.iter();
    let kinds = kinds.filter(|work| work.flings().contains(&item));
    let kinds: Vec<&str> = kinds.map(|work| work.name()).collect();
    let message = format!(
        "the {item} may still be on the crank at step `{}` (its work is {})",
        step.id,
        kinds.join(", ")
    );
    let why = format!(
        "A crank that turns flings it round and breaks bones. The shortest way to it so: {way}"
    );
    let remedy = format!(
        "Before this step ask a `confirm` step with `restores: [{item}]`, on every way to it."
    );
    Problem::new(here, message, why, remedy).of_step(&step.id)
}

/// Which of its kinds of work make a step need what it does not name itself.
fn because(step: &Step<StepIndex>, need: &Condition) -> String {
    let kinds = step.work.iter().filter(|work| work.needs().contains(need));
    let kinds: Vec<&str> = kinds.map(|work| work.name()).collect();
    format!(" (its work is {})", kinds.join(", "))
}

/// How a condition comes to hold where it is missing. `way` is the shortest way to the step without it.
fn mend(flat: &Flat<'_>, need: &Condition, way: &[(usize, &'static str)]) -> Mend {
    let mut places = flat.places.iter();
    if places.any(|place| place.step().establishes.contains(need)) {
        let ends = |node: usize| flat.places[node].step().revokes.contains(need);
        let ended = way.iter().rev().skip(1).find(|(node, _)| ends(*node));
        return Mend::Ask {
            ended: ended.map(|(node, _)| by_step(flat, *node, need)),
        };
    }
    let steps = flat.places.iter().map(Place::step);
    let known: BTreeSet<&str> = steps
        .flat_map(|step| &step.establishes)
        .map(|condition| condition.0.as_str())
        .collect();
    let meant = nearest(&need.0, known.iter().copied()).or_else(|| idle_alike(flat, need, &known));
    match meant {
        Some(near) => Mend::Rename(near.to_owned()),
        None if need.0 == FUEL_OFF => Mend::CutFuel,
        None if need.0 == PROVED => Mend::Prove,
        None => said_by(flat, need).map_or_else(|| add(flat), Mend::Establish),
    }
}

fn add(flat: &Flat<'_>) -> Mend {
    match flat.places[0].sheet.procedure.gives.is_empty() {
        true => Mend::Add,
        false => Mend::AddOrTake,
    }
}

/// A condition that nothing needs and that shares a word with the one that is missing: `vehicle secured` for `vehicle held`.
fn idle_alike<'n>(flat: &Flat<'_>, need: &Condition, known: &BTreeSet<&'n str>) -> Option<&'n str> {
    let needed: BTreeSet<Condition> = flat
        .places
        .iter()
        .map(Place::step)
        .flat_map(all_needs)
        .collect();
    let words: BTreeSet<&str> = need.0.split(' ').collect();
    let idle = known
        .iter()
        .filter(|name| !needed.iter().any(|need| need.0 == **name));
    let mut alike = idle.filter(|name| name.split(' ').any(|word| words.contains(word)));
    alike.next().copied()
}

fn all_needs(step: &Step<StepIndex>) -> impl Iterator<Item = Condition> {
    let of_work = step.work.iter().flat_map(|work| work.needs());
    of_work.chain(step.needs.iter().cloned())
}

/// The statement that is put under a name or in words like those of a condition, and establishes nothing.
fn said_by(flat: &Flat<'_>, need: &Condition) -> Option<String> {
    let says = |id: &str, statement: &str| {
        let text = format!("{id} {statement}").to_lowercase();
        let words: Vec<&str> = text.split(|c: char| !c.is_alphanumeric()).collect();
        need.0.split(' ').all(|word| words.contains(&word))
    };
    let said = flat
        .places
        .iter()
        .find(|place| match &place.step().question {
            Question::Confirm { statement, .. } => {
                place.step().establishes.is_empty() && says(&place.step().id, statement)
            }
            _ => false,
        });
    said.map(|place| place.path.clone())
}

/// The step that ends a condition, with the work by which it does.
fn by_step(flat: &Flat<'_>, node: usize, ended: &Condition) -> String {
    let place = &flat.places[node];
    let mut work = place.step().work.iter();
    match work.find(|work| work.ends().contains(&ended.0.as_str())) {
        Some(work) => format!("`{}` (hands at the vehicle: {})", place.path, work.name()),
        None => format!("`{}`", place.path),
    }
}
