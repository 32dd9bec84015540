//! What a computation takes, read from the job.

use std::collections::BTreeMap;

use crate::advise::{self, ClampAtHand};
use crate::cranking::answer::Analysis;
use crate::followup::given::{Given, Inputs as Answers, float};
use crate::followup::limits::ShopLimits;
use crate::procedure::computation::{Computation, Input, InputKind};
use crate::procedure::model::ValuePath;
use crate::quantity::{Measured, Unit};
use crate::run::event::{CaptureFile, Event};
use crate::run::state::State;
use crate::run::value::Value;
use crate::run::walk::Walk;
use crate::run::{planning, vehicle};

/// The inputs of a compute step that is due.
pub(super) struct Inputs<'a, 'l> {
    pub(super) walk: &'a Walk<'l>,
    pub(super) state: &'a State,
    /// The procedure's place in the job, which the paths start from.
    pub(super) scope: &'a str,
    pub(super) with: &'a BTreeMap<String, ValuePath>,
}

impl Inputs<'_, '_> {
    pub(super) fn limits(&self) -> ShopLimits {
        let opening = self.state.opening();
        opening.map_or_else(ShopLimits::default, |o| o.limits)
    }

    /// Engine, speed and scope, as a plan takes them.
    pub(super) fn instruments(&self) -> Result<advise::Given, String> {
        let engine = vehicle::engine(self.walk.lines())?;
        let system = planning::system(self.walk.lines());
        let mut given = planning::given(engine, system, self.limits().starter);
        given.rpm = float(self.number("speed", Unit::Rpm)?.value);
        given.scope.bits = float(self.number("bits", Unit::Count)?.value) as u32;
        Ok(given)
    }

    /// The clamp at hand, as its plate says.
    pub(super) fn clamp(&self) -> Result<ClampAtHand, String> {
        Ok(ClampAtHand {
            name: None,
            range_a: float(self.number("rating", Unit::Ampere)?.value),
            mv_per_ampere: float(self.number("output", Unit::Millivolt)?.value),
            jaw_mm: None, // as the shop's list has it, or seen at the cable
        })
    }

    fn path(&self, name: &str) -> Result<&ValuePath, String> {
        let path = self.with.get(name);
        path.ok_or_else(|| format!("the computation is given no {name:?}"))
    }

    pub(super) fn value(&self, name: &str) -> Result<&Value, String> {
        let path = self.path(name)?;
        let value = self.walk.read(self.scope, path);
        value.ok_or_else(|| format!("{name:?} comes from {path}, which has no value yet"))
    }

    pub(super) fn capture(&self, name: &str) -> Result<CaptureFile, String> {
        match self.value(name)? {
            Value::Capture(file) => Ok(file.clone()),
            other => Err(format!("{name:?} is no capture but {}", other.shown())),
        }
    }

    pub(super) fn number(&self, name: &str, unit: Unit) -> Result<Measured, String> {
        measured(name, self.value(name)?, unit)
    }

    /// All that a computation takes from answers.
    pub(super) fn answers(&self, computation: Computation) -> Result<Answers, String> {
        let mut given = BTreeMap::new();
        for Input { name, kind } in computation.inputs() {
            let value = match kind {
                InputKind::Number(unit) => Given::Number(self.number(name, unit)?),
                InputKind::Series(unit) => Given::Series(self.series(name, unit)?),
                InputKind::Name(_) => Given::Name(self.value(name)?.name()),
                InputKind::Text => Given::Text(self.value(name)?.shown()),
                InputKind::Capture | InputKind::Result(_) => continue,
            };
            given.insert(name, value);
        }
        Ok(Answers(given))
    }

    /// What a step measured at each of its visits.
    fn series(&self, name: &str, unit: Unit) -> Result<Vec<Measured>, String> {
        let numbers = self.walk.series(self.scope, &self.path(name)?.of).iter();
        let converted = numbers.map(|number| number.convert(unit));
        converted
            .collect::<Result<_, _>>()
            .map_err(|error| error.to_string())
    }

    /// The analysis that the step of that input made.
    pub(super) fn analysis(&self, name: &str) -> Result<Box<Analysis>, String> {
        let path = self.path(name)?;
        let step = self.walk.origin(self.scope, path);
        let made = self.walk.past().iter().rev();
        let line = made
            .filter(|past| past.step == step && !past.superseded)
            .map(|past| past.line)
            .next();
        let event = line.and_then(|line| self.state.events().get(line - 1));
        match event.map(|stamped| &stamped.event) {
            Some(Event::Computed {
                analysis: Some(analysis),
                ..
            }) => Ok(analysis.clone()),
            _ => Err(format!(
                "{name:?} comes from {path}, which analysed nothing yet"
            )),
        }
    }
}

/// A value as a number in a unit; a fact such as "113 psi" is one too.
fn measured(name: &str, value: &Value, unit: Unit) -> Result<Measured, String> {
    let number = match value {
        Value::Number(number) => *number,
        Value::Text(text) => Measured::parse(text, unit).map_err(|error| error.to_string())?,
        other => return Err(format!("{name:?} is no number but {}", other.shown())),
    };
    number.convert(unit).map_err(|error| error.to_string())
}
