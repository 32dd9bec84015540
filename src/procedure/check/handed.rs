//! What callers hand over for an input: where it is not what the called procedure reads, that is told at the caller.

use super::kinds::{Kind, kind};
use super::misfit::Wanted;
use crate::procedure::library::{Sheet, Sheets};
use crate::procedure::model::{Position, Question, Step, ValuePath};
use crate::procedure::problem::Findings;

/// Why a value that does not fit is a problem.
pub(super) const HALT: &str = "The job would come to a halt there, with the engine half opened.";

/// A value that a caller hands over for an input.
struct Handed<'a, T> {
    caller: &'a Sheet<T>,
    number: usize,
    /// The procedure that it calls, and the input's name there.
    callee: String,
    input: String,
    path: &'a ValuePath,
    kind: Kind,
}

/// Report what callers hand over for the input that is read at a place of a sheet, where it is not what is wanted there.
/// Given back is what is to be said at that place, where the reading is what is wrong.
pub(super) fn check<T>(
    sheet: &Sheet<T>,
    path: &ValuePath,
    wanted: &Wanted<'_>,
    read_at: &Position,
    sheets: &Sheets<T>,
    findings: &mut Findings,
) -> Option<(String, String)> {
    for handed in over(&sheet.procedure.name, &path.of, sheets) {
        if wanted.accepts(&handed.kind, false) {
            continue;
        }
        // what fits elsewhere in that procedure is read wrongly here
        if read_as(sheet, path).any(|other| other.accepts(&handed.kind, false))
            || wanted.is_series()
        {
            return Some(wanted.told(path, &handed.kind));
        }
        at_caller(&handed, wanted, read_at, sheets, findings);
    }
    None
}

/// One problem of each key under `with`, however often the called procedure reads it.
fn at_caller<T>(
    handed: &Handed<'_, T>,
    wanted: &Wanted<'_>,
    read_at: &Position,
    sheets: &Sheets<T>,
    findings: &mut Findings,
) {
    let step = &handed.caller.procedure.steps[handed.number];
    let part = format!("with/{}", handed.input);
    let place = handed.caller.places.of(handed.number, step, &part);
    let must = format!("`{}` of `{}` must be", handed.input, handed.callee);
    let told = |p: &crate::procedure::Problem| p.position == place && p.message.starts_with(&must);
    if findings.list.iter().any(told) {
        return;
    }
    let (message, mut remedy) = wanted.told_of(&must, handed.path, &handed.kind);
    let other = handed_with(step).find(|(_, path)| {
        let kind = kind(path, handed.caller, sheets);
        matches!(kind, Ok(Some(kind)) if wanted.accepts(&kind, false))
    });
    if let Some((key, path)) = other {
        remedy =
            format!("`{path}` is that, and is handed over as `{key}`: the two may be mixed up.");
    }
    remedy += &format!(" It is read at {}:{}.", read_at.file, read_at.line);
    findings.flaw_of(&step.id, &place, message, HALT, remedy);
}

fn handed_with<T>(step: &Step<T>) -> impl Iterator<Item = (&String, &ValuePath)> {
    let with = match &step.question {
        Question::Call { with, .. } => Some(with),
        _ => None,
    };
    with.into_iter().flatten()
}

/// All that the computations of a sheet want of one of its inputs.
fn read_as<'a, T>(sheet: &'a Sheet<T>, path: &'a ValuePath) -> impl Iterator<Item = Wanted<'a>> {
    let computed = sheet
        .procedure
        .steps
        .iter()
        .filter_map(|step| match &step.question {
            Question::Compute {
                computation, with, ..
            } => Some((*computation, with)),
            _ => None,
        });
    computed.flat_map(move |(computation, with)| {
        let inputs = computation.inputs().into_iter();
        let reads = inputs.filter(move |input| with.get(input.name) == Some(path));
        reads.map(move |input| Wanted::Input(input.name, input.kind, computation))
    })
}

/// What callers hand over for an input, through calls of calls. Each procedure is asked once on each way up, of which
/// there are as many as ways of calls; rings were refused before.
fn over<'a, T>(procedure: &str, input: &str, sheets: &'a Sheets<T>) -> Vec<Handed<'a, T>> {
    let mut found = Vec::new();
    let mut asked = vec![(procedure.to_owned(), input.to_owned())];
    let mut next = 0;
    while let Some((callee, input)) = asked.get(next).cloned() {
        next += 1;
        for caller in sheets.values() {
            for (number, step) in caller.procedure.steps.iter().enumerate() {
                let calls = matches!(&step.question, Question::Call { procedure, .. } if *procedure == callee);
                let Some((_, path)) = handed_with(step).find(|(name, _)| calls && **name == input)
                else {
                    continue;
                };
                match kind(path, caller, sheets) {
                    Ok(Some(Kind::Input)) => {
                        let above = (caller.procedure.name.clone(), path.of.clone());
                        if !asked.contains(&above) {
                            asked.push(above);
                        }
                    }
                    Ok(Some(kind)) => found.push(Handed {
                        caller,
                        number,
                        callee: callee.clone(),
                        input: input.clone(),
                        path,
                        kind,
                    }),
                    _ => {}
                }
            }
        }
    }
    found
}
