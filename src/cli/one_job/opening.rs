//! A job begun or taken up again: its folder, the procedures in it, its journal.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use crate::ask::script::Answers;
use crate::cli::Failure;
use crate::cli::check::read_procedure;
use crate::cli::one_job::which_job::from_here;
use crate::cli::problems::listed;
use crate::procedure::model::Library;
use crate::procedure::nearest::nearest;
use crate::procedure::read_unproved;
use crate::procedure::rules::Rules;
use crate::record::bundle::model::EXERCISE;
use crate::record::folder::{self, JobFolder};
use crate::record::shop::Shop;
use crate::record::shop::roster::Roster;
use crate::record::{digest, durable};
use crate::run::event::{Event, Opening, ProcedureFile, Stamped};
use crate::run::journal::{Disk, Journal};
use crate::run::state::State;

/// Program and version, as records name them.
pub(crate) const TOOL: &str = concat!("evenfire ", env!("EVENFIRE_VERSION"));

/// Why a job that a file answers is practice.
pub(crate) const ANSWERS_FROM_A_FILE: &str = "answers from a file";

/// Why a job is practice that will be signed with keys for practice.
const PRACTICE_KEYS: &str = "practice keys";

/// Ending of procedure files.
const YAML: &str = ".yaml";

/// A job with its procedures and its journal, locked for this run.
pub(crate) struct Opened {
    pub(crate) folder: JobFolder,
    pub(crate) library: Library,
    pub(crate) journal: Journal<Disk>,
    pub(crate) state: State,
    /// What is wrong with its own procedures by this version of the program: nothing but putting back is done by them.
    pub(crate) refused: Option<String>,
}

/// What a job is begun with.
pub(crate) struct Beginning<'a> {
    pub(crate) shop: &'a Shop,
    pub(crate) roster: &'a Roster,
    pub(crate) technician: &'a str,
    /// The procedure that is run, and the library of all that it calls.
    pub(crate) procedure: &'a str,
    pub(crate) library: Library,
    /// What answers in place of the technician, if anything does.
    pub(crate) unattended: Option<Unattended>,
    /// Whether the vehicle is an exercise's.
    pub(crate) exercise: bool,
}

/// That nobody answers the questions of a job.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Unattended {
    /// Why that makes it practice.
    pub(crate) reason: &'static str,
    /// Whether its times are simulated.
    pub(crate) simulated_clock: bool,
}

impl Unattended {
    /// A file answers.
    pub(crate) fn by(answers: &Answers) -> Self {
        Unattended {
            reason: ANSWERS_FROM_A_FILE,
            simulated_clock: answers.clock.is_some(),
        }
    }
}

impl Beginning<'_> {
    /// Begin the job: a new folder, never one that is there. `at` is the time of its first event.
    pub(crate) fn begin(self, at: String) -> Result<Opened, Failure> {
        let folder = self.shop.new_job()?;
        let begun = self.begin_in(folder.clone(), at);
        begun.map_err(|why| {
            folder.abandon();
            format!("{why}\nNo job was begun, and no folder of one is left.").into()
        })
    }

    fn begin_in(self, folder: JobFolder, at: String) -> Result<Opened, Failure> {
        let opening = Opening {
            job: folder.number(),
            shop: self.shop.name().to_owned(),
            technician: self.technician.to_owned(),
            practice: self.practice(),
            // an exercise's clock runs on by the rests that it shortens
            simulated_clock: self
                .unattended
                .map_or(self.exercise, |by| by.simulated_clock),
            procedure: self.procedure.to_owned(),
            procedures: copied(&self.library, &folder)?,
            low_percent: self.shop.low_percent(),
            needs: self.shop.policy().rules.needs.clone(),
            limits: self.shop.policy().limits.followup(),
            breaks_and_waivers: self.shop.policy().breaks_and_waivers(),
            tool: TOOL.to_owned(),
        };
        let mut journal = Journal::begin(Disk::create(folder.path())?.held_by(&this_run()));
        let first = journal.append(&Stamped {
            at,
            event: Event::Opened(opening),
        })?;
        Ok(Opened {
            folder,
            library: self.library,
            journal,
            state: State::fold([&first]),
            refused: None,
        })
    }

    fn practice(&self) -> Vec<String> {
        let unattended = self.unattended.map(|by| by.reason);
        let keys = self.roster.practises(self.technician);
        let reasons = unattended
            .into_iter()
            .chain(keys.then_some(PRACTICE_KEYS))
            .chain(self.exercise.then_some(EXERCISE));
        reasons.map(str::to_owned).collect()
    }
}

