//! `evenfire rehearse`: scenarios gone through, and what none of them reached.

mod towards;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;
use rayon::prelude::*;
use serde::Serialize;

use crate::capture::setup::DEFAULT_LOW_PERCENT;
use crate::capture::{Capture, setup::Setup};
use crate::cli::captures;
use crate::cli::check::{is_yml, read_procedure, read_text, with_ending};
use crate::cli::format::Format;
use crate::cli::named_files;
use crate::cli::problems::listed;
use crate::cli::{Failure, fitted, say};
use crate::procedure::model::Library;
use crate::procedure::rules::Rules;
use crate::procedure::{Problem, Way};
use crate::rehearse::coverage::{Coverage, Reached};
use crate::rehearse::{Bench, Rehearsed, Scenario, read, rehearse};
use crate::text::counted;

/// Go through procedures without a car, by scenarios, and say what none of them reached
///
/// Scenarios lie in scenarios/PROCEDURE/ beside each procedure file; procedures/README.md describes them.
/// What a scenario reaches in called procedures counts for those.
#[derive(Debug, Args)]
#[command(after_help = STATUSES)]
pub(crate) struct RehearseArguments {
    /// Procedure files, or names of the shop's
    #[arg(required = true)]
    procedures: Vec<PathBuf>,
    /// Folder that holds scenarios, in a folder for each procedure; beside each procedure where not given
    #[arg(long, value_name = "DIR")]
    scenarios: Option<PathBuf>,
    /// Status 1 also where a step, way or outcome is not reached
    #[arg(long)]
    complete: bool,
    /// Print a scenario that leads to this step instead, or out of it by a way: 'STEP: no', 'STEP: < 12.20'. A step of a
    /// called procedure is call/step
    #[arg(long, value_name = "STEP")]
    reach: Option<String>,
    /// With --reach: put the scenario into this folder instead of printing it
    #[arg(long, value_name = "DIR", requires = "reach")]
    into: Option<PathBuf>,
    /// For people, or for programs
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

const STATUSES: &str = "\
Exit status:
  0  every scenario ended as it says
  1  one did not, or with --complete: something was not reached
  2  could not be done";

/// Everything that came of it.
#[derive(Default)]
pub(crate) struct Sum {
    pub(crate) libraries: Vec<(PathBuf, Library)>,
    lines: Vec<Line>,
    problems: BTreeSet<Problem>,
    texts: BTreeMap<String, String>,
    /// Procedures that have files of scenarios, readable or not.
    written: BTreeSet<String>,
    pub(crate) coverage: Coverage,
}

/// One scenario, as programs read it.
#[derive(Serialize)]
struct Line {
    procedure: String,
    scenario: String,
    outcome: Option<String>,
    questions: usize,
    denials: usize,
    as_expected: bool,
}

pub(crate) fn run(arguments: &RehearseArguments) -> Result<ExitCode, Failure> {
    let files = named_files::named(&arguments.procedures, None)?;
    if let Some(step) = &arguments.reach {
        return towards::lead(&files, step, arguments.into.as_deref());
    }
    let sum = go_through(&files, arguments.scenarios.as_deref());
    let reached = reached(&sum);
    let complete = reached
        .values()
        .all(|(_, reached)| reached.missing.is_empty());
    match arguments.format {
        Format::Text => {
            say(&fitted(told(&sum, &reached)));
            say(&left_out(&files, &sum));
        }
        Format::Json => say(&format!("{}\n", json(&sum, &reached)?)),
    }
    let wrong = !sum.problems.is_empty() || arguments.complete && !complete;
    Ok(ExitCode::from(u8::from(wrong)))
}

/// Go through all scenarios of procedure files.
pub(crate) fn go_through(files: &[PathBuf], folder: Option<&Path>) -> Sum {
    let mut sum = Sum::default();
    for file in files {
        match read_procedure(file, &Rules::default(), &mut sum.texts) {
            Ok(library) => sum.libraries.push((file.clone(), library)),
            Err(found) => sum.problems.extend(found),
        }
    }
    let bench = Bench::new(DEFAULT_LOW_PERCENT, &read_capture);
    for (file, library) in sum.libraries.clone() {
        let scenarios = scenarios_of(&file, folder, &mut sum);
        let played: Vec<(Scenario, Rehearsed)> = scenarios
            .into_par_iter()
            .map(|scenario| {
                let rehearsed = rehearse(&library, &scenario, &bench);
                (scenario, rehearsed)
            })
            .collect();
        for (scenario, rehearsed) in played {
            sum.take(&scenario, &rehearsed);
        }
    }
    sum
}

impl Sum {
    fn take(&mut self, scenario: &Scenario, rehearsed: &Rehearsed) {
        self.coverage.add(&rehearsed.played.trail);
        for (_, denied) in &rehearsed.denied {
            self.coverage.add(&denied.trail);
        }
        let before = self.problems.len();
        self.problems.extend(rehearsed.problems().cloned());
        self.lines.push(Line {
            procedure: scenario.procedure.clone(),
            scenario: scenario.name.clone(),
            outcome: rehearsed
                .played
                .outcome
                .as_ref()
                .map(|(step, _)| step.clone()),
            questions: rehearsed.played.asked.len(),
            denials: rehearsed.denied.len(),
            as_expected: self.problems.len() == before,
        });
    }
}

/// The sound procedure files beside one that call it, through others too, in order of their names.
pub(crate) fn callers_beside(file: &Path) -> Vec<PathBuf> {
    let called = file.file_stem().unwrap_or_default().to_string_lossy();
    let folder = match file.parent() {
        Some(folder) if folder != Path::new("") => folder,
        _ => Path::new("."),
    };
    let entries = std::fs::read_dir(folder).into_iter().flatten();
    let names = entries.filter_map(|entry| Some(entry.ok()?.file_name()));
    let beside = names.map(|name| file.with_file_name(name));
    let mut callers: Vec<PathBuf> = beside
        .filter(|beside| beside != file && beside.extension().is_some_and(|e| e == "yaml"))
        .filter(|beside| {
            // what is not sound is told by `check`, and has no scenarios that could be gone through
            let read = read_procedure(beside, &Rules::default(), &mut BTreeMap::new());
            read.is_ok_and(|library| library.procedures.contains_key(&*called))
        })
        .collect();
    callers.sort();
    callers
}

/// The scenarios of a procedure file, those that cannot be read among the problems.
fn scenarios_of(file: &Path, folder: Option<&Path>, sum: &mut Sum) -> Vec<Scenario> {
    let stem = file.file_stem().unwrap_or_default();
    let beside = file.with_file_name("scenarios");
    let folder = folder.unwrap_or(&beside).join(stem);
    let Ok(entries) = std::fs::read_dir(&folder) else {
        return Vec::new();
    };
    let paths = entries.filter_map(|entry| Some(entry.ok()?.path()));
    let (other, paths): (Vec<PathBuf>, Vec<PathBuf>) = paths
        .filter(|path| is_yml(path) || path.extension().is_some_and(|ending| ending == "yaml"))
        .partition(|path| is_yml(path));
    let mut paths = paths;
    paths.sort();
    let why = "Scenarios are looked for by .yaml: this one was not gone through.";
    sum.problems
        .extend(other.iter().map(|path| with_ending(path, why)));
    if !paths.is_empty() || !other.is_empty() {
        sum.written.insert(stem.to_string_lossy().into_owned());
    }
    let mut scenarios = Vec::new();
    for path in paths {
        let shown = path.display().to_string();
        let read = read_text(&path, &shown)
            .map_err(|problem| vec![*problem])
            .and_then(|text| {
                sum.texts.insert(shown.clone(), text.clone());
                read(&shown, &text)
            });
        match read {
            Ok(scenario) if scenario.procedure == stem.to_string_lossy() => {
                scenarios.push(scenario)
            }
            Ok(scenario) => {
                sum.problems.insert(Problem::new(
                    &scenario.position,
                    format!("this is a scenario of `{}`", scenario.procedure),
                    "Scenarios lie in a folder that has the name of their procedure.",
                    "Move the file, or correct `procedure`.",
                ));
            }
            Err(problems) => sum.problems.extend(problems),
        }
    }
    scenarios
}

/// A capture file as seen from a scenario, with the set-up beside it.
fn read_capture(scenario: &str, path: &str) -> Result<(Capture, Setup), String> {
    let beside = Path::new(scenario).parent().unwrap_or(Path::new("."));
    let path = beside.join(path);
    let read = captures::By::default()
        .recording(&path)
        .map_err(|error| error.to_string())?;
    Ok((read.capture, read.setup))
}

type ByProcedure = BTreeMap<String, (String, Reached)>;

/// What was reached, by procedure, with the file of each.
fn reached(sum: &Sum) -> ByProcedure {
    let mut all = ByProcedure::new();
    for (_, library) in &sum.libraries {
        for (name, procedure) in &library.procedures {
            let file = procedure.source.file.clone();
            let reached = sum.coverage.of(procedure);
            all.entry(name.clone()).or_insert((file, reached));
        }
    }
    all
}

fn told(sum: &Sum, reached: &ByProcedure) -> String {
    let mut text = String::new();
    for line in &sum.lines {
        let mark = if line.as_expected { "ok   " } else { "FAILS" };
        // where it fails, the outcome is no praise
        let came = if line.as_expected { "" } else { "came to " };
        let outcome = line.outcome.as_deref();
        let outcome = outcome.map_or("no outcome".to_owned(), |outcome| {
            format!("{came}{outcome}")
        });
        let denials = match line.denials {
            0 => String::new(),
            count => format!(", {}", counted(count, "denial")),
        };
        text += &format!(
            "{mark} {}/{}: {outcome}, {}{denials}\n",
            line.procedure,
            line.scenario,
            counted(line.questions, "question")
        );
    }
    text += &listed(&sum.problems, &sum.texts);
    for (name, (file, reached)) in reached {
        text += &format!(
            "\n{name}: reached {} steps, {} ways, {} outcomes\n",
            reached.steps, reached.ways, reached.outcomes
        );
        if reached.steps.reached == 0 {
            text += &format!("  {file}: not reached: any step of it\n");
            continue;
        }
        for missing in &reached.missing {
            let line = place_of(sum, name, missing.at.0);
            text += &format!("  {file}:{line}: not reached: {}\n", missing.told);
        }
        text += &denials_hint(reached);
    }
    text
}

/// What reaches many ways at once: those of a no.
fn denials_hint(reached: &Reached) -> String {
    let no = |missing: &&crate::rehearse::coverage::Missing| missing.way == Some(Way::No);
    match reached.missing.iter().filter(no).count() {
        0 => String::new(),
        1 => "  1 of these is a no: `deny-each: [not-done]` in a scenario that comes there answers it\n"
            .to_owned(),
        count => format!(
            "  {count} of these are a no: `deny-each: [not-done]` in a scenario that comes there answers each of them\n"
        ),
    }
}

/// Of each file without scenarios of its own, which callers beside it were not rehearsed with it.
fn left_out(files: &[PathBuf], sum: &Sum) -> String {
    let mut text = String::new();
    for file in files {
        let name = file.file_stem().unwrap_or_default().to_string_lossy();
        let read = sum.libraries.iter().any(|(known, _)| known == file);
        if sum.written.contains(&*name) || !read {
            continue; // what is wrong with a file was told
        }
        let mut callers = callers_beside(file);
        callers.retain(|caller| !files.contains(caller));
        if callers.is_empty() {
            if !files
                .iter()
                .any(|other| other != file && calls(sum, other, &name))
            {
                text += &none_yet(file, &name);
            }
            continue;
        }
        let callers: Vec<String> = callers.iter().map(|c| c.display().to_string()).collect();
        text += &format!(
            "\n{name} has no scenarios of its own. Those of the procedures that call it count where they are named \
             too:\n  evenfire rehearse {} {}\n",
            file.display(),
            callers.join(" ")
        );
    }
    text
}

/// Whether a file that was rehearsed calls a procedure.
fn calls(sum: &Sum, file: &Path, name: &str) -> bool {
    let mut libraries = sum.libraries.iter();
    libraries.any(|(of, library)| of == file && library.procedures.contains_key(name))
}

fn none_yet(file: &Path, name: &str) -> String {
    format!(
        "\n{name} has no scenarios yet. They are files in {}; one to begin with is printed by\n  evenfire rehearse {} \
         --reach STEP\n",
        file.with_file_name("scenarios")
            .join(name)
            .join("NAME.yaml")
            .display(),
        file.display()
    )
}

fn place_of(sum: &Sum, name: &str, at: usize) -> usize {
    let mut found = sum
        .libraries
        .iter()
        .filter_map(|(_, library)| library.procedures.get(name));
    let step = found.next().and_then(|procedure| procedure.steps.get(at));
    step.map_or(1, |step| step.position.line)
}

fn json(sum: &Sum, reached: &ByProcedure) -> Result<String, Failure> {
    let coverage: Vec<serde_json::Value> = reached
        .iter()
        .map(|(name, (file, reached))| {
            let share = |share: crate::rehearse::coverage::Share| serde_json::json!({"reached": share.reached, "all": share.all});
            let missing: Vec<serde_json::Value> = reached.missing.iter().map(|missing| {
                serde_json::json!({"line": place_of(sum, name, missing.at.0), "what": missing.told})
            }).collect();
            serde_json::json!({
                "procedure": name, "file": file, "steps": share(reached.steps), "ways": share(reached.ways),
                "outcomes": share(reached.outcomes), "not_reached": missing,
            })
        })
        .collect();
    let problems: Vec<serde_json::Value> = sum
        .problems
        .iter()
        .map(crate::cli::problems::as_json)
        .collect();
    let whole = serde_json::json!({
        "schema": "evenfire-rehearsal-1", "scenarios": sum.lines, "problems": problems, "coverage": coverage,
    });
    Ok(serde_json::to_string_pretty(&whole)?)
}
