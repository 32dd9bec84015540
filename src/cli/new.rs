//! `evenfire new procedure NAME`: a commented file to begin from.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, Subcommand};

use crate::cli::one_job::which_job::{below_here, wanted};
use crate::cli::{Failure, say};
use crate::procedure::load::fields::is_ambiguous;
use crate::procedure::names::is_kebab;
use crate::procedure::scaffold::{Kind, sheet};
use crate::record::durable;
use crate::record::shop::PROCEDURES;
use crate::text::shell_quoted;

/// Make a file to begin from
#[derive(Debug, Args)]
pub(crate) struct NewArguments {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// A commented procedure file that passes `evenfire check`; one that is there already stays
    Procedure {
        /// Name of the procedure: lower-case words with hyphens between
        name: String,
        /// Folder to put it in
        #[arg(long, value_name = "DIR", default_value = ".")]
        into: PathBuf,
        /// With the whole chain of a crank: conditions, fuel cut and its proof, leads, capture, result, putting back
        #[arg(long, conflicts_with = "running")]
        cranking: bool,
        /// With the whole chain of a running engine: conditions, fuel cut and its proof, gauge, one cylinder kept quiet, exhaust led
        /// away, engine run, result, putting back
        #[arg(long)]
        running: bool,
    },
}

pub(crate) fn run(arguments: &NewArguments) -> Result<ExitCode, Failure> {
    let What::Procedure {
        name,
        into,
        cranking,
        running,
    } = &arguments.what;
    let kind = match (cranking, running) {
        (true, _) => Kind::Cranking,
        (_, true) => Kind::Running,
        _ => Kind::Plain,
    };
    if !is_kebab(name) {
        let told = format!(
            "{name:?} cannot be a procedure's name: use lower-case letters, digits and single hyphens, \
             beginning with a letter, as in battery-at-rest"
        );
        return Err(told.into());
    }
    if is_ambiguous(name) {
        let told = format!(
            "{name:?} cannot be a procedure's name: where a file calls it without quotes, YAML readers take that for a \
             number, a truth value or nothing; use a full word, as in battery-at-rest"
        );
        return Err(told.into());
    }
    let file = into.join(format!("{name}.yaml"));
    if file.exists() {
        let told = format!("{}: exists already; take another name", file.display());
        return Err(told.into());
    }
    if let Some(own) = of_the_shop(name, into)? {
        let told = format!(
            "the shop has a procedure {name:?}, and its jobs find that one: {}; take another name, or change a copy of it",
            below_here(&own).display()
        );
        return Err(told.into());
    }
    fs_err::create_dir_all(into)?;
    durable::write_new(&file, sheet(kind, name).as_bytes())?;
    let shown = file.display();
    say(&format!(
        "{shown}\nChange it, then: evenfire check {}\n{}",
        shell_quoted(&shown.to_string()),
        to_the_shop(into)?
    ));
    Ok(ExitCode::SUCCESS)
}

/// The shop's own procedure of that name, where a namesake would be made beside it.
fn of_the_shop(name: &str, into: &Path) -> Result<Option<PathBuf>, Failure> {
    let root = wanted(None)?.filter(|root| {
        into.canonicalize()
            .is_ok_and(|into| root.canonicalize().is_ok_and(|root| into.starts_with(root)))
    });
    let own = root.map(|root| root.join(PROCEDURES).join(format!("{name}.yaml")));
    Ok(own.filter(|own| own.exists()))
}

/// Where a file belongs before jobs find it by its name, where it was made in a shop and lies elsewhere.
fn to_the_shop(into: &Path) -> Result<String, Failure> {
    let Some(root) = wanted(None)? else {
        return Ok(String::new());
    };
    let procedures = root.join(PROCEDURES);
    let same = into.canonicalize().ok() == procedures.canonicalize().ok();
    if same {
        return Ok(String::new());
    }
    let folder = below_here(&procedures);
    Ok(format!(
        "The shop's jobs find it by its name once it lies in {}.\n",
        folder.display()
    ))
}
