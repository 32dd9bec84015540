//! How a rehearsal went, against what its scenario expects.

use super::play::Player;
use crate::procedure::model::Position;
use crate::run::event::Event;
use crate::run::next::STOPPED;
use crate::run::walk::Walk;

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
            if !self.scenario.deny_each.contains(&kind) {
                let message = format!(
                    "came to `{step}` ({}), which is not in `deny-each`",
                    kind.name()
                );
                self.problem(None, message);
            }
            return;
        }
        self.judge_end(&step);
        self.judge_way();
        self.judge_use();
    }

    fn judge_end(&mut self, reached: &str) {
        let wanted = &self.scenario.expect.outcome;
        if wanted.value != reached {
            let unknown = self.unknown_step(&wanted.value);
            let told = match unknown.filter(|_| wanted.value != STOPPED) {
                Some(unknown) => unknown,
                None => format!("what led there: {}", self.led()),
            };
            let message = format!(
                "expected the outcome `{}`, came to `{reached}`; {told}",
                wanted.value
            );
            self.problem(Some(wanted.position.clone()), message);
        }
    }

    fn judge_way(&mut self) {
        let mut met = self.played.trail.iter().filter(|turn| turn.way.is_none());
        for wanted in &self.scenario.expect.way {
            if !met.any(|turn| turn.step == wanted.value) {
                let message = self.unknown_step(&wanted.value).unwrap_or_else(|| {
                    format!(
                        "expected to meet `{}` here on the way; it was not met; what led past it: {}",
                        wanted.value,
                        self.led()
                    )
                });
                return self.problem(Some(wanted.position.clone()), message);
            }
        }
    }

    /// Everything that is written must have been used.
    fn judge_use(&mut self) {
        if let Some(entry) = self.scenario.answers.get(self.next_entry) {
            let message = self.unknown_step(&entry.step).unwrap_or_else(|| {
                format!(
                    "the answer to `{}` was never asked for, nor those after it, which must stand in the order of \
                     asking",
                    entry.step
                )
            });
            self.problem(Some(entry.position.clone()), message);
        }
        let captures = self
            .scenario
            .captures
            .iter()
            .map(|(path, c)| (path, &c.position));
        let computed = self
            .scenario
            .computed
            .iter()
            .map(|(path, c)| (path, &c.position));
        let idle: Vec<(String, Position)> = captures
            .chain(computed)
            .filter(|(path, _)| !self.visits.contains_key(*path))
            .map(|(path, position)| (path.clone(), position.clone()))
            .collect();
        for (path, position) in idle {
            let message = self.unknown_step(&path).unwrap_or_else(|| {
                format!("step `{path}` was never come to, so this was not used")
            });
            self.problem(Some(position), message);
        }
    }
}
