//! What was disabled on the vehicle and whether it was put back. It never goes back with the person.

use super::Walk;
use crate::procedure::model::{Step, StepIndex};
use crate::procedure::work::Condition;

/// Something that was disabled.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Disabling {
    /// What.
    pub item: Condition,
    /// How it is put back.
    pub restore: String,
    /// Path of the step that disabled it.
    pub by: String,
    /// Line of the journal at which it was put back.
    pub restored: Option<usize>,
}

impl Walk<'_> {
    /// What is still disabled, in the order in which it was disabled.
    pub fn disabled(&self) -> impl Iterator<Item = &Disabling> {
        self.ledger.iter().filter(|entry| entry.restored.is_none())
    }

    /// All that was disabled.
    #[must_use]
    pub fn ledger(&self) -> &[Disabling] {
        &self.ledger
    }

    /// Take note of what a step disables. Also where its statement was denied or it was left open:
    /// half of a row of plugs may be off, and asking about one too many hurts nobody.
    pub(super) fn disable(&mut self, step: &Step<StepIndex>, path: &str) {
        for disabled in &step.disables {
            if self.disabled().any(|entry| entry.item == disabled.item) {
                continue;
            }
            self.ledger.push(Disabling {
                item: disabled.item.clone(),
                restore: disabled.restore.clone(),
                by: path.to_owned(),
                restored: None,
            });
        }
    }

    pub(super) fn restore(&mut self, item: &Condition) {
        let line = self.line;
        for entry in &mut self.ledger {
            if entry.item == *item && entry.restored.is_none() {
                entry.restored = Some(line);
            }
        }
    }
}
