//! What a computation is given: the answers and facts that a procedure hands over, by name.

use std::collections::BTreeMap;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use thiserror::Error;

use crate::quantity::Measured;

/// Something that is not there, or not of its kind. The checks of procedures prevent it; a library built
/// by hand meets it.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("the computation is given no {kind} {name:?}; hand it over under `with:`")]
pub struct NotGiven {
    /// Its name.
    pub name: String,
    /// What it must be.
    pub kind: &'static str,
}

/// One value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Given {
    /// A number, in the unit that the computation declares.
    Number(Measured),
    /// All numbers that a step measured, in order, in that unit.
    Series(Vec<Measured>),
    /// A choice.
    Name(String),
    /// A text.
    Text(String),
}

/// All values by name.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Inputs(pub BTreeMap<&'static str, Given>);

impl Inputs {
    /// A number with its unit.
    ///
    /// # Errors
    /// Where it is not there.
    pub fn measured(&self, name: &str) -> Result<Measured, NotGiven> {
        match self.0.get(name) {
            Some(Given::Number(number)) => Ok(*number),
            _ => Err(missing(name, "number")),
        }
    }

    /// A number, in the unit that the computation declares.
    ///
    /// # Errors
    /// Where it is not there.
    pub fn number(&self, name: &str) -> Result<f64, NotGiven> {
        Ok(float(self.measured(name)?.value))
    }

    /// A series, in the unit that the computation declares.
    ///
    /// # Errors
    /// Where it is not there.
    pub fn series(&self, name: &str) -> Result<Vec<Decimal>, NotGiven> {
        match self.0.get(name) {
            Some(Given::Series(numbers)) => Ok(numbers.iter().map(|n| n.value).collect()),
            _ => Err(missing(name, "series of readings")),
        }
    }

    /// A choice.
    ///
    /// # Errors
    /// Where it is not there.
    pub fn name(&self, name: &str) -> Result<&str, NotGiven> {
        match self.0.get(name) {
            Some(Given::Name(chosen)) => Ok(chosen),
            _ => Err(missing(name, "choice")),
        }
    }

    /// A text.
    ///
    /// # Errors
    /// Where it is not there.
    pub fn text(&self, name: &str) -> Result<&str, NotGiven> {
        match self.0.get(name) {
            Some(Given::Text(text)) => Ok(text),
            _ => Err(missing(name, "text")),
        }
    }
}

fn missing(name: &str, kind: &'static str) -> NotGiven {
    NotGiven {
        name: name.to_owned(),
        kind,
    }
}

/// Every decimal has a nearest double, so nothing is ever missing here.
#[must_use]
pub fn float(value: Decimal) -> f64 {
    value.to_f64().unwrap_or(f64::NAN)
}
