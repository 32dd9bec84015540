//! Places: arriving at steps, entering called procedures and coming back from them.

use std::collections::BTreeMap;

use super::{Astray, Due, MOST_SILENT_STEPS, Place, Returned, Scope, Turn, Walk};
use crate::procedure::Way;
use crate::procedure::model::{Procedure, Question, Step, StepIndex, ValuePath};
use crate::quantity::Measured;
use crate::run::value::Value;

/// The fact of a call that names the called procedure's outcome step.
pub(super) const OUTCOME: &str = "outcome";

/// Scope and step id of a path.
pub(crate) fn split(path: &str) -> (&str, &str) {
    path.rsplit_once('/').unwrap_or(("", path))
}

/// Path of a step in a scope.
pub(crate) fn joined(scope: &str, id: &str) -> String {
    if scope.is_empty() {
        id.to_owned()
    } else {
        format!("{scope}/{id}")
    }
}

impl<'l> Walk<'l> {
    /// Begin a procedure at its first step.
    pub(super) fn enter(
        &mut self,
        scope: &str,
        procedure: &str,
        inputs: BTreeMap<String, Value>,
    ) -> Result<(), Astray> {
        self.procedure_named(procedure)?;
        let inside = format!("{scope}/");
        self.standing
            .scopes
            .retain(|known, _| known != scope && (scope.is_empty() || !known.starts_with(&inside)));
        self.standing.scopes.insert(
            scope.to_owned(),
            Scope {
                procedure: procedure.to_owned(),
                inputs,
                ..Scope::default()
            },
        );
        self.standing.stack.push(Place {
            scope: scope.to_owned(),
            procedure: procedure.to_owned(),
            at: StepIndex(0),
        });
        self.arrive(StepIndex(0))
    }

    /// Come to a step of the innermost procedure; where it was visited often enough, to the one that
    /// stands in for it.
    pub(super) fn arrive(&mut self, target: StepIndex) -> Result<(), Astray> {
        let Some(place) = self.standing.stack.last() else {
            return Ok(());
        };
        let scope = place.scope.clone();
        let procedure = self.procedure_named(&place.procedure)?;
        let mut at = target;
        for _ in 0..MOST_SILENT_STEPS {
            let step = step_of(procedure, at)?;
            let known = self.standing.scopes.entry(scope.clone()).or_default();
            let visits = known.visits.entry(at).or_default();
            *visits += 1;
            match &step.at_most {
                Some(bound) if *visits > bound.times => {
                    let then = bound.then;
                    self.trail.push(Turn {
                        step: joined(&scope, &step.id),
                        procedure: procedure.name.clone(),
                        at,
                        way: Some(Way::PassedOver),
                    });
                    at = then;
                }
                _ => {
                    self.trail.push(Turn {
                        step: joined(&scope, &step.id),
                        procedure: procedure.name.clone(),
                        at,
                        way: None,
                    });
                    if let Some(place) = self.standing.stack.last_mut() {
                        place.at = at;
                    }
                    return Ok(());
                }
            }
        }
        Err(Astray::Endless(joined(&scope, &step_of(procedure, at)?.id)))
    }

    /// Go on through whatever asks nothing: calls, and outcomes of called procedures.
    pub(super) fn settle(&mut self) -> Result<(), Astray> {
        for _ in 0..MOST_SILENT_STEPS {
            let due = self.due()?;
            match &due.step.question {
                Question::Call {
                    procedure, with, ..
                } => {
                    if due.again_for.is_some() {
                        self.standing.stack = self.stack_of(&due.path)?;
                    }
                    self.lose(&due.step.revokes);
                    let (scope, _) = split(&due.path);
                    let inputs = self.read_all(scope, with);
                    self.enter(&due.path, procedure, inputs)?;
                }
                Question::Outcome { .. } if self.standing.stack.len() > 1 => self.leave(&due)?,
                _ => return Ok(()),
            }
        }
        Err(Astray::Endless(self.here()?))
    }

