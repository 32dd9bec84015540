//! `evenfire analyse`: relative compression from a capture, or from a folder of captures.

use std::io::{BufReader, IsTerminal, Read, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, ValueEnum};
use indicatif::{ProgressBar, ProgressStyle};
use rayon::prelude::*;
use serde::Serialize;

use super::Failure;
use crate::capture::setup::{self, Setup};
use crate::capture::{self, ReadError};
use crate::cranking::answer::SCHEMA;
use crate::cranking::{self, Analysed};
use crate::report::terminal::{Screen, result};

/// Width that tables and traces are drawn for where the terminal does not tell its own.
const USUAL_WIDTH: usize = 78;

/// Relative compression per cylinder from a cranking capture
///
/// CAPTURE is a CSV table with a header line. Beside NAME.csv lies NAME.setup.yaml, which says what
/// engine it is and which column holds what; --setup names another. With a folder, every capture in it is
/// analysed, one object a line.
#[derive(Debug, Args)]
pub(crate) struct AnalyseArguments {
    /// Capture, or folder of captures
    capture: PathBuf,
    /// Set-up file; beside the capture where not given
    #[arg(long, value_name = "FILE")]
    setup: Option<PathBuf>,
    /// For people, or the machine interface
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Numbers and plain characters only
    #[arg(long)]
    plain: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    Text,
    Json,
}

/// One line of a folder's answer.
#[derive(Serialize)]
#[serde(untagged)]
enum Line<'a> {
    Done {
        capture: &'a str,
        #[serde(flatten)]
        analysis: Box<cranking::answer::Analysis>,
    },
    Failed {
        schema: &'static str,
        capture: &'a str,
        error: Said,
    },
}

#[derive(Serialize)]
struct Said {
    file: String,
    line: Option<u64>,
    message: String,
    remedy: String,
}

pub(crate) fn run(arguments: &AnalyseArguments) -> Result<ExitCode, Failure> {
    if arguments.capture.is_dir() {
        return folder(arguments);
    }
    let Analysed {
        analysis, drawing, ..
    } = analyse(&arguments.capture, arguments.setup.as_deref())?;
    let mut out = std::io::stdout().lock();
    match arguments.format {
        Format::Json => writeln!(out, "{}", serde_json::to_string_pretty(&analysis)?)?,
        Format::Text => write!(
            out,
            "{}",
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
fn analyse(capture: &Path, setup: Option<&Path>) -> Result<Analysed, ReadError> {
    let shown = capture.display().to_string();
    // the capture before its set-up: a mistyped name lacks both, and only the capture was named
    let file = std::fs::File::open(capture).map_err(|error| {
        ReadError::new(
            &shown,
            0,
            0,
            error.to_string(),
            "Check the name of the capture.",
        )
    })?;
    let setup = read_setup(capture, setup)?;
    let table = capture::read(BufReader::new(file), &shown, &setup)?;
    Ok(cranking::analyse(&table, &setup))
}

pub(crate) fn read_setup(capture: &Path, setup: Option<&Path>) -> Result<Setup, ReadError> {
    let beside = capture.with_extension("setup.yaml");
    let path = setup.unwrap_or(&beside);
    let shown = path.display().to_string();
    let mut text = String::new();
    let read = std::fs::File::open(path).and_then(|file| {
        // one byte over the limit is enough to see that the file is no set-up
        file.take(setup::MOST_BYTES as u64 + 4)
            .read_to_string(&mut text)
    });
    read.map_err(|error| {
        let remedy =
            "Write the set-up beside the capture as NAME.setup.yaml, or name it with --setup.";
        ReadError::new(&shown, 0, 0, error.to_string(), remedy)
    })?;
    setup::read(&text, &shown)
}

/// All captures of a folder, in file-name order.
fn folder(arguments: &AnalyseArguments) -> Result<ExitCode, Failure> {
    let captures = captures_in(&arguments.capture)?;
    let bar = ProgressBar::new(captures.len() as u64);
    bar.set_style(ProgressStyle::with_template(
        "{pos} of {len} captures  {bar:30}  {eta} left",
    )?);
    let answers: Vec<Result<Analysed, ReadError>> = captures
        .par_iter()
        .map(|path| {
            let beside = path.with_extension("setup.yaml");
            let setup = if beside.exists() {
                None
            } else {
                arguments.setup.as_deref()
            };
            let answer = analyse(path, setup);
            bar.inc(1);
            answer
        })
        .collect();
    bar.finish_and_clear();
    let mut out = std::io::stdout().lock();
    let mut failed = false;
    for (path, answer) in captures.iter().zip(answers) {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        match (answer, arguments.format) {
            (Ok(analysed), Format::Json) => {
                let analysis = Box::new(analysed.analysis);
                writeln!(
                    out,
                    "{}",
                    serde_json::to_string(&Line::Done {
                        capture: &name,
                        analysis
                    })?
                )?;
            }
            (Ok(analysed), Format::Text) => {
                writeln!(out, "{name}: {}", analysed.analysis.verdict.why)?
            }
            (Err(error), Format::Json) => {
                failed = true;
                let ReadError {
                    file,
                    line,
                    message,
                    remedy,
                    ..
                } = error;
                let error = Said {
                    file,
                    line: (line > 0).then_some(line),
                    message,
                    remedy,
                };
                let line = Line::Failed {
                    schema: SCHEMA,
                    capture: &name,
                    error,
                };
                writeln!(out, "{}", serde_json::to_string(&line)?)?;
            }
            (Err(error), Format::Text) => {
                failed = true;
                writeln!(out, "{name}: could not be read: {error}")?;
            }
        }
    }
    Ok(if failed {
        ExitCode::from(1)
    } else {
        ExitCode::SUCCESS
    })
}

fn captures_in(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    let mut captures = Vec::new();
    for entry in fs_err::read_dir(folder)? {
        let path = entry?.path();
        if path
            .extension()
            .is_some_and(|ending| ending.eq_ignore_ascii_case("csv"))
            && path.is_file()
        {
            captures.push(path);
        }
    }
    captures.sort();
    if captures.is_empty() {
        let folder = folder.display();
        return Err(format!("{folder}: no capture (NAME.csv) lies in this folder").into());
    }
    Ok(captures)
}
