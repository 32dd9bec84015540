//! `evenfire analyse`: relative compression from a capture. Folders of them are `batch`'s, and looking at
//! one before use `describing`'s.

mod batch;
mod describing;

use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;
use serde::Serialize;

use crate::capture::ReadError;
use crate::capture::clamps::{self, Clamps};
use crate::capture::understood::Understood;
use crate::cli::captures::By;
use crate::cli::format::Format;
use crate::cli::one_job::which_job;
use crate::cli::{Failure, captures};
use crate::cranking::answer::Analysis;
use crate::cranking::{self, Analysed};
use crate::report::terminal::{Screen, result};

/// Width that tables and traces are drawn for where the terminal does not tell its own.
const USUAL_WIDTH: usize = 78;

/// Relative compression per cylinder from a cranking capture
///
/// CAPTURE is a table with headings, as scopes and loggers export it (CSV and its kin), or a sound file; both
/// may be packed by gzip. Beside NAME.csv lies NAME.setup.yaml, which says what engine it is and which column
/// holds what; --setup names another. With a folder, every capture in it is analysed, an answer a line.
#[derive(Debug, Args)]
#[command(after_help = STATUSES)]
pub(crate) struct AnalyseArguments {
    /// Capture, or folder of captures
    pub(super) capture: PathBuf,
    /// Set-up file; beside the capture where not given
    #[arg(long, value_name = "FILE")]
    pub(super) setup: Option<PathBuf>,
    /// Clamp of the shop that the starter current was taken with
    #[arg(long, value_name = "NAME")]
    clamp: Option<String>,
    /// Folder of the shop whose clamps.yaml lists the clamps; else EVENFIRE_SHOP, else the nearest shop in or above the working
    /// folder
    #[arg(long, value_name = "DIR")]
    shop: Option<PathBuf>,
    /// Only show how the capture is understood, and what its columns look like; no set-up is needed
    #[arg(long)]
    describe: bool,
    /// For people, or the machine interface
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(super) format: Format,
    /// Numbers and plain characters only
    #[arg(long)]
    plain: bool,
}

/// An analysis, and what was understood of its capture.
#[derive(Serialize)]
pub(super) struct Answer<'a> {
    #[serde(flatten)]
    pub analysis: &'a Analysis,
    pub understood: &'a Understood,
}

impl AnalyseArguments {
    /// What captures are read by. A shop that is named must have a sound list of clamps; one that the
    /// working folder happens to lie in is only missed where a clamp is wanted.
    pub(super) fn by(&self) -> Result<By<'_>, Failure> {
        let clamps = match &self.shop {
            Some(shop) => {
                fs_err::metadata(shop.join(clamps::FILE))?;
                captures::clamps_of(shop)?
            }
            None => which_job::wanted(None)?.map_or_else(Clamps::default, |shop| {
                captures::clamps_of(&shop).unwrap_or_else(|error| Clamps::unreadable(&error))
            }),
        };
        Ok(By {
            setup: self.setup.as_deref(),
            clamps,
            clamp: self.clamp.as_deref(),
        })
    }
}

const STATUSES: &str = "\
Exit status:
  0  answered, whatever the verdict
  1  a capture of the folder could not be read
  2  could not be done";

pub(crate) fn run(arguments: &AnalyseArguments) -> Result<ExitCode, Failure> {
    let is_folder = arguments.capture.is_dir();
    if arguments.describe {
        if is_folder {
            let folder = arguments.capture.display();
            return Err(format!("{folder}: --describe shows one capture; name the file").into());
        }
        return describing::run(arguments);
    }
    if is_folder {
        return batch::run(arguments);
    }
    let (
        Analysed {
            analysis, drawing, ..
        },
        understood,
    ) = analyse(&arguments.capture, &arguments.by()?)?;
    let mut out = std::io::stdout().lock();
    match arguments.format {
        Format::Json => {
            let answer = Answer {
                analysis: &analysis,
                understood: &understood,
            };
            writeln!(out, "{}", serde_json::to_string_pretty(&answer)?)?;
        }
        Format::Text => write!(
            out,
            "{}{}",
            describing::before_use(&understood),
            result(&analysis, drawing.as_ref(), screen(arguments))
        )?,
    }
    Ok(ExitCode::SUCCESS)
}

fn screen(arguments: &AnalyseArguments) -> Screen {
    let width = console_width().unwrap_or(USUAL_WIDTH);
    Screen {
        width,
        plain: arguments.plain || !std::io::stdout().is_terminal(),
    }
}

fn console_width() -> Option<usize> {
    let (_, columns) = dialoguer::console::Term::stdout().size_checked()?;
    Some(usize::from(columns).min(100))
}

/// Read and analyse one capture.
pub(super) fn analyse(capture: &Path, by: &By<'_>) -> Result<(Analysed, Understood), ReadError> {
    let recording = by.recording(capture)?;
    let analysed = cranking::analyse(&recording.capture, &recording.setup);
    Ok((analysed, recording.understood))
}