    /// A called procedure has come to its outcome: hand it back to the call.
    fn leave(&mut self, due: &Due<'l>) -> Result<(), Astray> {
        let (scope, id) = split(&due.path);
        if let Question::Outcome {
            kind,
            finding,
            advice,
        } = &due.step.question
        {
            self.returned.push(Returned {
                line: self.line,
                step: due.path.clone(),
                kind: *kind,
                finding: self.filled(scope, finding),
                advice: advice.as_ref().map(|text| self.filled(scope, text)),
            });
        }
        let gives = &self.procedure_of(scope)?.gives;
        let mut facts = self.read_all(scope, gives);
        facts.insert(OUTCOME.to_owned(), Value::Text(id.to_owned()));
        self.standing.stack.pop();
        let call = Due {
            path: scope.to_owned(),
            step: self.step_at(scope)?,
            again_for: None,
            needed_by: None,
        };
        self.finish(&call, Value::Facts(facts))
    }

    fn read_all(
        &self,
        scope: &str,
        paths: &BTreeMap<String, ValuePath>,
    ) -> BTreeMap<String, Value> {
        paths
            .iter()
            .filter_map(|(name, path)| Some((name.clone(), self.read(scope, path)?.clone())))
            .collect()
    }

    /// A value as a procedure sees it.
    pub(crate) fn read(&self, scope: &str, path: &ValuePath) -> Option<&Value> {
        self.find(scope, &path.of)?.fact(path.fact.as_deref())
    }

    /// Path of the step that a value comes from, through what called procedures give.
    pub(crate) fn origin(&self, scope: &str, path: &ValuePath) -> String {
        let here = joined(scope, &path.of);
        let called = self.standing.scopes.get(&here);
        let callee = called.and_then(|called| self.procedure_named(&called.procedure).ok());
        let given = callee.and_then(|callee| callee.gives.get(path.fact.as_deref()?));
        match given {
            Some(inner) => self.origin(&here, inner),
            None => here,
        }
    }

    /// The numbers that a step measured since its procedure was entered.
    pub(crate) fn series(&self, scope: &str, of: &str) -> &[Measured] {
        let known = self.standing.scopes.get(scope);
        let series = known.and_then(|known| known.series.get(of));
        series.map_or(&[], Vec::as_slice)
    }

    pub(super) fn find(&self, scope: &str, of: &str) -> Option<&Value> {
        let known = self.standing.scopes.get(scope)?;
        known.values.get(of).or_else(|| known.inputs.get(of))
    }

    /// Path of the step at which the innermost procedure stands.
    pub(super) fn here(&self) -> Result<String, Astray> {
        let place = self
            .standing
            .stack
            .last()
            .ok_or(Astray::NotOpened { line: 1 })?;
        let step = step_of(self.procedure_named(&place.procedure)?, place.at)?;
        Ok(joined(&place.scope, &step.id))
    }

    pub(in crate::run) fn procedure_of(
        &self,
        scope: &str,
    ) -> Result<&'l Procedure<StepIndex>, Astray> {
        let known = self.standing.scopes.get(scope);
        self.procedure_named(
            &known
                .ok_or_else(|| Astray::NoStep(scope.to_owned()))?
                .procedure,
        )
    }

    /// The step of a path.
    pub(crate) fn step_at(&self, path: &str) -> Result<&'l Step<StepIndex>, Astray> {
        let (at, procedure) = self.index_of(path)?;
        step_of(procedure, at)
    }

    /// A step's number, and the procedure that it stands in.
    pub(in crate::run) fn index_of(
        &self,
        path: &str,
    ) -> Result<(StepIndex, &'l Procedure<StepIndex>), Astray> {
        let (scope, id) = split(path);
        let procedure = self.procedure_of(scope)?;
        let at = procedure.steps.iter().position(|step| step.id == id);
        let at = at.ok_or_else(|| Astray::NoStep(path.to_owned()))?;
        Ok((StepIndex(at), procedure))
    }

    /// The procedures gone through where a step is the innermost place.
    pub(super) fn stack_of(&self, path: &str) -> Result<Vec<Place>, Astray> {
        let mut stack = Vec::new();
        let mut rest = path;
        loop {
            let (scope, _) = split(rest);
            let (at, procedure) = self.index_of(rest)?;
            stack.push(Place {
                scope: scope.to_owned(),
                procedure: procedure.name.clone(),
                at,
            });
            if scope.is_empty() {
                stack.reverse();
                return Ok(stack);
            }
            rest = scope;
        }
    }
}

fn step_of(procedure: &Procedure<StepIndex>, at: StepIndex) -> Result<&Step<StepIndex>, Astray> {
    procedure
        .steps
        .get(at.0)
        .ok_or_else(|| Astray::NoStep(format!("{} number {}", procedure.name, at.0)))
}
