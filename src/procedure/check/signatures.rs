//! Do values fit where they are handed over: the inputs of computations and called procedures, what a
//! procedure gives, what a text shows?

use super::braces;
use super::handed::{self, HALT};
use super::kinds::{self, Kind, NoValue, kind};
use super::misfit::Wanted;
use crate::procedure::computation::Computation;
use crate::procedure::library::{Sheet, Sheets};
use crate::procedure::model::{Question, Step, ValuePath};
use crate::procedure::nearest::suggestion;
use crate::procedure::places::FILE;
use crate::procedure::problem::{Findings, Problem};

/// One step under check.
struct At<'a, T> {
    sheet: &'a Sheet<T>,
    sheets: &'a Sheets<T>,
    number: usize,
    step: &'a Step<T>,
    findings: &'a mut Findings,
}

pub(crate) fn check<T>(sheet: &Sheet<T>, sheets: &Sheets<T>, findings: &mut Findings) {
    own_values(sheet, sheets, findings);
    for (number, step) in sheet.procedure.steps.iter().enumerate() {
        let mut at = At {
            sheet,
            sheets,
            number,
            step,
            findings,
        };
        for (key, path) in braces::shown(step) {
            at.fits(key, &path, &Wanted::Shown);
        }
        match &step.question {
            _ if sheet.places.in_doubt(number, "with") => {}
            Question::Compute { computation, .. } => at.computation(*computation),
            Question::Call { procedure, .. } => at.call(procedure),
            _ => {}
        }
    }
}

/// The names that a procedure takes and gives.
fn own_values<T>(sheet: &Sheet<T>, sheets: &Sheets<T>, findings: &mut Findings) {
    let procedure = &sheet.procedure;
    let clash = |step: &&Step<T>| procedure.takes.contains(&step.id);
    if let Some(step) = procedure.steps.iter().find(clash) {
        findings.flaw_of(
            &step.id,
            &step.position,
            format!("step `{}` has the name of an input", step.id),
            "Nobody could tell which of the two values is meant.",
            "Rename one of the two.".to_owned(),
        );
    }
    let Some(first) = procedure.steps.first() else {
        return;
    };
    for (name, path) in &procedure.gives {
        if let Err(none) = kind(path, sheet, sheets) {
            let (message, remedy) = none.told(sheet, findings.list.len());
            let message = format!("`gives: {name}`: {message}");
            let position = sheet.places.of(0, first, &format!("gives/{name}"));
            findings.doubt(&position, message, "", remedy);
        }
    }
}

impl<T> At<'_, T> {
    /// Report where a value is not there or not of the kind that is wanted.
    fn fits(&mut self, part: &str, path: &ValuePath, wanted: &Wanted<'_>) {
        let (sheet, number, found) = (self.sheet, self.number, self.findings.list.len());
        let position = || braces::place(sheet, number, part, path, found);
        let misfit = match kind(path, self.sheet, self.sheets) {
            Ok(Some(Kind::Input)) => {
                handed::check(sheet, path, wanted, &position(), self.sheets, self.findings)
            }
            Ok(Some(kind)) if !wanted.accepts(&kind, path.fact.is_none()) => {
                Some(wanted.told(path, &kind))
            }
            Ok(_) => None,
            Err(none) => {
                let unknown = matches!(none, NoValue::Unknown(_));
                let chosen = wanted.choice_for(path).filter(|_| unknown);
                let told = || none.told(self.sheet, self.findings.list.len());
                let (message, remedy) = chosen.unwrap_or_else(told);
                self.findings.doubt(&position(), message, "", remedy);
                return;
            }
        };
        if let Some((message, remedy)) = misfit {
            self.findings
                .flaw_of(&self.step.id, &position(), message, HALT, remedy);
        }
    }

    fn computation(&mut self, computation: Computation) {
        let Question::Compute { with, .. } = &self.step.question else {
            return;
        };
        let inputs = computation.inputs();
        let names: Vec<&str> = inputs.iter().map(|input| input.name).collect();
        self.names(with.keys(), &names, computation.name());
        for input in inputs {
            let Some(path) = with.get(input.name) else {
                continue;
            };
            let wanted = Wanted::Input(input.name, input.kind, computation);
            self.fits(&format!("with/{}", input.name), path, &wanted);
        }
    }

    fn call(&mut self, callee: &str) {
        let Question::Call { with, .. } = &self.step.question else {
            return;
        };
        let Some(callee) = self.sheets.get(callee) else {
            return;
        };
        let takes: Vec<&str> = callee.procedure.takes.iter().map(String::as_str).collect();
        if !callee.places.in_doubt(FILE, "takes") {
            self.names(with.keys(), &takes, &callee.procedure.name);
        }
        for (name, path) in with {
            self.fits(&format!("with/{name}"), path, &Wanted::Anything);
        }
    }

    /// Every input given, no other.
    fn names<'n>(
        &mut self,
        given: impl Iterator<Item = &'n String> + Clone,
        wanted: &[&str],
        of: &str,
    ) {
        for name in given
            .clone()
            .filter(|name| !wanted.contains(&name.as_str()))
        {
            let part = format!("with/{name}");
            let position = self.sheet.places.of(self.number, self.step, &part);
            let message = format!("`{of}` takes no `{name}`");
            let remedy = suggestion(name, wanted.iter().copied());
            self.findings
                .flaw_of(&self.step.id, &position, message, "", remedy);
        }
        for name in wanted.iter().filter(|w| !given.clone().any(|g| g == *w)) {
            let remedy = format!("Add it under `with`: `{name}: step-id`.");
            let message = format!("step `{}` does not hand over `{name}`", self.step.id);
            let part = match self.step.question {
                Question::Call { .. } => "call",
                _ => "compute",
            };
            let position = self.sheet.places.of(self.number, self.step, part);
            self.findings
                .flaw_of(&self.step.id, &position, message, "", remedy);
        }
    }
}

/// What callers hand over, a procedure reads and does not take: one problem of each, in place of one at every use.
pub(crate) fn not_taken<T>(sheets: &Sheets<T>, findings: &mut Findings) {
    for caller in sheets.values() {
        for (number, step) in caller.procedure.steps.iter().enumerate() {
            let Question::Call {
                procedure, with, ..
            } = &step.question
            else {
                continue;
            };
            let Some(callee) = sheets.get(procedure).map(|sheet| &sheet.procedure) else {
                continue;
            };
            for name in with.keys().filter(|name| !callee.takes.contains(name)) {
                let unknown = kinds::unknown(name);
                let here =
                    |p: &Problem| p.position.file == callee.source.file && p.message == unknown;
                let Some(first) = findings
                    .list
                    .iter()
                    .filter(|p| here(p))
                    .map(|p| p.position.clone())
                    .min()
                else {
                    continue;
                };
                let place = caller.places.of(number, step, &format!("with/{name}"));
                let refused = format!("`{procedure}` takes no `{name}`");
                findings
                    .list
                    .retain(|p| !(here(p) || p.position == place && p.message == refused));
                findings.doubt(
                    &first,
                    format!(
                        "`{name}` is handed over by {}:{} but does not stand under `takes`",
                        place.file, place.line
                    ),
                    "What a procedure takes from its caller it names before its steps.",
                    format!(
                        "Add it before `steps`: `takes: [{}]`.",
                        with_own(&callee.takes, name)
                    ),
                );
            }
        }
    }
}

/// The inputs that a procedure has, and one more.
fn with_own(takes: &[String], name: &str) -> String {
    let all = takes.iter().map(String::as_str).chain([name]);
    all.collect::<Vec<_>>().join(", ")
}
