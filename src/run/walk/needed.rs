//! What a step needs and does not hold, and in which order that is made sure of.

use std::collections::BTreeSet;

use super::{Astray, Due, Walk, places};
use crate::procedure::model::{Question, Step, StepIndex};
use crate::procedure::work::{Condition, Work, last_looked_after};

/// What is made sure of before anything else is, in this order: the key, eyes, then what keeps engine and vehicle from
/// moving while hands reach in.
const FIRST: [&str; 6] = [
    KEY,
    "eyes protected",
    "vehicle held",
    "remote start off",
    "battery area safe",
    "fuel off",
];

/// What is asked first, and until it is so, where things are put back outside a procedure's own steps.
pub(crate) const KEY_OUT: &str = "engine off, key out";

/// The key is out of the vehicle.
const KEY: &str = "key away";

/// The starter has rested: counted down with the key away, and before the look around, which must be fresh.
pub(crate) const RESTED: &str = "starter rested";

/// What a look around makes sure of; it holds as long as somebody has just looked.
const LOOKED: [&str; 3] = ["bystanders clear", "belts clear", "holes clear"];

impl<'l> Walk<'l> {
    /// The step that is due, with what it needs looked after first.
    ///
    /// # Errors
    /// Where a needed condition can be established by no step.
    pub fn due(&self) -> Result<Due<'l>, Astray> {
        let here = self.here()?;
        let mut due = Due {
            step: self.step_at(&here)?,
            path: here,
            again_for: None,
            needed_by: None,
        };
        let cranks = turns_starter(due.step);
        let mut seen = BTreeSet::from([due.path.clone()]);
        while let Some(missing) = self.missing(&due) {
            let (missing, path) = match self.key_first(&due, &missing) {
                Some(key) if cranks => key,
                _ => {
                    let path = self.establisher(&missing, &due.path)?;
                    (missing, path)
                }
            };
            if !seen.insert(path.clone()) {
                break;
            }
            due = Due {
                step: self.step_at(&path)?,
                path,
                again_for: Some(missing),
                needed_by: Some(due.path),
            };
        }
        Ok(due)
    }

    /// The first condition that a step needs and that does not hold: eyes before anything else, what is proved by
    /// cranking after what hands do at the engine, the look around last of all.
    fn missing(&self, due: &Due<'_>) -> Option<Condition> {
        // where a file of a crank that was is asked for, nothing turns and no hand reaches in
        if self.same_crank(&due.path) {
            return None;
        }
        let step = due.step;
        let of_work = step.work.iter().copied().flat_map(Work::needs);
        of_work
            .chain(step.needs.iter().cloned())
            .filter(|condition| !self.held.contains(condition))
            .min_by_key(looked_after)
    }

    /// The step of that path, where it made sure of something again that does not hold, although another one is due for
    /// that: a journal may have been written when these were asked in another order.
    pub(super) fn made_sure_of(&self, due: &Due<'l>, path: &str) -> Option<Due<'l>> {
        due.again_for.as_ref()?;
        let established = self.standing.established_by.iter();
        let mut open = established.filter(|(what, by)| *by == path && !self.held.contains(*what));
        let (missing, _) = open.next()?;
        Some(Due {
            path: path.to_owned(),
            step: self.step_at(path).ok()?,
            again_for: Some(missing.clone()),
            needed_by: Some(due.path.clone()),
        })
    }

    /// Before anything that hands, a rest or a look around make sure of again, the key is put away, where a step of its
    /// own has done that before.
    fn key_first(&self, due: &Due<'_>, missing: &Condition) -> Option<(Condition, String)> {
        let key = Condition(KEY.to_owned());
        let later = looked_after(missing) > looked_after(&key);
        let path = self.puts_key_away().filter(|_| later)?;
        (due.again_for.as_ref() != Some(&key)).then(|| (key, path.to_owned()))
    }

    /// The step of its own that has put the key away before, where the key is not away now.
    fn puts_key_away(&self) -> Option<&str> {
        let key = Condition(KEY.to_owned());
        if self.held.contains(&key) {
            return None;
        }
        let path = self.standing.established_by.get(&key)?;
        let step = self.step_at(path).ok()?;
        let only = step.establishes.len() == 1 && step.restores.is_empty();
        only.then_some(path.as_str())
    }

    /// Whether the key is not away, where it has been before.
    pub(crate) fn key_is_in(&self) -> bool {
        self.puts_key_away().is_some()
    }

    /// Whether engine and key have to be made sure of before hands put anything back: the key was away in this job,
    /// and is not now, so that the engine may even run.
    pub(crate) fn engine_may_run(&self) -> bool {
        let key = Condition(KEY.to_owned());
        self.standing.established_by.contains_key(&key) && !self.held.contains(&key)
    }

    /// Whether the key may be in: it was away before, and is not now, or the open step wants it in.
    pub(crate) fn key_may_be_in(&self) -> bool {
        let key = Condition(KEY.to_owned());
        let wanted = || self.due().is_ok_and(|due| due.step.revokes.contains(&key));
        let was_away = self.standing.established_by.contains_key(&key);
        was_away && (!self.held.contains(&key) || wanted())
    }

    /// The key is out of the vehicle again.
    pub(super) fn key_came_out(&mut self) {
        self.held.insert(Condition(KEY.to_owned()));
    }

    /// The step of that path, or where it looks around only, the one that comes after that by yes.
    pub(crate) fn after_looking(&self, path: &str) -> Result<Option<&'l Step<StepIndex>>, Astray> {
        let (at, procedure) = self.index_of(path)?;
        let mut step = procedure.steps.get(at.0);
        for _ in 0..LOOKED.len() {
            step = match step {
                Some(Step {
                    question: Question::Confirm { yes, .. },
                    ..
                }) if step.is_some_and(looks_around) => procedure.steps.get(yes.0),
                step => return Ok(step),
            };
        }
        Ok(step)
    }

    /// The step that establishes a condition: the one that did, else one of the same procedure.
    fn establisher(&self, condition: &Condition, needed_by: &str) -> Result<String, Astray> {
        if let Some(path) = self.standing.established_by.get(condition) {
            return Ok(path.clone());
        }
        let (scope, _) = places::split(needed_by);
        self.procedure_of(scope)?
            .steps
            .iter()
            .find(|step| step.establishes.contains(condition))
            .map(|step| places::joined(scope, &step.id))
            .ok_or_else(|| Astray::Unproved {
                step: needed_by.to_owned(),
                condition: condition.0.clone(),
            })
    }
}

/// Where a condition stands among those that are to be made sure of.
pub(crate) fn looked_after(condition: &Condition) -> usize {
    let name = condition.0.as_str();
    if let Some(place) = FIRST.iter().position(|first| *first == name) {
        return place;
    }
    // twice the place leaves room for the rest between proof and look around
    let last = match last_looked_after(name) {
        0 if name == RESTED => 3,
        place => 2 * place,
    };
    FIRST.len() + last
}

/// Whether a step turns the starter.
pub(crate) fn turns_starter(step: &Step<StepIndex>) -> bool {
    let turns = [Work::ProvingCrank, Work::Crank, Work::CrankOpenCylinder];
    step.work.iter().any(|work| turns.contains(work))
}

/// Whether a step does nothing but look around.
pub(crate) fn looks_around(step: &Step<StepIndex>) -> bool {
    let mut established = step.establishes.iter();
    !step.establishes.is_empty() && established.all(is_looked)
}

/// Whether a condition is made sure of by looking around.
pub(crate) fn is_looked(condition: &Condition) -> bool {
    LOOKED.contains(&condition.0.as_str())
}
