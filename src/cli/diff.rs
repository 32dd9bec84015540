//! `evenfire diff OLD [NEW]`: what changed between two revisions of a procedure.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;

use crate::cli::check::read_text;
use crate::cli::format::Format;
use crate::cli::named_files;
use crate::cli::one_job::which_job::wanted;
use crate::cli::problems::listed;
use crate::cli::shipped;
use crate::cli::{Failure, fitted, say};
use crate::procedure::compare::{Change, Weakens, changes};
use crate::procedure::model::Library;
use crate::procedure::names::is_kebab;
use crate::procedure::read_library;
use crate::record::bundle::signed;
use crate::record::shop::Shop;
use crate::text::shell_quoted;

/// What changed between two revisions of a procedure, for the lead who approves it
///
/// Hazards, conditions, limits, paths and ways, those first that may take a protection away (marked !).
/// Called procedures are looked for beside each file and compared too.
#[derive(Debug, Args)]
#[command(after_help = STATUSES)]
pub(crate) struct DiffArguments {
    /// The procedure file as it was, or the name of one of the shop's, or the number of a job that was done by it
    old: PathBuf,
    /// The procedure file as it is to be, or the name of one of the shop's; without it, the first is held against the one of its
    /// name that comes with the program, a job's against the shop's
    new: Option<PathBuf>,
    /// For people, or for programs
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

const STATUSES: &str = "\
Exit status:
  0  nothing changed
  1  something changed
  2  could not be done";

pub(crate) fn run(arguments: &DiffArguments) -> Result<ExitCode, Failure> {
    let mut written = vec![arguments.old.clone()];
    written.extend(arguments.new.clone());
    of_job(&mut written)?;
    let files = named_files::named(&written, None)?;
    let found = match &files[..] {
        [old, new] => {
            no_folders(old, new)?;
            changes(&read(old)?, &read(new)?)
        }
        [own] => {
            no_folders(own, own)?;
            changes(&shipped_beside(own)?, &read(own)?)
        }
        _ => return Err("name one procedure or two".into()),
    };
    match arguments.format {
        Format::Text => say(&fitted(told(&found))),
        Format::Json => say(&format!("{}\n", json(&found)?)),
    }
    Ok(ExitCode::from(u8::from(!found.is_empty())))
}

/// Where a job's number stands for the first procedure: the job's own copy of the second, or of the one that it was done by,
/// which is held against the shop's.
fn of_job(written: &mut Vec<PathBuf>) -> Result<(), Failure> {
    let number = written[0].to_string_lossy().into_owned();
    let is_number = !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit());
    let Some(root) = wanted(None)?.filter(|_| is_number && !written[0].exists()) else {
        return Ok(());
    };
    let job = Shop::open(&root)?.job(&number)?;
    let record = signed::record(&job).ok_or_else(|| {
        format!("job {number} is not sealed, so it has no record that names its procedure")
    })?;
    let stem = written.get(1).and_then(|new| new.file_stem());
    let name = stem.map_or(record.procedure.clone(), |stem| {
        stem.to_string_lossy().into_owned()
    });
    let copy = record.procedures.iter().find(|copy| copy.name == name);
    let copy =
        copy.ok_or_else(|| format!("job {number} was not done by {name}, nor by what calls it"))?;
    written[0] = job.file(&copy.file);
    if written.len() == 1 {
        written.push(PathBuf::from(name));
    }
    Ok(())
}

/// The shipped procedure that a file has its name of.
fn shipped_beside(own: &Path) -> Result<Library, Failure> {
    let name = own.file_stem().unwrap_or_default().to_string_lossy();
    let told = || {
        format!(
            "{}: no procedure of that name comes with the program; name the one as it was too: evenfire diff OLD NEW",
            own.display()
        )
    };
    shipped::library(&name).ok_or_else(|| told().into())
}

/// Refuse folders: only two files are compared.
fn no_folders(old: &Path, new: &Path) -> Result<(), Failure> {
    let Some(folder) = [old, new].into_iter().find(|path| path.is_dir()) else {
        return Ok(());
    };
    let typed = |path: &Path| {
        let file = match path.is_dir() {
            true => path.join("NAME.yaml"),
            false => path.to_owned(),
        };
        shell_quoted(&file.display().to_string())
    };
    let told = format!(
        "{}: this is a folder; two files are compared, a procedure as it was and as it is to be: evenfire diff {} {}",
        folder.display(),
        typed(old),
        typed(new)
    );
    Err(told.into())
}

/// A file whose name need not be the procedure's: an old revision lies under another name. What it calls
/// is looked for beside it.
fn read(file: &Path) -> Result<Library, Failure> {
    let mut texts = BTreeMap::new();
    let shown = file.display().to_string();
    let text = read_text(file, &shown).map_err(|problem| problem.to_string())?;
    let name = text
        .lines()
        .find_map(|line| line.strip_prefix("procedure:"));
    let name = name.map(|name| name.split(" #").next().unwrap_or(name).trim().to_owned());
    let name = name.filter(|name| is_kebab(name));
    let stem = file
        .file_stem()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned();
    let name = name.unwrap_or(stem);
    texts.insert(shown.clone(), text.clone());
    let source = |wanted: &str| {
        let beside = file.with_file_name(format!("{wanted}.yaml"));
        let shown = beside.display().to_string();
        if wanted == name {
            return Some((shown, text.clone()));
        }
        Some((shown.clone(), read_text(&beside, &shown).ok()?))
    };
    read_library(&name, &source).map_err(|problems| {
        let told = listed(&problems.into_iter().collect(), &texts);
        format!("{told}{shown}: a procedure that is not sound is not compared.").into()
    })
}

fn told(found: &[Change]) -> String {
    let mut text = String::new();
    for change in found {
        let mark = if change.weakens == Weakens::Yes {
            "!"
        } else {
            " "
        };
        let step = change
            .step
            .as_ref()
            .map(|step| format!(" {step}"))
            .unwrap_or_default();
        text += &format!(
            "{mark} {:<13}{}{step}: {}\n",
            change.about.name(),
            change.procedure,
            change.told
        );
    }
    let weaken = found
        .iter()
        .filter(|change| change.weakens == Weakens::Yes)
        .count();
    text += &match (found.len(), weaken) {
        (0, _) => "Nothing changed.\n".to_owned(),
        (count, 0) => format!("{count} changes; none takes a protection away.\n"),
        (count, weaken) => format!("{count} changes; {weaken} may take a protection away.\n"),
    };
    text
}

fn json(found: &[Change]) -> Result<String, Failure> {
    let list: Vec<serde_json::Value> = found
        .iter()
        .map(|change| {
            serde_json::json!({
                "about": change.about.name(), "procedure": change.procedure, "step": change.step,
                "may_weaken": change.weakens == Weakens::Yes, "what": change.told,
            })
        })
        .collect();
    let whole = serde_json::json!({"schema": "evenfire-diff-1", "changes": list});
    Ok(serde_json::to_string_pretty(&whole)?)
}
