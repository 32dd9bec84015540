//! Hands at the vehicle that no kind of work tells of, because what comes off or goes back hurts nobody by itself: after
//! everybody was looked for and the belts were looked along, and without the key that the same thing came off with.

use std::collections::{BTreeSet, VecDeque};

use super::KEY_AWAY;
use crate::procedure::check::{Bits, Flat};
use crate::procedure::model::{Procedure, Step, StepIndex};
use crate::procedure::problem::Problem;
use crate::procedure::work::{Condition, ENDED_BY_HANDS, Work};

/// A remark for each step that takes something off or puts it back between the look round and a step that rests on it.
pub(super) fn after_the_look(flat: &Flat<'_>) -> Vec<Problem> {
    let states = flat.graph.holding(Bits::none(flat.facts.len()));
    let mut told: BTreeSet<&Option<String>> = BTreeSet::new();
    let mut remarks = Vec::new();
    for (node, state) in states.iter().enumerate() {
        let step = flat.places[node].step();
        let Some(state) = state.as_ref().filter(|_| handles(step)) else {
            continue;
        };
        let held = |name: &&str| flat.fact(name).is_some_and(|fact| state.has(fact));
        let resting = ENDED_BY_HANDS.into_iter().filter(held);
        let resting = resting.filter_map(|name| Some((name, rests_on(flat, node, name)?)));
        let resting: Vec<(&str, &str)> = resting.collect();
        if let [(_, later), ..] = resting[..]
            && told.insert(&step.action)
        {
            let names: Vec<&str> = resting.iter().map(|(name, _)| *name).collect();
            remarks.push(looked_before(step, &names, later));
        }
    }
    remarks
}

/// Whether something comes off or goes back in it, and no kind of work says so.
fn handles<T>(step: &Step<T>) -> bool {
    let none = step.work.iter().all(|work| *work == Work::None);
    none && !(step.disables.is_empty() && step.restores.is_empty())
}

/// The first step that turns the engine and needs a condition, on a way from `node` on which it is neither ended nor
/// established anew.
fn rests_on<'f>(flat: &'f Flat<'_>, node: usize, name: &str) -> Option<&'f str> {
    let fact = flat.fact(name)?;
    let rests = |step: &Step<StepIndex>| {
        let mut needs = step.work.iter().flat_map(|work| work.needs());
        let turns = step.work.iter().any(|work| work.turns_engine());
        turns && needs.any(|need| need.0 == name)
    };
    let mut seen = BTreeSet::from([node]);
    let mut queue = VecDeque::from([node]);
    while let Some(here) = queue.pop_front() {
        for edge in &flat.graph.edges[here] {
            let kept = !edge.adds.contains(&fact) && !edge.drops.contains(&fact);
            if !kept || !seen.insert(edge.to) {
                continue;
            }
            if rests(flat.places[edge.to].step()) {
                return Some(&flat.places[edge.to].step().id);
            }
            queue.push_back(edge.to);
        }
    }
    None
}

fn looked_before(step: &Step<StepIndex>, names: &[&str], later: &str) -> Problem {
    let listed = names.join(", ");
    let quoted: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    let message = format!(
        "at step `{}` something comes off or goes back, and `{later}` rests on {} from before",
        step.id,
        quoted.join(" and ")
    );
    let why = "Hands are in the bay for it, and a rag, a tool or a sleeve may be in the belts when the engine turns.";
    let remedy = format!(
        "Add `revokes: [{listed}]` and have both looked for again before `{later}`, or do this before they are looked for."
    );
    Problem::new(&step.position, message, why, remedy).of_step(&step.id)
}

