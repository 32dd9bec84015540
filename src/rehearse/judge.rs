//! How a rehearsal went, against what its scenario expects.

use std::collections::{BTreeMap, BTreeSet};

use super::play::{Played, Player};
use super::scenario::Scenario;
use crate::procedure::Problem;
use crate::procedure::model::{OutcomeKind, Question};
use crate::procedure::nearest::suggestion;
use crate::run::event::Event;
use crate::run::next::STOPPED;
use crate::run::walk::Walk;
use crate::text::counted;

impl Player<'_> {
    /// What was reached, against what was expected.
    pub(super) fn judge(&mut self) {
        if let Ok(walk) = Walk::through(self.library, &self.state) {
            self.played.trail = walk.trail().to_vec();
        }
        let Some(Event::Concluded { step, kind, .. }) = self.state.concluded().map(|s| &s.event)
        else {
            return;
        };
        let (step, kind) = (step.clone(), *kind);
        self.played.outcome = Some((step.clone(), kind));
        if !self.denied.is_empty() {
            let as_before = self.asks_again() && step == self.scenario.expect.outcome.value;
            self.played.unlisted = !as_before && !self.scenario.deny_each.value.contains(&kind);
            return;
        }
        // what went another way misses the rest of what is expected, too
        if self.judge_end(&step) && self.judge_way() {
            self.judge_use();
        }
    }

    /// Whether the statement that was denied last is asked again until it is true: putting back goes on as ever then.
    fn asks_again(&self) -> bool {
        let turn = self.denied.last().and_then(|denied| {
            let mut turns = self.played.trail.iter();
            turns.find(|turn| turn.step == *denied)
        });
        turn.is_some_and(|turn| {
            let procedure = self.library.procedures.get(&turn.procedure);
            let step = procedure.and_then(|procedure| procedure.steps.get(turn.at.0));
            matches!(step.map(|step| &step.question), Some(Question::Confirm { no, .. }) if *no == turn.at)
        })
    }

    /// Answers that were never asked for, which may be why the way led elsewhere.
    fn not_asked(&self) -> String {
        match self.scenario.answers.get(self.next_entry) {
            Some(entry) => format!(
                " Not asked for, or not in its turn, was the answer to `{}` in line {}.",
                entry.step, entry.position.line
            ),
            None => String::new(),
        }
    }

    /// Whether it ended as expected.
    fn judge_end(&mut self, reached: &str) -> bool {
        let wanted = &self.scenario.expect.outcome;
        if wanted.value == reached {
            return true;
        }
        let position = Some(wanted.position.clone());
        let wanted = &wanted.value;
        let ends = self.outcomes();
        let message = format!(
            "`expect` has the outcome `{wanted}`, the way came to `{reached}`; what led there: {}",
            self.led()
        );
        let remedy = if ends.contains(wanted) {
            format!(
                "If `{reached}` is right, write `outcome: {reached}` here. Else change one of those answers or \
                 results.{}",
                self.not_asked()
            )
        } else {
            let near = suggestion(wanted, ends.iter().map(String::as_str));
            format!(
                "No outcome of `{}` is called `{wanted}`. {near}",
                self.scenario.procedure
            )
        };
        self.problem(position, message, &remedy);
        false
    }

    /// The outcomes that the scenario's procedure can come to.
    fn outcomes(&self) -> Vec<String> {
        let own = self.library.procedures.get(&self.scenario.procedure);
        let steps = own.into_iter().flat_map(|procedure| &procedure.steps);
        let ends = steps.filter(|step| matches!(step.question, Question::Outcome { .. }));
        ends.map(|step| step.id.clone())
            .chain([STOPPED.to_owned()])
            .collect()
    }

    /// Whether the way led past all that was expected.
    fn judge_way(&mut self) -> bool {
        let mut met = self.played.trail.iter().filter(|turn| turn.way.is_none());
        for wanted in &self.scenario.expect.way {
            if met.any(|turn| turn.step == wanted.value) {
                continue;
            }
            let position = Some(wanted.position.clone());
            let step = wanted.value.clone();
            let message = format!(
                "`expect` has `{step}` on the way here, where it was not met; what led past it: {}",
                self.led()
            );
            let remedy = format!(
                "If the way is right, take `{step}` out or put it where it is met. Else change one of those answers or \
                 results.{}",
                self.not_asked()
            );
            self.problem(position, message, &remedy);
            return false;
        }
        true
    }

    /// Every answer that is written must have been asked for.
    fn judge_use(&mut self) {
        if let Some(entry) = self.scenario.answers.get(self.next_entry) {
            let position = Some(entry.position.clone());
            let step = entry.step.clone();
            let message = format!(
                "the answer to `{step}` was never asked for, nor those after it, which must stand in the order of asking"
            );
            let remedy = "Put it where it is asked for, or take it out.";
            self.problem(position, message, remedy);
        }
    }
}

/// Ends that denials came to and `deny-each` does not have: all that one line mends, told once.
pub(super) fn unlisted(scenario: &Scenario, denied: &[(Vec<String>, Played)]) -> Option<Problem> {
    let mut ends: BTreeMap<OutcomeKind, Vec<(&str, &[String])>> = BTreeMap::new();
    for (steps, played) in denied.iter().filter(|(_, played)| played.unlisted) {
        if let Some((step, kind)) = &played.outcome {
            ends.entry(*kind).or_default().push((step, steps));
        }
    }
    let (_, first) = ends.first_key_value()?;
    let (step, denied) = first.first()?;
    let kinds: Vec<String> = ends
        .keys()
        .map(|kind| format!("`{}`", kind.name()))
        .collect();
    let came: Vec<String> = kinds
        .iter()
        .zip(ends.values())
        .map(|(kind, ends)| format!("{} came to {kind}", counted(ends.len(), "denial")))
        .collect();
    Some(Problem::new(
        &scenario.deny_each.position,
        format!("{}, not in `deny-each`", came.join(", ")),
        format!(
            "The first of them: no to {} came to `{step}`.",
            denied.join(", ")
        ),
        format!(
            "Add {} to `deny-each` if that is a right end there; else let the no lead elsewhere in the procedure.",
            kinds.join(" and ")
        ),
    ))
}

/// Captures and results that are stated and that no way came to, those of the denials among them.
pub(super) fn idle(scenario: &Scenario, come_to: &BTreeSet<&String>) -> Vec<Problem> {
    let idle = scenario
        .stated()
        .filter(|(path, _)| !come_to.contains(path));
    let idle = idle.map(|(path, position)| {
        let message = format!("step `{path}` was never come to, so this was not used");
        let remedy = "Take it out, or give the answers that lead there.";
        Problem::new(position, message, "", remedy)
    });
    idle.collect()
}

/// Simulated captures that nothing looked at, because the results that would have come of them are stated.
pub(super) fn passed_over(scenario: &Scenario, all: &[&Played]) -> Vec<Problem> {
    let looked_at = |path: &String| all.iter().any(|played| played.looked_at.contains(path));
    let by = |path: &String| all.iter().find_map(|played| played.passed_over.get(path));
    let captures = scenario.captures.iter();
    let unseen = captures.filter(|(path, _)| !looked_at(path));
    let unseen = unseen.filter_map(|(path, capture)| Some((path, capture, by(path)?)));
    let told = unseen.map(|(path, capture, result)| {
        Problem::new(
            &capture.position,
            format!("the capture of `{path}` is simulated and never looked at"),
            format!("`computed` states the result of `{result}`, which would have come of it."),
            format!("Take it out here, or `{result}` out of `computed`."),
        )
    });
    told.collect()
}
