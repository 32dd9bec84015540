//! Of what kind the value at a path is.

use super::grid::Grid;
use crate::procedure::computation::{Computation, Domain};
use crate::procedure::library::{Sheet, Sheets};
use crate::procedure::model::{Interval, Question, ValuePath};
use crate::procedure::nearest::suggestion;
use crate::procedure::places::FILE;
use crate::quantity::Unit;

/// The fact of a call that names the outcome that it came to.
pub(crate) const OUTCOME: &str = "outcome";

/// The kind of a value.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Kind {
    /// One of these names.
    Name(Vec<String>),
    /// A number.
    Number(Unit, Option<Grid>),
    /// A text.
    Text,
    /// A capture.
    Capture,
    /// Everything that a computation gave.
    Result(Computation),
    /// What a calling procedure hands over.
    Input,
}

/// Why a path leads to no value.
pub(crate) enum NoValue {
    /// Message and remedy.
    Told(String, String),
    /// Neither a step nor an input has this name.
    Unknown(String),
}

/// Problems up to which the nearest name is looked for; in a file with more, something else is wrong.
const MOST_SUGGESTED: usize = 100;

impl NoValue {
    /// Message and remedy, in a sheet in which so many problems were found before.
    pub(crate) fn told<T>(self, sheet: &Sheet<T>, before: usize) -> (String, String) {
        let name = match self {
            NoValue::Told(message, remedy) => return (message, remedy),
            NoValue::Unknown(name) => name,
        };
        let remedy = if before < MOST_SUGGESTED {
            let ids = sheet.procedure.steps.iter().map(|step| step.id.as_str());
            let inputs = sheet.procedure.takes.iter().map(String::as_str);
            match suggestion(&name, ids.chain(inputs)) {
                near if near.starts_with("Did") => near,
                _ => format!(
                    "Check the spelling. What a caller hands over stands before the steps: `takes: [{name}]`."
                ),
            }
        } else {
            "Check the spelling, or add it.".to_owned()
        };
        (unknown(&name), remedy)
    }
}

/// What is said of a name that leads to no value.
pub(crate) fn unknown(name: &str) -> String {
    format!("`{name}` is neither a step nor an input")
}

/// How a value of a called procedure is named, where its own name of a step stands in the caller.
fn of_called<T>(name: &str, sheet: &Sheet<T>, sheets: &Sheets<T>) -> Option<String> {
    sheet.procedure.steps.iter().find_map(|step| {
        let Question::Call { procedure, .. } = &step.question else {
            return None;
        };
        let callee = &sheets.get(procedure)?.procedure;
        let mut gives = callee.gives.iter();
        let given = gives.find(|(given, path)| *given == name || path.fact.is_none() && path.of == name);
        if let Some((given, _)) = given {
            return Some(format!(
                "`{procedure}` gives it: write `{}.{given}`.",
                step.id
            ));
        }
        callee.steps.iter().find(|step| step.id == name)?;
        Some(format!(
            "It is a step of `{procedure}`, which does not hand it out: write `{name}: {name}` under its `gives`, and \
             `{}.{name}` here.",
            step.id
        ))
    })
}