/// A remark for each step that puts back what came off with the key away, and leaves open where the key is.
pub(super) fn back_without_key(procedure: &Procedure<StepIndex>) -> Vec<Problem> {
    let needs_key = |step: &Step<StepIndex>| {
        let mut of_work = step.work.iter().flat_map(|work| work.needs());
        of_work.any(|need| need.0 == KEY_AWAY) || names_key(&step.needs)
    };
    let off = procedure.steps.iter().filter(|step| needs_key(step));
    let off = off.flat_map(|step| &step.disables).map(|off| &off.item);
    let off: BTreeSet<&Condition> = off.collect();
    let open = procedure
        .steps
        .iter()
        .filter(|step| handles(step) && !needs_key(step))
        // whoever uses the key for it says so
        .filter(|step| !names_key(&step.establishes) && !names_key(&step.revokes));
    let mut told: BTreeSet<&Option<String>> = BTreeSet::new();
    open.filter_map(|step| Some((step, step.restores.iter().find(|item| off.contains(item))?)))
        .filter(|(step, _)| told.insert(&step.action))
        .map(|(step, item)| {
            let message = format!(
                "step `{}` puts back `{item}`, which came off with the key away, and does not need that itself",
                step.id
            );
            let why = "A way that is added later may come here with the key in, and nothing would tell.";
            let remedy = "Add `needs: [key away]`, or let its statement say where the key is, with \
                          `establishes: [key away]`.";
            Problem::new(&step.position, message, why, remedy).of_step(&step.id)
        })
        .collect()
}

fn names_key(list: &[Condition]) -> bool {
    list.iter().any(|c| c.0 == KEY_AWAY)
}

#[cfg(test)]
mod tests {
    use super::super::tests::library;
    use crate::procedure::remarks;
    use crate::procedure::scaffold::{Kind, sheet};

    fn told(text: &str) -> Vec<String> {
        let told = remarks::remarks("a", &library("a", text)).into_iter();
        told.map(|remark| remark.message).collect()
    }

    /// A belt cover that comes off between the look round and the crank, and goes back at the end.
    fn with_cover(revokes: &str) -> String {
        let cover = format!(
            "  cover:\n    caution: Parts under it are hot.\n    do: Take the belt cover off.\n    work: none\n    \
             needs: [key away]\n    disables: {{belt cover: Fit the belt cover.}}\n{revokes}    confirm: The cover is \
             off.\n    why: The belt is seen.\n    then: NEXT\n    if-not: clamp-off-not-done\n\n"
        );
        let (again, crank) = ("  clear-again:\n", "    then: crank\n    if-not");
        let text = sheet(Kind::Cranking, "a");
        assert!(text.contains(again) && text.contains(crank));
        let text = text.replace(
            "restores: [fuel pump relay, remote",
            "restores: [belt cover, fuel pump relay, remote",
        );
        if revokes.is_empty() {
            let text = text.replace(crank, "    then: cover\n    if-not");
            return text.replace(again, &(cover.replace("NEXT", "crank") + again));
        }
        let text = text.replace("then: clear-again", "then: cover");
        text.replace(again, &(cover.replace("NEXT", "clear-again") + again))
    }

    #[test]
    fn hands_between_the_look_round_and_the_crank_are_remarked() {
        let remark = "at step `cover` something comes off or goes back, and `crank` rests on `bystanders clear` and \
                      `belts clear` from before";
        assert_eq!(told(&with_cover("")), [remark]);
        let asked_again = with_cover("    revokes: [bystanders clear, belts clear]\n");
        assert_eq!(told(&asked_again), [""; 0]);
    }

    /// The proof is a crank like any other: what is cut comes off before anybody is looked for, or they are looked for again.
    #[test]
    fn hands_between_the_look_round_and_the_proof_are_remarked() {
        let text = sheet(Kind::Cranking, "a");
        assert_eq!(told(&text), [""; 0]);
        let cut = "revokes: [fuel off proved, bystanders clear, belts clear]";
        assert!(text.contains(cut));
        let looked_first = text
            .replace(cut, "revokes: [fuel off proved]")
            .replace("    then: clear\n", "    then: FIRST\n")
            .replace("    then: prove\n", "    then: cut-fuel\n")
            .replacen("    then: cut-fuel\n", "    then: clear\n", 1)
            .replace("FIRST", "prove");
        let remark = "at step `cut-fuel` something comes off or goes back, and `prove` rests on `bystanders clear` and \
                      `belts clear` from before";
        assert_eq!(told(&looked_first), [remark]);
    }

    #[test]
    fn what_came_off_with_the_key_away_goes_back_with_it_away() {
        let text = sheet(Kind::Plain, "a");
        assert_eq!(told(&text), [""; 0]);
        let needs = "    needs: [key away]\n    restores: [engine cover]\n";
        assert!(text.contains(needs));
        let open = text.replace(needs, "    restores: [engine cover]\n");
        let remark = "step `put-back-good` puts back `engine cover`, which came off with the key away, and does not need \
                      that itself";
        assert_eq!(told(&open), [remark]);
    }
}
