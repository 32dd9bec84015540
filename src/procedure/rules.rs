//! What a shop demands of its procedures beyond what is compiled in. It may add, never remove: there is
//! no way to write that something is not needed. Reading it from the policy file is `record`'s
//! business; proving it is `check`'s.

use std::collections::BTreeMap;

use super::model::{Library, Position};
use super::work::{Condition, Work};

/// A name that the policy gives, with its place there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ruled {
    /// Where it is written.
    pub position: Position,
    /// It.
    pub name: String,
}

/// Steps that must stand on every path to an outcome.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepsBefore {
    /// Where the rule is written.
    pub position: Position,
    /// The procedure.
    pub procedure: String,
    /// Id of an outcome step of it, or a kind of outcome: all of its outcomes of that kind.
    pub outcome: String,
    /// Paths of the steps.
    pub steps: Vec<Ruled>,
}

/// Who may waive a step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Waiving {
    /// Where the rule is written.
    pub position: Position,
    /// The procedure.
    pub procedure: String,
    /// Id of the step.
    pub step: String,
    /// Who: `lead` for any lead, or identities of the roster.
    pub who: Vec<Ruled>,
}

/// The least revision of a procedure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeastRevision {
    /// Where it is written.
    pub position: Position,
    /// It.
    pub revision: u32,
}

/// Conditions that kinds of work need besides those compiled in.
pub type FurtherNeeds = BTreeMap<Work, Vec<Condition>>;

/// What a shop demands.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Rules {
    /// Further conditions of kinds of work.
    pub needs: FurtherNeeds,
    /// Where each of them is written; empty where they come out of a job.
    pub need_places: BTreeMap<(Work, String), Position>,
    /// Steps on every path to an outcome.
    pub steps_before: Vec<StepsBefore>,
    /// Who may waive what.
    pub waivers: Vec<Waiving>,
    /// Least revisions of procedures.
    pub revisions: BTreeMap<String, LeastRevision>,
}

impl Rules {
    /// Nothing but further needs: what a job that was begun under them is gone on with.
    #[must_use]
    pub fn of_needs(needs: FurtherNeeds) -> Self {
        Rules {
            needs,
            ..Rules::default()
        }
    }

    /// What the shop needs for these kinds of work.
    pub(crate) fn needed<'r>(&'r self, work: &'r [Work]) -> impl Iterator<Item = &'r Condition> {
        work.iter()
            .filter_map(|kind| self.needs.get(kind))
            .flatten()
    }

    /// Where it is written that a kind of this work needs a condition.
    pub(crate) fn need_place(&self, work: &[Work], condition: &Condition) -> Option<&Position> {
        let mut kinds = work.iter();
        kinds.find_map(|kind| self.need_places.get(&(*kind, condition.0.clone())))
    }

    /// Put the further needs into the steps of proved procedures, so that the run looks after them too.
    pub(crate) fn put_into(&self, library: &mut Library) {
        for procedure in library.procedures.values_mut() {
            for step in &mut procedure.steps {
                let further: Vec<Condition> = self.needed(&step.work).cloned().collect();
                for condition in further {
                    if !step.needs.contains(&condition) {
                        step.needs.push(condition);
                    }
                }
            }
        }
    }
}
