//! A folder of captures, analysed side by side. Each answer is written as soon as those before it are, in
//! file-name order; one that cannot be read stops no other.

use std::collections::BTreeMap;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Mutex;

use indicatif::{ProgressBar, ProgressStyle};
use rayon::prelude::*;
use serde::Serialize;

use crate::capture::ReadError;
use crate::capture::understood::Understood;
use crate::cli::analyse::{AnalyseArguments, Answer, analyse};
use crate::cli::captures::{self, By, SETUP};
use crate::cli::format::Format;
use crate::cli::{Failure, is_broken_pipe};
use crate::cranking::Analysed;
use crate::cranking::answer::SCHEMA;

type Outcome = Result<(Analysed, Understood), ReadError>;

/// One line of a folder's answer.
#[derive(Serialize)]
#[serde(untagged)]
enum Line<'a> {
    Done {
        capture: &'a str,
        #[serde(flatten)]
        answer: Answer<'a>,
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
    column: Option<u64>,
    message: String,
    remedy: String,
}

/// Answers in their order: what comes too early waits.
struct Ordered<'a> {
    format: Format,
    captures: &'a [PathBuf],
    bar: &'a ProgressBar,
    waiting: BTreeMap<usize, Outcome>,
    next: usize,
    failed: bool,
}

pub(super) fn run(arguments: &AnalyseArguments) -> Result<ExitCode, Failure> {
    let captures = captures_in(&arguments.capture)?;
    let by = arguments.by()?;
    let beside = By {
        setup: None,
        ..by.clone()
    };
    // indicatif draws on standard error, and only on a terminal
    let bar = ProgressBar::new(captures.len() as u64);
    bar.set_style(ProgressStyle::with_template(
        "{pos} of {len} captures  {bar:30}  {eta} left",
    )?);
    let ordered = Mutex::new(Ordered {
        format: arguments.format,
        captures: &captures,
        bar: &bar,
        waiting: BTreeMap::new(),
        next: 0,
        failed: false,
    });
    let written = captures.par_iter().enumerate().try_for_each(|(at, path)| {
        let has_own = captures::beside(path, SETUP).exists();
        let outcome = analyse(path, if has_own { &beside } else { &by });
        bar.inc(1);
        match ordered.lock() {
            Ok(mut ordered) => ordered.take(at, outcome),
            Err(_) => Err(std::io::Error::other(
                "another capture's analysis broke off",
            )),
        }
    });
    bar.finish_and_clear();
    match written {
        Err(error) if !is_broken_pipe(&error) => return Err(error.into()),
        _ => {}
    }
    let failed = ordered.into_inner().is_ok_and(|ordered| ordered.failed);
    Ok(if failed {
        ExitCode::from(1)
    } else {
        ExitCode::SUCCESS
    })
}

impl Ordered<'_> {
    fn take(&mut self, at: usize, outcome: Outcome) -> std::io::Result<()> {
        self.waiting.insert(at, outcome);
        while let Some(outcome) = self.waiting.remove(&self.next) {
            let name = self.captures[self.next].file_name().unwrap_or_default();
            let name = name.to_string_lossy();
            self.failed |= outcome.is_err();
            self.bar.suspend(|| write(&name, outcome, self.format))?;
            self.next += 1;
        }
        Ok(())
    }
}

fn write(name: &str, outcome: Outcome, format: Format) -> std::io::Result<()> {
    let mut out = std::io::stdout().lock();
    match (outcome, format) {
        (Ok((analysed, understood)), Format::Json) => {
            let answer = Answer {
                analysis: &analysed.analysis,
                understood: &understood,
            };
            let line = Line::Done {
                capture: name,
                answer,
            };
            writeln!(out, "{}", serde_json::to_string(&line)?)
        }
        (Ok((analysed, _)), Format::Text) => {
            writeln!(out, "{name}: {}", analysed.analysis.verdict.why)
        }
        (Err(error), Format::Json) => {
            let error = Said {
                file: error.file,
                line: (error.line > 0).then_some(error.line),
                column: (error.column > 0).then_some(error.column),
                message: error.message,
                remedy: error.remedy,
            };
            let line = Line::Failed {
                schema: SCHEMA,
                capture: name,
                error,
            };
            writeln!(out, "{}", serde_json::to_string(&line)?)
        }
        (Err(error), Format::Text) => {
            drop(out);
            writeln!(
                std::io::stderr().lock(),
                "{name}: could not be read: {error}"
            )
        }
    }
}

fn captures_in(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    let mut captures = Vec::new();
    for entry in fs_err::read_dir(folder)? {
        let path = entry?.path();
        if captures::is_capture(&path) && path.is_file() {
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