/// How times are shown to whoever is in the shop.
pub(crate) const TIME: &str = "%Y-%m-%d %H:%M";

/// This run, for whoever is refused a job that it holds.
fn this_run() -> String {
    let person = ["USER", "LOGNAME", "USERNAME"];
    let person = person.iter().find_map(|name| std::env::var(name).ok());
    let person = person.map(|name| format!(", {name}")).unwrap_or_default();
    let since = chrono::Local::now().format(TIME);
    format!("process {}{person}, since {since}", std::process::id())
}

/// Copy the procedures into the job, each with its hash.
fn copied(library: &Library, job: &JobFolder) -> Result<Vec<ProcedureFile>, Failure> {
    let mut files = Vec::new();
    for (name, procedure) in &library.procedures {
        let file = format!("{}/{name}{YAML}", folder::PROCEDURES);
        durable::write_new(&job.file(&file), procedure.source.text.as_bytes())?;
        files.push(ProcedureFile {
            name: name.clone(),
            revision: procedure.revision,
            title: procedure.title.clone(),
            sha256: digest::of_file(&job.file(&file))?,
            file,
        });
    }
    Ok(files)
}

/// Take a job up again, with the procedures that were copied into it when it was begun. `at` is asked
/// for the time where a torn last line had to be cut off.
pub(crate) fn reopen(folder: JobFolder, at: &mut dyn FnMut() -> String) -> Result<Opened, Failure> {
    let in_job = |why: &dyn std::fmt::Display| format!("{}: {why}", folder.path().display());
    let disk = Disk::open(folder.path()).map_err(|error| in_job(&error))?;
    let disk = disk.held_by(&this_run());
    let (mut journal, lines, cut) = Journal::open(disk).map_err(|error| in_job(&error))?;
    let mut state = State::fold(lines.iter().map(|line| &line.event));
    if let Some(cut) = cut {
        let mended = Stamped {
            at: at(),
            event: cut.event(),
        };
        state.push(journal.append(&mended)?);
    }
    let opening = state
        .opening()
        .ok_or_else(|| in_job(&"its journal does not say how it was opened"))?;
    let (library, refused) = of_job(&folder, opening)?;
    forget_drafts(&folder)?;
    Ok(Opened {
        folder,
        library,
        journal,
        state,
        refused,
    })
}

/// The procedures of a job, from its own copies, which must be those that it was begun with; and what is wrong with them
/// where this version of the program refuses what an earlier one took.
pub(crate) fn of_job(
    folder: &JobFolder,
    opening: &Opening,
) -> Result<(Library, Option<String>), Failure> {
    let mut main = None;
    for procedure in &opening.procedures {
        let file = folder.file(&procedure.file);
        if digest::of_file(&file)? != procedure.sha256 {
            let told = format!(
                "{}: changed since the job was begun; put the original back (SHA-256 {})",
                file.display(),
                procedure.sha256
            );
            return Err(told.into());
        }
        if procedure.name == opening.procedure {
            main = Some(file);
        }
    }
    let main = main.ok_or_else(|| format!("the job holds no procedure {}", opening.procedure))?;
    match load(&main, &Rules::of_needs(opening.needs.clone())) {
        Ok(library) => Ok((library, None)),
        Err(told) => match unproved(&main) {
            Some(library) => Ok((library, Some(told.to_string()))),
            None => Err(told),
        },
    }
}

/// A job's own copy, with those of what it calls beside it.
fn unproved(main: &Path) -> Option<Library> {
    let source = |name: &str| {
        let file = main.with_file_name(format!("{name}{YAML}"));
        let text = fs_err::read_to_string(&file).ok()?;
        Some((file.display().to_string(), text))
    };
    read_unproved(&main.file_stem()?.to_string_lossy(), &source)
}

