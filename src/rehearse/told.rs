//! What helps to mend a scenario: the values that led where it came to, and steps with nearly the name that
//! was written.

use super::play::Player;
use super::reach;
use super::scenario::Scenario;
use crate::procedure::Problem;
use crate::procedure::leads;
use crate::procedure::model::{Library, Next, Question};
use crate::procedure::nearest::{nearest, suggestion};
use crate::run::event::{Answer, Event};
use crate::run::walk::Walk;

/// Steps of a way that are told, the last ones.
const MOST_TOLD: usize = 8;

impl Player<'_> {
    /// The last values that decided where the way led, and the last answer of all: "rest-reading 12.50 V → judge
    /// verdict low".
    pub(super) fn led(&self) -> String {
        let Ok(walk) = Walk::through(self.library, &self.state) else {
            return String::new();
        };
        let events = self.state.events();
        let mut values: Vec<(bool, String)> = Vec::new();
        for stamped in events {
            match &stamped.event {
                Event::Answered { step, answer } => {
                    let question = walk.step_at(step).ok().map(|step| &step.question);
                    let branches = matches!(question.and_then(leads), Some(Next::When(_)));
                    let decides = branches || matches!(answer, Answer::Confirm { yes: false });
                    values.push((decides, format!("{step} {}", answered(answer))));
                }
                Event::Computed { step, facts, .. } => {
                    let question = walk.step_at(step).ok().map(|step| &step.question);
                    if let Some(Question::Compute {
                        tested: Some(tested),
                        ..
                    }) = question
                        && let Some(value) = facts.get(tested)
                    {
                        values.push((true, format!("{step} {tested} {value}")));
                    }
                }
                _ => {}
            }
        }
        let last = values.len().saturating_sub(1);
        let values = values.into_iter().enumerate();
        let told = values.filter(|(number, (decides, _))| *decides || *number == last);
        let told: Vec<String> = told.map(|(_, (_, told))| told).collect();
        told[told.len().saturating_sub(MOST_TOLD)..].join(" → ")
    }
}

/// The steps that a scenario names and that are not there, each with what was probably meant.
pub(super) fn unknown_steps(library: &Library, scenario: &Scenario) -> Vec<Problem> {
    let Ok(paths) = reach::paths(library, &scenario.procedure) else {
        return Vec::new();
    };
    let answers = scenario.answers.iter().map(|e| (&e.step, &e.position));
    let way = scenario
        .expect
        .way
        .iter()
        .map(|step| (&step.value, &step.position));
    let named = answers.chain(scenario.stated()).chain(way);
    let unknown = named.filter(|(step, _)| !paths.contains(step));
    let unknown = unknown.map(|(step, position)| {
        Problem::new(
            position,
            format!("there is no step `{step}`"),
            "Nothing else is judged of this scenario before that is mended.",
            nearest_path(library, &scenario.procedure, step),
        )
    });
    unknown.collect()
}

fn answered(answer: &Answer) -> String {
    match answer {
        Answer::Confirm { yes } => if *yes { "yes" } else { "no" }.to_owned(),
        Answer::Choice { name } => name.clone(),
        Answer::Number { value, unit, .. } => {
            let (value, unit) = (*value, *unit);
            crate::quantity::Measured { value, unit }.to_string()
        }
        Answer::Text { text } => format!("\"{text}\""),
        Answer::Capture(_) => "captured".to_owned(),
    }
}

/// "Did you mean …?" of a step's path. A step of a called procedure is often written without its call, or with the
/// procedure's name in its place.
pub(super) fn nearest_path(library: &Library, root: &str, wanted: &str) -> String {
    let paths = reach::paths(library, root).unwrap_or_default();
    let own = |path: &&String| path.rsplit('/').next() == Some(wanted);
    let called = paths.iter().filter(|path| path.contains('/'));
    if let Some(path) = called.clone().find(own) {
        return format!("Did you mean `{path}`?");
    }
    if let Some(path) = reach::by_procedure(library, root, wanted) {
        return format!(
            "Did you mean `{path}`? A step of a called procedure is named by its call."
        );
    }
    let all = paths.iter().map(String::as_str);
    if nearest(wanted, all.clone()).is_none() && !wanted.contains('/') {
        let ids = called.filter_map(|path| path.rsplit('/').next());
        let near = nearest(wanted, ids);
        let path = near.and_then(|near| {
            all.clone()
                .find(|path| path.rsplit('/').next() == Some(near))
        });
        if let Some(path) = path {
            return format!("Did you mean `{path}`?");
        }
    }
    suggestion(wanted, all)
}
