//! `evenfire map`: a procedure as a picture, as text for other tools, or as a work sheet for paper.

mod made;

use std::collections::BTreeMap;
use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, ValueEnum};

use crate::cli::check::read_procedure;
use crate::cli::named_files;
use crate::cli::policy_rules::shop_policy;
use crate::cli::problems::listed;
use crate::cli::rehearse::{callers_beside, go_through};
use crate::cli::{Failure, say};
use crate::map::{ForShop, dot, mermaid, page, sheet};
use crate::procedure::Problem;
use crate::procedure::rules::Rules;
use crate::record::durable;

/// A procedure as a picture in an HTML page, as text for other tools, or as a work sheet for paper
///
/// Hazards and what a person vouches for are shown. With --rehearsed, what no scenario reached is marked.
#[derive(Debug, Args)]
pub(crate) struct MapArguments {
    /// Procedure file, or the name of one of the shop's
    procedure: PathBuf,
    /// Form of the map
    #[arg(long, value_enum, default_value_t = Format::Html)]
    format: Format,
    /// A work sheet to be filled in by hand
    #[arg(long, conflicts_with_all = ["format", "scenarios", "rehearsed"])]
    print: bool,
    /// Rehearse first, and mark what no scenario reaches: those beside the procedure, and those of the
    /// procedures beside it that call it
    #[arg(long)]
    rehearsed: bool,
    /// The same with the scenarios of this folder
    #[arg(long, value_name = "DIR")]
    scenarios: Option<PathBuf>,
    /// Folder of the shop whose policy it is for; else EVENFIRE_SHOP, else the nearest shop in or above the working
    /// folder
    #[arg(long, value_name = "DIR")]
    shop: Option<PathBuf>,
    /// Write into this file; to the output where not given. One that is there already is made anew if this command made it, of
    /// the same procedure in the same form, and nobody has changed it since
    #[arg(long, value_name = "FILE")]
    into: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    Html,
    Dot,
    Mermaid,
}

impl MapArguments {
    /// As it stands in the last line of a map.
    fn form(&self) -> &'static str {
        match self.format {
            _ if self.print => made::SHEET,
            Format::Html => made::PAGE,
            Format::Dot => made::DOT,
            Format::Mermaid => made::MERMAID,
        }
    }
}

pub(crate) fn run(arguments: &MapArguments) -> Result<ExitCode, Failure> {
    let mut texts = BTreeMap::new();
    let told = |problems: Vec<Problem>, texts: &BTreeMap<String, String>| {
        Failure::from(listed(&problems.into_iter().collect(), texts))
    };
    let named = std::slice::from_ref(&arguments.procedure);
    let files = named_files::named(named, arguments.shop.as_deref())?;
    let file = files.first().unwrap_or(&arguments.procedure);
    let policy = shop_policy(arguments.shop.as_deref(), &files, &mut texts)?
        .map_err(|wrong| told(wrong.problems, &texts))?
        .map(|(policy, _)| policy);
    let rules = policy
        .as_ref()
        .map_or_else(Rules::default, |policy| policy.rules.clone());
    let library =
        read_procedure(file, &rules, &mut texts).map_err(|problems| told(problems, &texts))?;
    let for_shop = policy.as_ref().map(|policy| ForShop {
        name: policy.shop.text(),
        limits: policy.limits.followup(),
        rules: &policy.rules,
    });
    let for_shop = for_shop.as_ref();
    let name = file.file_stem().unwrap_or_default().to_string_lossy();
    let marked = arguments.rehearsed || arguments.scenarios.is_some();
    let coverage = marked.then(|| {
        // a procedure that others call is gone through by their scenarios as well
        let mut files = vec![file.clone()];
        files.extend(callers_beside(file));
        go_through(&files, arguments.scenarios.as_deref()).coverage
    });
    let coverage = coverage.as_ref();
    let text = match arguments.format {
        _ if arguments.print => sheet(&library, &name, for_shop),
        Format::Html => page(&library, &name, coverage, for_shop),
        Format::Dot => dot(&library, &name, coverage),
        Format::Mermaid => mermaid(&library, &name, coverage),
    };
    match &arguments.into {
        None if std::io::stdout().is_terminal() && text.starts_with('<') => {
            // the page of the map and the work sheet may lie beside each other
            let which = if arguments.print { "-sheet" } else { "" };
            return Err(format!(
                "this is a page for a browser: add `--into {name}{which}.html` and open that file"
            )
            .into());
        }
        None => say(&text),
        Some(into) => {
            let of = made::Of {
                form: arguments.form(),
                procedure: &name,
            };
            write(into, &text, of)?;
            say(&format!("{}\n", into.display()));
        }
    }
    Ok(ExitCode::SUCCESS)
}

/// Write a map into a file that is new, or that this command made to hold the same map.
fn write(into: &Path, text: &str, of: made::Of<'_>) -> Result<(), Failure> {
    let marked = made::marked(text, of);
    let folder = into
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    if let Some(folder) = folder.filter(|folder| !folder.is_dir()) {
        let told = format!(
            "{}: there is no folder {}; make it first, or name one that is there",
            into.display(),
            folder.display()
        );
        return Err(told.into());
    }
    if !into.exists() {
        return Ok(durable::write_new(into, marked.as_bytes())?);
    }
    // a link or a folder is nobody's map
    let is_file = fs_err::symlink_metadata(into)?.is_file();
    let there = if is_file {
        fs_err::read(into)?
    } else {
        Vec::new()
    };
    let why = match made::as_made(&there) {
        Some(other) if other == of => {
            return Ok(durable::replace(into, marked.as_bytes())?);
        }
        Some(other) => format!(
            "is the {} and would become the {}; take another name, or take that file away first",
            other.words(),
            of.words()
        ),
        None => "is no map as this command made it; take another name or move it away".to_owned(),
    };
    Err(format!("{}: exists already, and {why}", into.display()).into())
}