/// The kind of the value at a path. `Ok(None)` where another file would have to be readable first.
pub(crate) fn kind<T>(
    path: &ValuePath,
    sheet: &Sheet<T>,
    sheets: &Sheets<T>,
) -> Result<Option<Kind>, NoValue> {
    let procedure = &sheet.procedure;
    if procedure.takes.contains(&path.of) {
        return match &path.fact {
            None => Ok(Some(Kind::Input)),
            Some(_) => Err(NoValue::Told(
                format!("the input `{}` has no facts", path.of),
                format!("Write `{}` alone.", path.of),
            )),
        };
    }
    let Some(step) = procedure.steps.iter().find(|step| step.id == path.of) else {
        if sheet.places.is_declared(&path.of) || sheet.places.in_doubt(FILE, "takes") {
            return Ok(None);
        }
        return Err(match of_called(&path.of, sheet, sheets) {
            Some(remedy) => NoValue::Told(unknown(&path.of), remedy),
            None => NoValue::Unknown(path.of.clone()),
        });
    };
    if let Some(fact) = &path.fact {
        return fact_kind(&step.question, &step.id, fact, sheets);
    }
    match &step.question {
        Question::Choose { choices, .. } => {
            let names = choices.iter().map(|choice| choice.name.clone());
            Ok(Some(Kind::Name(names.collect())))
        }
        Question::Measure { form, .. } => {
            let range = &form.possible;
            let grid = Grid::new(form.resolution, range.least, range.greatest);
            Ok(Some(Kind::Number(form.unit, grid)))
        }
        Question::Note { .. } => Ok(Some(Kind::Text)),
        Question::Capture { .. } => Ok(Some(Kind::Capture)),
        Question::Compute { computation, .. } => Ok(Some(Kind::Result(*computation))),
        Question::Call { procedure, .. } if sheets.contains_key(procedure) => {
            let gives = sheets.get(procedure).map(|sheet| &sheet.procedure.gives);
            let given = gives
                .into_iter()
                .flat_map(|gives| gives.keys().map(String::as_str));
            let values = given
                .chain([OUTCOME])
                .map(|name| format!("`{}.{name}`", step.id));
            Err(NoValue::Told(
                format!("step `{}` has no value", step.id),
                format!(
                    "Name one that its call gives: {}.",
                    values.collect::<Vec<_>>().join(", ")
                ),
            ))
        }
        Question::Confirm { .. } | Question::Call { .. } | Question::Outcome { .. } => {
            Err(NoValue::Told(
                format!("step `{}` has no value", step.id),
                "Name a step that measures, asks, captures or computes something.".to_owned(),
            ))
        }
    }
}

/// The kind of a fact of a computation or a call.
pub(crate) fn fact_kind<T>(
    question: &Question<T>,
    id: &str,
    fact: &str,
    sheets: &Sheets<T>,
) -> Result<Option<Kind>, NoValue> {
    match question {
        Question::Compute { computation, .. } => {
            let facts = computation.facts();
            let Some(found) = facts.iter().find(|known| known.name == fact) else {
                return Err(NoValue::Told(
                    format!("`{}` gives no fact `{fact}`", computation.name()),
                    suggestion(fact, facts.iter().map(|known| known.name)),
                ));
            };
            Ok(Some(domain_kind(&found.domain)))
        }
        Question::Call { procedure, .. } => call_kind(procedure, fact, sheets),
        _ => Err(NoValue::Told(
            format!("step `{id}` has no facts"),
            format!("Write `{id}` alone."),
        )),
    }
}

fn call_kind<T>(callee: &str, fact: &str, sheets: &Sheets<T>) -> Result<Option<Kind>, NoValue> {
    let Some(sheet) = sheets.get(callee) else {
        return Ok(None);
    };
    let callee = &sheet.procedure;
    // an outcome, or a value, that could not be read has been told
    let unread = match fact {
        OUTCOME => callee.steps.len() < sheet.places.declared().count(),
        _ => sheet.places.in_doubt(FILE, "gives"),
    };
    if unread {
        return Ok(None);
    }
    if fact == OUTCOME {
        let outcomes = callee
            .steps
            .iter()
            .filter(|step| matches!(step.question, Question::Outcome { .. }));
        return Ok(Some(Kind::Name(outcomes.map(|s| s.id.clone()).collect())));
    }
    let Some(path) = callee.gives.get(fact) else {
        let known = callee.gives.keys().map(String::as_str).chain([OUTCOME]);
        let known: Vec<&str> = known.collect();
        let mut remedy = suggestion(fact, known);
        if callee.steps.iter().any(|step| step.id == fact) {
            remedy += &format!(
                " Or hand that step's value out: write `gives: {{{fact}: {fact}}}` before the steps of `{}`.",
                callee.name
            );
        }
        return Err(NoValue::Told(
            format!("procedure `{}` gives no value `{fact}`", callee.name),
            remedy,
        ));
    };
    // a given value that is itself wrong is reported at `gives`
    Ok(kind(path, sheet, sheets).ok().flatten())
}

fn domain_kind(domain: &Domain) -> Kind {
    match domain {
        Domain::Choice(names) => Kind::Name(names.clone()),
        Domain::Text => Kind::Text,
        Domain::Number { unit, .. } => {
            let form = domain.form();
            let grid = form.and_then(|form| {
                let Interval { least, greatest } = form.possible;
                Grid::new(form.resolution, least, greatest)
            });
            Kind::Number(*unit, grid)
        }
    }
}