/// Copies of captures that were cut off half way; what they were copied from is untouched.
fn forget_drafts(folder: &JobFolder) -> Result<(), Failure> {
    for entry in fs_err::read_dir(folder.file(folder::CAPTURES))? {
        let entry = entry?;
        if entry
            .file_name()
            .to_string_lossy()
            .starts_with(durable::DRAFT)
        {
            fs_err::remove_file(entry.path())?;
        }
    }
    Ok(())
}

/// Read a procedure and all that it calls, proved by the shop's rules; a broken one is refused with all its problems.
pub(crate) fn load(file: &Path, rules: &Rules) -> Result<Library, Failure> {
    let mut texts = BTreeMap::new();
    read_procedure(file, rules, &mut texts).map_err(|problems| {
        let problems: BTreeSet<_> = problems.into_iter().collect();
        let told = listed(&problems, &texts);
        format!("{told}A procedure that is not sound is not run.").into()
    })
}

/// A procedure that takes values from whoever calls it is no job by itself: nothing would hand them over,
/// and its ways are proved under its callers only.
pub(crate) fn outermost(file: &Path, library: &Library, shop: &Shop) -> Result<(), Failure> {
    let name = file.file_stem().unwrap_or_default().to_string_lossy();
    let Some(procedure) = library.procedures.get(name.as_ref()) else {
        return Ok(());
    };
    if procedure.takes.is_empty() {
        return Ok(());
    }
    let rules = &shop.policy().rules;
    let folder = file.parent().unwrap_or(Path::new(""));
    let callers = known_procedures(folder).into_iter().filter(|known| {
        let other = folder.join(format!("{known}{YAML}"));
        let library = read_procedure(&other, rules, &mut BTreeMap::new());
        library.is_ok_and(|library| {
            let own = library.procedures.get(known.as_str());
            own.is_some_and(|own| own.takes.is_empty())
                && library.procedures.contains_key(name.as_ref())
        })
    });
    let callers: Vec<String> = callers.map(|known| format!("`{known}`")).collect();
    let remedy = if callers.is_empty() {
        "no procedure beside it calls it; write one that does".to_owned()
    } else {
        format!("begin with one that calls it: {}", callers.join(" or "))
    };
    Err(format!(
        "{}: `{name}` is part of a job and cannot be run by itself: it takes {} from the procedure that calls it, \
         and what protects you stands there too; {remedy}",
        file.display(),
        procedure.takes.join(", ")
    )
    .into())
}

/// The file of a procedure: a name among the shop's procedures, or a path.
pub(crate) fn procedure_file(shop: &Shop, procedure: &str) -> Result<PathBuf, Failure> {
    let path = Path::new(procedure);
    let is_path = path.components().count() > 1 || procedure.ends_with(YAML);
    let file = if is_path {
        path.to_owned()
    } else {
        shop.procedures().join(format!("{procedure}{YAML}"))
    };
    if file.is_file() {
        return Ok(file);
    }
    let shown = file.display();
    if is_path {
        return Err(format!(
            "{shown}: no such file; name a procedure of the shop, or the path of one"
        )
        .into());
    }
    let known = known_procedures(&shop.procedures());
    let there = if known.is_empty() {
        format!(
            "the shop has no procedures yet: `evenfire init {} --with-procedures` puts the shipped ones there, or name \
             the path of one",
            from_here(shop.root())
        )
    } else {
        let near = nearest(procedure, known.iter().map(String::as_str));
        let near = near.map(|near| format!("did you mean {near}? "));
        format!(
            "{}the shop has {}",
            near.unwrap_or_default(),
            known.join(", ")
        )
    };
    let here = Path::new(procedure).with_extension("yaml");
    let here = if here.is_file() {
        format!(
            ". The file in this folder is named by its path: ./{}",
            here.display()
        )
    } else {
        String::new()
    };
    Err(format!("{shown}: no such procedure; {there}{here}").into())
}

pub(crate) fn known_procedures(folder: &Path) -> Vec<String> {
    let entries = fs_err::read_dir(folder).into_iter().flatten();
    let names = entries.flatten().map(|entry| entry.file_name());
    let mut names: Vec<String> = names
        .filter_map(|name| Some(name.to_str()?.strip_suffix(YAML)?.to_owned()))
        .collect();
    names.sort();
    names
}
