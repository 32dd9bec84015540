//! Are values in braces only where they are filled in, and written as they must be?

use crate::procedure::library::Sheet;
use crate::procedure::model::{Position, Question, Step, ValuePath};
use crate::procedure::nearest::nearest;
use crate::procedure::paths;
use crate::procedure::places::of_brace;
use crate::procedure::problem::Findings;

/// Texts into which values are put: key and text.
pub(crate) fn filled<T>(step: &Step<T>) -> Vec<(&'static str, &str)> {
    let mut texts = Vec::new();
    texts.extend(step.action.as_deref().map(|text| ("do", text)));
    if let Question::Outcome {
        finding, advice, ..
    } = &step.question
    {
        texts.push(("finding", finding.as_str()));
        texts.extend(advice.as_deref().map(|text| ("advice", text)));
    }
    texts
}

/// The paths in the texts of a step, with the key under which each stands. Texts that are wrong
/// give none: [`check`] reports them.
pub(crate) fn shown<T>(step: &Step<T>) -> Vec<(&'static str, ValuePath)> {
    filled(step)
        .into_iter()
        .flat_map(|(key, text)| {
            let paths = paths::paths_in(text).unwrap_or_default();
            paths.into_iter().map(move |path| (key, path))
        })
        .collect()
}

/// Problems up to which the brace is looked for in the file; where there are more, something else is wrong.
const MOST_AT_BRACES: usize = 100;

/// Where a value is named in a step, `found` problems having been found before: at its brace, where that is in a text.
pub(crate) fn place<T>(
    sheet: &Sheet<T>,
    number: usize,
    part: &str,
    path: &ValuePath,
    found: usize,
) -> Position {
    let step = &sheet.procedure.steps[number];
    let begins = sheet.places.of(number, step, part);
    let text = filled(step).into_iter().find(|(key, _)| *key == part);
    let paths = text.and_then(|(_, text)| paths::paths_in(text).ok());
    let at = paths.and_then(|paths| paths.iter().position(|other| other == path));
    match at {
        // each of those before it has two
        Some(at) if found < MOST_AT_BRACES => of_brace(&sheet.procedure.source, &begins, 2 * at),
        _ => begins,
    }
}

pub(crate) fn check<T>(sheet: &Sheet<T>, findings: &mut Findings) {
    of_file(sheet, findings);
    let steps = &sheet.procedure.steps;
    let known = steps.iter().map(|step| &step.id);
    let known = known.chain(&sheet.procedure.takes).map(String::as_str);
    let known: Vec<&str> = known.collect();
    for (number, step) in steps.iter().enumerate() {
        let from = findings.list.len();
        for (key, text) in filled(step) {
            if let Some((message, before)) = paths::wrong_brace(text) {
                let begins = sheet.places.of(number, step, key);
                findings.flaw_of(
                    &step.id,
                    &of_brace(&sheet.procedure.source, &begins, before),
                    format!("`{key}` of step `{}`: {message}", step.id),
                    "Braces stand for values: `{rest-reading}`, `{judge.verdict}`.",
                    meant(text, &known).unwrap_or_else(|| {
                        "Close the brace, correct the path, or use round brackets.".to_owned()
                    }),
                );
            }
        }
        let mut unfilled: Vec<(&str, String, &str)> = unfilled(step)
            .into_iter()
            .map(|(key, text)| (key, key.to_owned(), text))
            .collect();
        unfilled.extend(unfilled_parts(step));
        let before = number.checked_sub(1).map(|before| &steps[before].phase);
        if before != Some(&step.phase) {
            unfilled.push(("phase", "phase".to_owned(), &step.phase));
        }
        for (key, part, text) in unfilled {
            if is_raw(text) {
                let begins = sheet.places.of(number, step, &part);
                let place = of_brace(&sheet.procedure.source, &begins, 0);
                shown_raw(key, &format!("step `{}`", step.id), &place, findings);
            }
        }
        findings.are_of_step(&step.id, from);
    }
}

