//! Are values in braces only where they are filled in, and written as they must be?

use crate::procedure::library::Sheet;
use crate::procedure::model::{Question, Step, ValuePath};
use crate::procedure::paths;
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

pub(crate) fn check<T>(sheet: &Sheet<T>, findings: &mut Findings) {
    for (number, step) in sheet.procedure.steps.iter().enumerate() {
        for (key, text) in filled(step) {
            if let Err(message) = paths::paths_in(text) {
                findings.flaw_of(
                    &step.id,
                    &sheet.places.of(number, step, key),
                    format!("`{key}` of step `{}`: {message}", step.id),
                    "Braces stand for values: `{rest-reading}`, `{judge.verdict}`.",
                    "Close the brace, correct the path, or use round brackets.".to_owned(),
                );
            }
        }
        for (key, text) in unfilled(step) {
            if text.contains(['{', '}']) {
                findings.flaw_of(
                    &step.id,
                    &sheet.places.of(number, step, key),
                    format!("a value in braces stands in `{key}` of step `{}`", step.id),
                    "Values are put into `do`, `finding` and `advice` only; here the braces \
                     themselves would be shown.",
                    "Move the value into `do`, or write the sentence without it.".to_owned(),
                );
            }
        }
    }
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
