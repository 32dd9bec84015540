//! Who answers a run: the person at the terminal, or a file. Both walk the same path through the run.

use std::io::IsTerminal;
use std::path::{Path, PathBuf};

use chrono::{SecondsFormat, Utc};
use clap::Args;
use dialoguer::console::Term;

use crate::ask::keys::TerminalKeys;
use crate::ask::layout::{Layout, ShowResult};
use crate::ask::script::{self, Answers, Script};
use crate::ask::terminal::{Clock, Terminal};
use crate::ask::watching::Watching;
use crate::cli::Failure;
use crate::cli::one_job::watching::Watched;
use crate::cli::problems::listed;
use crate::report::terminal::{self, Screen};
use crate::run::asker::{Asker, NoAnswer};

/// Columns where output is no terminal.
pub(crate) const COLUMNS: usize = 80;

#[derive(Debug, Args)]
pub(crate) struct AnswersArgument {
    /// Answer from this file instead of the terminal; makes the job practice
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
    /// Ask in plain lines, choices by their numbers: for screen readers; so it is too where the output is
    /// no terminal
    #[arg(long, conflicts_with = "answers")]
    plain: bool,
}

/// A folder that the scope's software saves captures into.
#[derive(Debug, Args)]
pub(crate) struct WatchArgument {
    /// Take the next capture that is saved in this folder wherever one is asked for
    #[arg(long, value_name = "FOLDER", conflicts_with = "answers")]
    watch: Option<PathBuf>,
}

impl WatchArgument {
    pub(crate) fn watched(&self) -> Result<Option<Watched>, Failure> {
        self.watch.as_deref().map(Watched::new).transpose()
    }
}

impl AnswersArgument {
    /// Whoever answers, as [`asker`] has it.
    pub(crate) fn asker(
        &self,
        answers: Option<Answers>,
        after: Option<&str>,
        simulated_clock: bool,
        watched: Option<Watched>,
    ) -> Result<Box<dyn Asker>, NoAnswer> {
        asker_in(
            Surroundings::look(self.plain),
            answers,
            after,
            simulated_clock,
            watched,
        )
    }

    /// Read the answers, where a file is named; they must be for that procedure.
    pub(crate) fn read(&self, procedure: &str) -> Result<Option<Answers>, Failure> {
        let answers = self.answers.as_deref();
        answers
            .map(|file| read_answers(file, procedure))
            .transpose()
    }
}

/// Read an answers file, which must be for that procedure.
pub(crate) fn read_answers(file: &Path, procedure: &str) -> Result<Answers, Failure> {
    let text = fs_err::read_to_string(file)?;
    let shown = file.display().to_string();
    let answers = script::answers(&shown, &text)
        .map_err(|problems| listed(&problems.into_iter().collect(), &[(shown, text)].into()))?;
    if answers.procedure == procedure {
        return Ok(answers);
    }
    let told = format!(
        "{}: these are answers for {}, and the job runs {procedure}; name the answers that belong to it",
        file.display(),
        answers.procedure
    );
    Err(told.into())
}

/// Whoever answers. `after` is the time of the job's last event, where it has any.
///
/// # Errors
/// Where there is neither a file nor a terminal.
pub(crate) fn asker(
    answers: Option<Answers>,
    after: Option<&str>,
    simulated_clock: bool,
) -> Result<Box<dyn Asker>, NoAnswer> {
    asker_in(
        Surroundings::look(false),
        answers,
        after,
        simulated_clock,
        None,
    )
}

fn asker_in(
    surroundings: Surroundings,
    answers: Option<Answers>,
    after: Option<&str>,
    simulated_clock: bool,
    watched: Option<Watched>,
) -> Result<Box<dyn Asker>, NoAnswer> {
    let show = show(surroundings.plain);
    let Some(answers) = answers else {
        let by_line = surroundings.plain || !std::io::stdout().is_terminal();
        let keys = TerminalKeys::of_process(by_line).ok_or(NoAnswer::NoTerminal)?;
        // A job that began on a simulated clock may be ahead of ours; its times must not run back.
        let floor = after.filter(|_| simulated_clock).map(str::to_owned);
        let mut terminal = Terminal::new(keys, surroundings.colour, clock(floor), show);
        if by_line {
            terminal = terminal.plain();
        }
        let place = watched.map(|folder| Box::new(folder) as Box<dyn Watching>);
        return Ok(Box::new(terminal.watching(place)));
    };
    let layout = surroundings.layout();
    let out = std::io::stdout();
    let script = Script::new(answers, out, layout, clock(None), after, show);
    Ok(Box::new(script))
}

/// The keys of whoever is at the terminal; none where nobody is.
pub(crate) fn keys() -> Option<TerminalKeys> {
    let by_line = Surroundings::look(false).plain || !std::io::stdout().is_terminal();
    TerminalKeys::of_process(by_line)
}

/// What advice is drawn on.
pub(crate) fn screen() -> Screen {
    Surroundings::look(false).screen()
}

/// How this process's output is laid out.
pub(crate) fn layout() -> Layout {
    Surroundings::look(false).layout()
}

/// What the process prints to.
struct Surroundings {
    columns: usize,
    colour: bool,
    plain: bool,
}

impl Surroundings {
    fn look(plain: bool) -> Self {
        let terminal = std::io::stdout().is_terminal();
        let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
        let unwanted = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
        Surroundings {
            columns: if terminal {
                usize::from(Term::stdout().size().1)
            } else {
                COLUMNS
            },
            colour: terminal && !dumb && !unwanted && !plain,
            plain: plain || dumb,
        }
    }

    fn layout(&self) -> Layout {
        Layout::new(self.columns, self.colour)
    }

    fn screen(&self) -> Screen {
        Screen {
            width: self.columns.min(COLUMNS),
            plain: self.plain,
        }
    }
}

/// Draws results as wide as the terminal is at that time.
fn show(plain: bool) -> ShowResult {
    Box::new(move |computed| {
        let screen = Surroundings::look(plain).screen();
        if let Some(plan) = &computed.plan {
            return Some(terminal::plan(&plan.given, plan.signal, screen));
        }
        let analysis = computed.analysis.as_ref()?;
        Some(terminal::result(
            analysis,
            computed.drawing.as_deref(),
            screen,
        ))
    })
}

/// The real time, never before `floor`.
fn clock(floor: Option<String>) -> Clock {
    let floor = floor.and_then(|text| text.parse().ok());
    Box::new(move || {
        let now = Utc::now();
        let now = floor.map_or(now, |floor| now.max(floor));
        now.to_rfc3339_opts(SecondsFormat::Secs, true)
    })
}
