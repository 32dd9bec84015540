//! `evenfire check FILES…`: every problem of every procedure file, each with the lines it stands in.

mod beside_shipped;
mod own_files;

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;

use crate::cli::format::Format;
use crate::cli::named_files;
use crate::cli::one_job::waivable;
use crate::cli::policy_rules::shop_policy;
use crate::cli::problems::{as_json, listed, listed_at_every_step, remarked};
use crate::cli::rehearse::callers_beside;
use crate::cli::{Failure, fitted};
use crate::procedure::model::{Library, Position};
use crate::procedure::rules::Rules;
use crate::procedure::work::Condition;
use crate::procedure::{LARGEST_FILE, Problem, read_library_by, remarks};
use crate::text::{counted, shell_quoted};

/// Check procedure files: every problem at once, with place and remedy
#[derive(Debug, Args)]
#[command(after_help = STATUSES)]
pub struct CheckArguments {
    /// Procedure files, or names of the shop's; all of the shop's where none is given. Those that they call are looked for
    /// beside them.
    files: Vec<PathBuf>,
    /// Folder of the shop by whose policy they are proved; else EVENFIRE_SHOP, else the nearest shop in or above the working
    /// folder
    #[arg(long, value_name = "DIR")]
    shop: Option<PathBuf>,
    /// A condition that is missing: tell every step that needs it, with the shortest way to each
    #[arg(long)]
    every_step: bool,
    /// List the steps that may be waived and by whom, and why the others may not
    #[arg(long)]
    waivers: bool,
    /// For people, or for programs; these are told every step
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

const STATUSES: &str = "\
Exit status:
  0  all sound
  1  something is wrong with a file
  2  could not be done";

/// Check the files and print what is wrong with them.
pub(crate) fn run(arguments: &CheckArguments) -> Result<ExitCode, Failure> {
    let mut said = String::new();
    let mut problems: BTreeSet<Problem> = BTreeSet::new();
    let mut texts = BTreeMap::new();
    let sorted = own_files::sorted(&arguments.files, arguments.shop.as_deref())?;
    let (files, shop) = (&sorted.procedures, sorted.shop.as_deref());
    let mut without = "";
    let rules = match shop_policy(shop, files, &mut texts)? {
        Ok(Some((policy, told))) => {
            said.push_str(&told);
            policy.rules
        }
        Ok(None) => {
            said.push_str("No shop here: judged without a shop's policy.\n");
            Rules::default()
        }
        Err(wrong) => {
            problems.extend(wrong.problems);
            said.push_str(&wrong.judged);
            without = wrong.without;
            wrong.rules
        }
    };
    said.push_str(&own_files::told(&sorted.own, &problems));
    if files.is_empty() && sorted.own.is_empty() {
        said.push_str("The shop has no procedures of its own.\n");
    }
    let mut libraries = Vec::new();
    for file in files {
        match read_procedure(file, &rules, &mut texts) {
            Ok(library) => {
                said.push_str(&format!("{}{without}\n", sound(file, &library)));
                libraries.push((file.clone(), library));
            }
            Err(found) => {
                said.push_str(&not_judged(file, &found));
                problems.extend(found);
            }
        }
    }
    let mut remarks = worth_a_look(&libraries, &rules);
    remarks.extend(beside_shipped::remarks(&libraries));
    let waivable = arguments
        .waivers
        .then(|| waivable::steps(&libraries, &rules));
    match arguments.format {
        Format::Text if arguments.every_step => {
            said.push_str(&listed_at_every_step(&problems, &texts));
        }
        Format::Text => said.push_str(&listed(&problems, &texts)),
        Format::Json => said = json(&sorted.all(), &problems, &remarks, waivable.as_deref())?,
    }
    if arguments.format == Format::Text {
        said.push_str(&remarked(&remarks, &texts));
        said.push_str(&summed(problems.len(), remarks.len()));
        said.push_str(&waivable.map_or_else(String::new, |steps| waivable::told(&steps)));
        said = fitted(said);
    }
    print(&said)?;
    Ok(ExitCode::from(u8::from(!problems.is_empty())))
}

/// Print all that was found.
fn print(said: &str) -> Result<(), Failure> {
    match std::io::stdout().write_all(said.as_bytes()) {
        // whoever reads may have seen enough: `evenfire check … | head`
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => Err(error.into()),
        _ => Ok(()),
    }
}

/// That a file has no problem of its own, and that what it calls has: nothing else would name it.
fn not_judged(file: &Path, found: &[Problem]) -> String {
    let places = found.iter().map(|one| Path::new(&one.position.file));
    let places: BTreeSet<&Path> = places.collect();
    if places.contains(file) {
        return String::new();
    }
    let names = places.iter().filter_map(|place| place.file_name());
    let names: Vec<_> = names.map(|name| name.to_string_lossy()).collect();
    let (names, are) = (names.join(", "), if names.len() > 1 { "are" } else { "is" });
    format!(
        "{}: not judged until {names} {are} mended\n",
        file.display()
    )
}

/// The last line where remarks stand below problems, which they would hide.
fn summed(problems: usize, remarks: usize) -> String {
    if problems == 0 || remarks == 0 {
        return String::new();
    }
    let (problems, remarks) = (counted(problems, "problem"), counted(remarks, "remark"));
    format!("Not sound: {problems}, and {remarks}.\n")
}

/// What is sound and worth a second look, each once.
fn worth_a_look(libraries: &[(PathBuf, Library)], rules: &Rules) -> BTreeSet<Problem> {
    let mut remarks = remarks(libraries, rules);
    for (file, library) in libraries {
        let stem = file.file_stem().unwrap_or_default().to_string_lossy();
        for found in remarks::remarks(&stem, library) {
            // a called procedure is met again below each caller, by another way
            let known = |r: &Problem| r.position == found.position && r.message == found.message;
            if !remarks.iter().any(known) {
                remarks.insert(found);
            }
        }
    }
    remarks
}

fn json(
    files: &[PathBuf],
    problems: &BTreeSet<Problem>,
    remarks: &BTreeSet<Problem>,
    waivable: Option<&[waivable::Waivable]>,
) -> Result<String, Failure> {
    let files: Vec<String> = files.iter().map(|f| f.display().to_string()).collect();
    let problems: Vec<serde_json::Value> = problems.iter().map(as_json).collect();
    let remarks: Vec<serde_json::Value> = remarks.iter().map(as_json).collect();
    let mut whole = serde_json::json!({
        "schema": "evenfire-check-1", "files": files, "problems": problems, "remarks": remarks,
    });
    if let Some(steps) = waivable {
        whole["waivers"] = steps.iter().map(waivable::Waivable::as_json).collect();
    }
    Ok(serde_json::to_string_pretty(&whole)? + "\n")
}

/// What is established and never needed: neither in what was checked nor in a procedure beside it that calls it.
fn remarks(libraries: &[(PathBuf, Library)], rules: &Rules) -> BTreeSet<Problem> {
    let needs = libraries
        .iter()
        .map(|(_, library)| remarks::idle::needed(library));
    let mut needed: BTreeSet<Condition> = needs.flatten().collect();
    let remarks = |needed: &BTreeSet<Condition>| -> BTreeSet<Problem> {
        let all = libraries.iter();
        all.flat_map(|(_, library)| remarks::idle::remarks(library, needed))
            .collect()
    };
    if remarks(&needed).is_empty() {
        return BTreeSet::new();
    }
    for caller in libraries.iter().flat_map(|(file, _)| callers_beside(file)) {
        let read = read_procedure(&caller, rules, &mut BTreeMap::new());
        needed.extend(read.iter().flat_map(remarks::idle::needed));
    }
    remarks(&needed)
}

fn sound(file: &Path, library: &Library) -> String {
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    let file = file.display();
    let all: usize = library.procedures.values().map(|p| p.steps.len()).sum();
    let own = library.procedures.get(&*stem).map_or(0, |p| p.steps.len());
    let called = match library.procedures.len() - 1 {
        0 => String::new(),
        count => format!("; {} in {}", all - own, counted(count, "called procedure")),
    };
    let steps = counted(own, "step");
    let left: Vec<String> = remarks::left_to_caller(&stem, library)
        .into_iter()
        .collect();
    let left = match &left[..] {
        [] => String::new(),
        left => format!(", where its caller has made sure of: {}", left.join(", ")),
    };
    format!("{file}: sound ({steps}{called}){left}")
}

/// Read a procedure file and all that it calls, which are looked for beside it. `texts` keeps what was
/// read, by the name that problems give the file.
///
/// # Errors
/// All problems of all files.
pub(crate) fn read_procedure(
    file: &Path,
    rules: &Rules,
    texts: &mut BTreeMap<String, String>,
) -> Result<Library, Vec<Problem>> {
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    let unreadable = RefCell::new(Vec::new());
    let kept = RefCell::new(texts);
    let source = |name: &str| {
        let path = if name == stem {
            file.to_path_buf()
        } else {
            file.with_file_name(format!("{name}.yaml"))
        };
        let shown = path.display().to_string();
        if name != stem && !path.exists() {
            return None;
        }
        match read_text(&path, &shown) {
            Ok(text) => {
                kept.borrow_mut().insert(shown.clone(), text.clone());
                Some((shown, text))
            }
            Err(problem) => {
                unreadable.borrow_mut().push(*problem);
                None
            }
        }
    };
    let mut result = read_library_by(rules, &stem, &source);
    if file.is_file() && is_yml(file) {
        let mut problems = result.err().unwrap_or_default();
        let why = "Jobs and procedures that call it look for .yaml and would not find it.";
        problems.push(with_ending(file, why));
        result = Err(problems);
    }
    let unreadable = unreadable.into_inner();
    if unreadable.is_empty() {
        return result;
    }
    // a file that cannot be read is reported as that, not as a missing procedure
    let mut problems = result.err().unwrap_or_default();
    problems.retain(|problem| !problem.message.starts_with("there is no procedure"));
    problems.extend(unreadable);
    Err(problems)
}

/// Whether a file has the ending that nothing looks for.
pub(crate) fn is_yml(file: &Path) -> bool {
    file.extension().is_some_and(|ending| ending == "yml")
}

/// A file that would not be found by its ending.
pub(crate) fn with_ending(file: &Path, why: &str) -> Problem {
    let position = Position {
        file: file.display().to_string(),
        line: 1,
        column: 1,
    };
    let name = file.with_extension("yaml");
    let name = name.file_name().unwrap_or_default().to_string_lossy();
    let message = "the file's name ends in .yml";
    Problem::new(&position, message, why, format!("Call the file {name}."))
}

/// Why a path is no file to be read, where that is plain, and what was probably meant.
fn no_file(path: &Path) -> Option<(String, String)> {
    if path.is_dir() {
        let files = shell_quoted(&path.display().to_string());
        let files = format!("{}/*.yaml", files.trim_end_matches('/'));
        let files = files.trim_start_matches("./");
        let message = "this is a folder, not a file".to_owned();
        return Some((message, format!("Name the files in it: {files}")));
    }
    let beside = path.with_extension("yaml");
    if path.exists() {
        return None;
    }
    let remedy = if beside.is_file() {
        format!("Did you mean {}?", beside.display())
    } else if let Some(meant) = named_files::meant(path) {
        format!("Did you mean {meant}?")
    } else {
        "Check the path; of a shop's procedure its name will do.".to_owned()
    };
    Some(("there is no such file".to_owned(), remedy))
}

/// The text of a file, or what is wrong with it as a text.
pub(crate) fn read_text(path: &Path, shown: &str) -> Result<String, Box<Problem>> {
    let problem = |line, column, message, remedy: &str| {
        let position = Position {
            file: shown.to_owned(),
            line,
            column,
        };
        Box::new(Problem::new(&position, message, "", remedy))
    };
    if let Some((message, remedy)) = no_file(path) {
        return Err(problem(1, 1, message, &remedy));
    }
    let mut bytes = Vec::new();
    fs_err::File::open(path)
        .and_then(|file| {
            let most = u64::try_from(LARGEST_FILE + 1).unwrap_or(u64::MAX);
            file.take(most).read_to_end(&mut bytes)
        })
        .map_err(|error| {
            let remedy = "Check the path and who may read the file.";
            problem(1, 1, format!("cannot be read: {error}"), remedy)
        })?;
    match String::from_utf8(bytes) {
        Ok(text) => Ok(text),
        // cut at the limit inside a letter: too large, which is what will be reported
        Err(error) if error.as_bytes().len() > LARGEST_FILE => {
            Ok(String::from_utf8_lossy(error.as_bytes()).into_owned())
        }
        Err(error) => {
            let sound = &error.as_bytes()[..error.utf8_error().valid_up_to()];
            let sound = String::from_utf8_lossy(sound);
            let line = sound.matches('\n').count() + 1;
            let column = sound.chars().rev().take_while(|c| *c != '\n').count() + 1;
            let message = "a byte that is no UTF-8 text".to_owned();
            Err(problem(line, column, message, "Save the file as UTF-8."))
        }
    }
}
