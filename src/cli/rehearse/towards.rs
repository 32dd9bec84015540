//! `evenfire rehearse FILE --reach STEP`: a scenario that leads to a step, or out of it by a way, to begin from.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use super::super::check::read_procedure;
use super::super::problems::listed;
use super::super::{Failure, say};
use super::read_capture;
use crate::capture::setup::DEFAULT_LOW_PERCENT;
use crate::procedure::Problem;
use crate::procedure::rules::Rules;
use crate::record::durable;
use crate::rehearse::goal::Goal;
use crate::rehearse::reach::Answers;
use crate::rehearse::{Bench, Played, reach, read, rehearse};

/// Print a scenario that leads there, having played it, or put it into a folder.
pub(super) fn lead(files: &[PathBuf], to: &str, into: Option<&Path>) -> Result<ExitCode, Failure> {
    let [file] = files else {
        return Err("name one procedure with --reach".into());
    };
    let mut texts = BTreeMap::new();
    let library = read_procedure(file, &Rules::default(), &mut texts)
        .map_err(|problems| listed(&problems.into_iter().collect(), &texts))?;
    let name = file.file_stem().unwrap_or_default().to_string_lossy();
    let (goal, answers) = reach::answers_to(&library, &name, &Goal::parse(to))?;
    let bench = Bench::new(DEFAULT_LOW_PERCENT, &read_capture);
    let played = |answers: &Answers| -> Result<(String, Played), Failure> {
        let draft = answers.written(&name, &goal, "unknown", "");
        let told = |found: Vec<Problem>| listed(&found.into_iter().collect(), &texts);
        let scenario = read("scenario", &draft).map_err(told)?;
        Ok((draft, rehearse(&library, &scenario, &bench).played))
    };
    let (draft, first) = played(&answers)?;
    let met = goal.met(&library, &first.trail);
    let Some((outcome, _)) = first.outcome.filter(|_| met) else {
        let why: Vec<String> = first.problems.iter().map(ToString::to_string).collect();
        let (told, why) = (goal.told(), why.join("\n"));
        return Err(format!("{draft}\nThese answers do not lead to `{told}`:\n{why}").into());
    };
    let usual = answers.usual_from_step();
    let usual = usual.map(|usual| played(&usual)).transpose()?;
    let rest = usual.map_or_else(String::new, |(_, usual)| rest_told(&usual));
    let written = answers.written(&name, &goal, &outcome, &rest);
    let Some(folder) = into else {
        say(&written);
        return Ok(ExitCode::SUCCESS);
    };
    let path = folder.join(goal.file_name());
    if path.exists() {
        return Err(format!("{}: exists already; move it away first", path.display()).into());
    }
    fs_err::create_dir_all(folder)?;
    durable::write_new(&path, written.as_bytes())?;
    say(&format!("{}\n", path.display()));
    Ok(ExitCode::SUCCESS)
}

/// What is said of the answers behind the step: why they are there, and where the usual ones in their place would lead.
fn rest_told(usual: &Played) -> String {
    let instead = match (&usual.outcome, usual.problems.first()) {
        (Some((outcome, _)), _) => {
            format!("Without them the usual answers lead on to `{outcome}`.")
        }
        (None, Some(problem)) => {
            format!(
                "The usual answers alone come to no end: {}.",
                problem.message
            )
        }
        (None, None) => "The usual answers alone come to no end.".to_owned(),
    };
    format!("From here on the shortest way to an end, which is often a no. {instead}")
}