/// What was meant by the first that stands between braces and is no path: one in capitals, or with blanks for hyphens.
fn meant(text: &str, known: &[&str]) -> Option<String> {
    let braced = text.split('{').skip(1);
    let braced = braced.filter_map(|after| after.split_once('}').map(|(path, _)| path.trim()));
    let wrong = braced
        .into_iter()
        .find(|path| paths::parse(path).is_err())?;
    let (of, fact) = match wrong.split_once('.') {
        Some((of, fact)) => (of, format!(".{}", fact.trim().to_lowercase())),
        None => (wrong, String::new()),
    };
    let of = of.trim().to_lowercase().replace([' ', '_'], "-");
    let near = nearest(&of, known.iter().copied())?;
    let meant = paths::parse(&format!("{near}{fact}")).ok()?;
    Some(format!("Did you mean `{{{meant}}}`?"))
}

/// The heading and the purpose, into which nothing is put.
fn of_file<T>(sheet: &Sheet<T>, findings: &mut Findings) {
    let procedure = &sheet.procedure;
    let Some(first) = procedure.steps.first() else {
        return;
    };
    let texts = [("title", &procedure.title), ("purpose", &procedure.purpose)];
    for (key, text) in texts {
        // what is of no step stands with the first
        if is_raw(text) {
            let begins = sheet.places.of(0, first, key);
            let place = of_brace(&procedure.source, &begins, 0);
            shown_raw(key, "the procedure", &place, findings);
        }
    }
}

fn is_raw(text: &str) -> bool {
    text.contains(['{', '}'])
}

/// Report braces in a text into which no values are put.
fn shown_raw(key: &str, of: &str, place: &Position, findings: &mut Findings) {
    findings.flaw(
        place,
        format!("a value in braces stands in `{key}` of {of}"),
        "Values are put into `do`, `finding` and `advice` only; here the braces themselves would be shown.",
        "Move the value into `do`, or write the sentence without it.".to_owned(),
    );
}

/// Texts of which a step may have several under one key: key, part, text.
fn unfilled_parts<T>(step: &Step<T>) -> Vec<(&'static str, String, &str)> {
    let disabled = step.disables.iter().map(|disabled| {
        let part = format!("disables/{}", disabled.item);
        ("disables", part, disabled.restore.as_str())
    });
    let choices = match &step.question {
        Question::Choose { choices, .. } => choices.as_slice(),
        _ => &[],
    };
    let choices = choices.iter().map(|choice| {
        let part = format!("choose/{}", choice.name);
        ("choose", part, choice.label.as_str())
    });
    disabled.chain(choices).collect()
}

fn unfilled<T>(step: &Step<T>) -> Vec<(&'static str, &str)> {
    let mut texts: Vec<(&'static str, &str)> = Vec::new();
    for hazard in &step.hazards {
        let key = match hazard.word {
            crate::procedure::model::SignalWord::Danger => "danger",
            crate::procedure::model::SignalWord::Warning => "warning",
            crate::procedure::model::SignalWord::Caution => "caution",
            crate::procedure::model::SignalWord::Notice => "notice",
        };
        texts.push((key, &hazard.text));
    }
    let optional = [
        ("why", &step.why),
        ("good", &step.good),
        ("mistakes", &step.mistakes),
    ];
    for (key, text) in optional {
        texts.extend(text.as_deref().map(|text| (key, text)));
    }
    match &step.question {
        Question::Confirm { statement, .. } => texts.push(("confirm", statement)),
        Question::Choose { ask, .. }
        | Question::Measure { ask, .. }
        | Question::Capture { ask, .. }
        | Question::Note { ask, .. } => texts.push(("ask", ask)),
        Question::Compute { .. } | Question::Call { .. } | Question::Outcome { .. } => {}
    }
    texts
}
