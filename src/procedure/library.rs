//! A procedure together with all that it calls: read, resolved, checked.

use std::collections::BTreeMap;

use super::check;
use super::load::{self, Named};
use super::model::{Library, Position, Procedure, Question, Source, StepIndex};
use super::places::Places;
use super::problem::{Findings, Problem, told_once};
use super::resolve;
use super::rules::Rules;

/// A procedure with the places of its parts.
#[derive(Debug)]
pub(crate) struct Sheet<T = StepIndex> {
    pub(crate) procedure: Procedure<T>,
    pub(crate) places: Places,
}

/// All sheets by name, the outermost among them.
pub(crate) type Sheets<T = StepIndex> = BTreeMap<String, Sheet<T>>;

/// Read, resolve and prove the procedure of that name and all that it calls. `source` gives, for a
/// name, the file as the user knows it and its text.
///
/// # Errors
/// All problems of all files, in order of file and place.
pub fn read_library(
    name: &str,
    source: &dyn Fn(&str) -> Option<(String, String)>,
) -> Result<Library, Vec<Problem>> {
    read_library_by(&Rules::default(), name, source)
}

/// The same, proved by a shop's rules as well. What they add to the needs of work stands among the
/// needs of the steps afterwards.
///
/// # Errors
/// All problems of all files, in order of file and place.
pub fn read_library_by(
    rules: &Rules,
    name: &str,
    source: &dyn Fn(&str) -> Option<(String, String)>,
) -> Result<Library, Vec<Problem>> {
    let mut findings = Findings::default();
    let loaded = read_all(name, source, &mut findings);
    let recursive = report_recursion(name, &loaded, &mut findings);
    check::check_steps(&loaded, recursive, &mut findings);
    let starts = told_once::starts(&loaded);
    let mut sheets = Sheets::new();
    for (name, Sheet { procedure, places }) in loaded {
        if let Some(procedure) = resolve::resolve(procedure, &places, &mut findings) {
            sheets.insert(name, Sheet { procedure, places });
        }
    }
    if !findings.in_doubt && !recursive {
        check::check_ways(name, &sheets, rules, &mut findings);
    }
    if findings.list.is_empty() && sheets.contains_key(name) {
        let procedures = sheets
            .into_iter()
            .map(|(name, sheet)| (name, sheet.procedure));
        let mut library = Library {
            procedures: procedures.collect(),
        };
        rules.put_into(&mut library);
        return Ok(library);
    }
    Err(told_once::told_once(findings.list, &starts))
}

/// The file and all that it calls, directly or through others.
fn read_all(
    name: &str,
    source: &dyn Fn(&str) -> Option<(String, String)>,
    findings: &mut Findings,
) -> Sheets<Named> {
    let mut loaded = Sheets::new();
    let mut wanted: Vec<(String, Position)> = vec![(name.to_owned(), Position::default())];
    while let Some((name, caller)) = wanted.pop() {
        if loaded.contains_key(&name) {
            continue;
        }
        let Some((file, text)) = source(&name) else {
            findings.doubt(
                &caller,
                format!("there is no procedure `{name}`"),
                "A called procedure is looked for beside the file that calls it.",
                format!("Put {name}.yaml into the same folder, or correct the name."),
            );
            continue;
        };
        let Some(found) = load::load(Source { file, text }, findings) else {
            continue;
        };
        // with no step that could be read, which has been said, it tells its callers nothing
        if found.procedure.steps.is_empty() {
            continue;
        }
        wanted.extend(calls(&found).map(|(name, position)| (name.to_owned(), position)));
        loaded.insert(name, found);
    }
    loaded
}

/// The procedures that one calls, each with the place of the call.
fn calls(loaded: &Sheet<Named>) -> impl Iterator<Item = (&str, Position)> {
    loaded
        .procedure
        .steps
        .iter()
        .enumerate()
        .filter_map(|(number, step)| {
            let Question::Call { procedure, .. } = &step.question else {
                return None;
            };
            let position = loaded.places.of(number, step, "call");
            Some((procedure.as_str(), position))
        })
}

/// Refuse procedures that call themselves, through whatever others, with the whole ring.
fn report_recursion(root: &str, loaded: &Sheets<Named>, findings: &mut Findings) -> bool {
    let mut finished: Vec<&str> = Vec::new();
    let mut open: Vec<&str> = Vec::new();
    let before = findings.list.len();
    if let Some((root, _)) = loaded.get_key_value(root) {
        visit(root, loaded, &mut open, &mut finished, findings);
    }
    findings.list.len() > before
}

/// Depth first; as deep as procedures call each other, which is bounded by their number.
fn visit<'a>(
    name: &'a str,
    loaded: &'a Sheets<Named>,
    open: &mut Vec<&'a str>,
    finished: &mut Vec<&'a str>,
    findings: &mut Findings,
) {
    let Some(found) = loaded.get(name) else {
        return;
    };
    open.push(name);
    for (callee, position) in calls(found) {
        if let Some(start) = open.iter().position(|n| *n == callee) {
            let ring: Vec<&str> = open[start..].iter().copied().chain([callee]).collect();
            findings.doubt(
                &position,
                format!("procedures call each other in a ring: {}", ring.join(" → ")),
                "Such a job could go on for ever.",
                "End one of the procedures with an outcome instead of the call.".to_owned(),
            );
        } else if !finished.contains(&callee) {
            visit(callee, loaded, open, finished, findings);
        }
    }
    open.pop();
    finished.push(name);
}
