//! What passes every check and is worth a second look: hands that go back to the engine while the key may be in, one
//! yes that stands for much, a hazard to people told as one to things, an end with the key in, what nothing reads and
//! what nobody explains.

mod handled;
pub mod idle;
mod left_in;
mod noticed;
mod ran;
mod ranges;
mod too_long;
mod unread;
mod untold;
mod worded;

use std::collections::BTreeSet;

use crate::procedure::check::{Bits, Flat, flatten, told};
use crate::procedure::library::{Sheet, Sheets};
use crate::procedure::model::{Library, Step, StepIndex};
use crate::procedure::places::Places;
use crate::procedure::problem::{Findings, Problem};
use crate::procedure::work::{Condition, Work};

/// The condition that the key is with whoever has hands in the engine.
const KEY_AWAY: &str = "key away";

/// Protections that one yes may stand for without a remark: our own choice, what one look round a vehicle takes in.
const MOST_BY_ONE_YES: usize = 3;

/// The remarks on a procedure that is sound; `root` is its name.
#[must_use]
pub fn remarks(root: &str, library: &Library) -> Vec<Problem> {
    let steps = library.procedures.values().flat_map(|p| &p.steps);
    let mut remarks: Vec<Problem> = steps.clone().filter_map(many_by_one_yes).collect();
    remarks.extend(steps.clone().filter_map(worded::remark));
    remarks.extend(steps.clone().filter_map(too_long::remark));
    remarks.extend(steps.filter_map(noticed::remark));
    remarks.extend(hands_at_the_vehicle(root, library));
    remarks.extend(library.procedures.values().flat_map(ran::remarks));
    remarks.extend(library.procedures.values().flat_map(ranges::remarks));
    remarks.extend(unread::remarks(library));
    remarks.extend(untold::remarks(library));
    remarks
}

fn many_by_one_yes(step: &Step<StepIndex>) -> Option<Problem> {
    let built_in = |c: &&Condition| Work::ALL.iter().any(|work| work.needs().contains(c));
    let protects = step.establishes.iter().filter(built_in);
    let names: Vec<String> = protects.map(|c| format!("`{c}`")).collect();
    if names.len() <= MOST_BY_ONE_YES {
        return None;
    }
    let message = format!(
        "step `{}` has one yes stand for {} protections: {}",
        step.id,
        names.len(),
        names.join(", ")
    );
    let remark = Problem::new(
        &step.position,
        message,
        "Whoever has seen to the first of them soon says yes to all.",
        "Give each a step of its own, as procedures/relative-compression.yaml does.",
    );
    Some(remark.of_step(&step.id))
}

/// What a procedure that takes values from its caller needs and does not see to on every way of its own: its caller has
/// to, and that is proved with the caller alone.
#[must_use]
pub fn left_to_caller(root: &str, library: &Library) -> BTreeSet<String> {
    let takes = |name: &str| {
        let procedure = library.procedures.get(name);
        procedure.is_some_and(|procedure| !procedure.takes.is_empty())
    };
    if !takes(root) {
        return BTreeSet::new();
    }
    let sheets = sheets(library);
    let Some(flat) = flatten(root, &sheets, &mut Findings::default()) else {
        return BTreeSet::new();
    };
    let states = flat.graph.holding(Bits::none(flat.facts.len()));
    let mut left = BTreeSet::new();
    for (place, state) in flat.places.iter().zip(&states) {
        let Some(state) = state else { continue };
        let step = place.step();
        let of_work = step.work.iter().flat_map(|work| work.needs());
        let needs = of_work.chain(step.needs.iter().cloned());
        left.extend(
            needs
                .filter(|need| !flat.fact(&need.0).is_some_and(|fact| state.has(fact)))
                .map(|need| need.0),
        );
    }
    left
}

fn sheets(library: &Library) -> Sheets {
    let sheet = |procedure| Sheet {
        procedure,
        places: Places::default(),
    };
    let sheets = library.procedures.iter();
    sheets
        .map(|(name, p)| (name.clone(), sheet(p.clone())))
        .collect()
}

/// What is to be said of hands that go to the vehicle, once for each step.
fn hands_at_the_vehicle(root: &str, library: &Library) -> Vec<Problem> {
    let sheets = sheets(library);
    let Some(flat) = flatten(root, &sheets, &mut Findings::default()) else {
        return Vec::new();
    };
    let mut remarks = hands_with_key(&flat);
    let back = library.procedures.values();
    let mut back: Vec<Problem> = back.flat_map(handled::back_without_key).collect();
    back.retain(|found| remarks.iter().all(|known| known.position != found.position));
    // with the key put away before hands go in, it is away at the end as well
    if remarks.is_empty() {
        remarks.extend(left_in::remarks(&flat));
    }
    remarks.extend(back);
    remarks.extend(handled::after_the_look(&flat));
    remarks
}

/// Steps that take something off or put it back and that can be reached with the key still in from an earlier step.
fn hands_with_key(flat: &Flat<'_>) -> Vec<Problem> {
    let Some(key_away) = flat.fact(KEY_AWAY) else {
        return Vec::new();
    };
    // before anybody has used it, it is where its owner left it
    let mut at_start = Bits::none(flat.facts.len());
    at_start.add(key_away);
    let states = flat.graph.holding(at_start);
    let mut told_of: BTreeSet<&Option<String>> = BTreeSet::new();
    let mut remarks = Vec::new();
    for (node, state) in states.iter().enumerate() {
        let step = flat.places[node].step();
        let away = state.as_ref().is_none_or(|state| state.has(key_away));
        if away || !hands_on(step) || !told_of.insert(&step.action) {
            continue;
        }
        let way = flat
            .graph
            .way_without(node, key_away, true)
            .unwrap_or_default();
        let uses = |node: usize| {
            flat.places[node]
                .step()
                .revokes
                .iter()
                .any(|c| c.0 == KEY_AWAY)
        };
        let used = way.iter().rposition(|(node, _)| uses(*node)).unwrap_or(0);
        let way = told(&way[used..], |node| flat.places[node].path.as_str());
        let remark = Problem::new(
            &step.position,
            format!(
                "at step `{}` hands go to the vehicle, and the key may still be in",
                step.id
            ),
            format!("The shortest way to it from where the key is used: {way}"),
            "Have the key put away on that way, or let the statement of this step say that it is, with \
             `establishes: [key away]`.",
        );
        remarks.push(remark.of_step(&step.id));
    }
    remarks
}

fn hands_on(step: &Step<StepIndex>) -> bool {
    let names_key = |list: &[Condition]| list.iter().any(|c| c.0 == KEY_AWAY);
    let handles = !step.disables.is_empty() || !step.restores.is_empty();
    step.work == [Work::None]
        && handles
        && !names_key(&step.establishes)
        && !names_key(&step.revokes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::procedure::read_library;

    /// A procedure of that name from its text, which is sound.
    pub(super) fn library(name: &str, text: &str) -> Library {
        let source = |_: &str| Some((format!("{name}.yaml"), text.to_owned()));
        read_library(name, &source).unwrap()
    }

    /// Each remark behind its line.
    pub(super) fn placed(remarks: &[Problem]) -> Vec<String> {
        let placed = remarks.iter();
        placed
            .map(|r| format!("{}: {}", r.position.line, r.message))
            .collect()
    }

    /// What a remark on single steps says of a procedure.
    pub(super) fn said(remark: fn(&Step<StepIndex>) -> Option<Problem>, text: &str) -> Vec<String> {
        let library = library("sound", text);
        let steps = library.procedures.values().flat_map(|p| &p.steps);
        steps.filter_map(remark).map(|r| r.message).collect()
    }

    fn told(text: &str) -> Vec<String> {
        let mut remarks = remarks("sound", &library("sound", text));
        // none of its steps explains itself
        remarks.retain(|r| !r.message.contains("answer `?`"));
        placed(&remarks)
    }

    #[test]
    fn what_a_called_procedure_leaves_to_its_caller_is_named() {
        let text = "procedure: sound\nrevision: 1\ntitle: t\npurpose: p\ntakes: [kind]\nsteps:\n  key:\n    phase: p\n    \
                    do: Key out.\n    work: none\n    confirm: The key is away.\n    establishes: [key away]\n    \
                    then: connect\n    if-not: end\n  connect:\n    warning: w\n    do: Connect for {kind}.\n    \
                    work: connect leads\n    confirm: Connected.\n    then: end\n    if-not: end\n  end:\n    \
                    outcome: not-done\n    finding: f\n";
        let left = |text: &str| {
            let source = |_: &str| Some(("sound.yaml".to_owned(), text.to_owned()));
            left_to_caller("sound", &read_library("sound", &source).unwrap())
        };
        assert_eq!(left(text), BTreeSet::from(["leads safe".to_owned()]));
        assert_eq!(
            left(include_str!("../check/tests/sound.yaml")),
            BTreeSet::new()
        );
    }

    #[test]
    fn much_by_one_yes_and_hands_with_the_key_in_are_remarked() {
        let sound = include_str!("../check/tests/sound.yaml");
        let hands = "at step `back-found` hands go to the vehicle, and the key may still be in";
        let many = "step `held` has one yes stand for 4 protections: `vehicle held`, `bystanders clear`, `belts clear`, \
                    `battery area safe`";
        let looked = "29: at step `cut-fuel` something comes off or goes back, and `prove` rests on `bystanders clear` and \
                      `belts clear` from before";
        let ran = "56: after an engine that ran, `judge` leads on to `crank` with no new proof";
        let of = |others: &[String]| [others, &[looked.to_owned(), ran.to_owned()]].concat();
        assert_eq!(
            told(sound),
            of(&[format!("13: {many}"), format!("67: {hands}")])
        );
        // the statement says it, or one protection is seen to elsewhere
        let away = sound.replace(
            "    confirm: Everything is back.\n",
            "    confirm: The key is away, and everything is back.\n    establishes: [key away]\n",
        );
        assert_eq!(told(&away), of(&[format!("13: {many}")]));
        let apart = away
            .replace("vehicle held, bystanders clear", "bystanders clear")
            .replace(
                "    establishes: [drive checked]",
                "    establishes: [drive checked, vehicle held]",
            );
        assert_eq!(told(&apart), of(&[]));
    }
}
