//! The command line: arguments in, exit status out. The only room that knows the process, prints, and
//! reads the clock; one file per command, what those about one job share in `one_job`.

mod accuracy;
mod advise;
mod amend;
mod analyse;
mod audit;
mod captures;
mod check;
mod completions;
mod countersign;
mod demo;
mod diff;
mod excerpt;
mod format;
mod init;
mod jobs;
mod manual;
mod map;
mod named_files;
mod new;
mod one_job;
mod overview;
mod person;
mod policy_rules;
mod practise;
mod problems;
mod rehearse;
mod report;
mod resume;
mod run;
mod schema;
mod shipped;
mod sign;
mod simulate;
mod verify;

use std::io::{IsTerminal, Write};
use std::process::ExitCode;

use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};
use dialoguer::console::Term;

use crate::cli::one_job::interrupt::{INTERRUPTED, Interrupted};
use crate::text::{beside, wrap};

/// Columns of the narrowest terminal that sentences are broken for.
const NARROWEST: usize = 20;

/// Longest first word of a line, with the spaces after it, that the rest of the line is begun beside.
const WIDEST_NAME: usize = 12;

/// Find out, with everything bolted on, whether a cylinder fails to seal, and which.
#[derive(Debug, Parser)]
#[command(name = "evenfire", version = env!("EVENFIRE_VERSION"), propagate_version = true)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Demo(demo::DemoArguments),
    Init(init::InitArguments),
    New(new::NewArguments),
    Schema(schema::SchemaArguments),
    Check(check::CheckArguments),
    Practise(practise::PractiseArguments),
    Rehearse(rehearse::RehearseArguments),
    Map(map::MapArguments),
    Diff(diff::DiffArguments),
    Run(run::RunArguments),
    Resume(resume::ResumeArguments),
    Jobs(jobs::JobsArguments),
    Advise(advise::AdviseArguments),
    Analyse(analyse::AnalyseArguments),
    Sign(sign::SignArguments),
    Countersign(countersign::CountersignArguments),
    Amend(amend::AmendArguments),
    Verify(verify::VerifyArguments),
    Audit(audit::AuditArguments),
    Report(report::ReportArguments),
    Simulate(simulate::SimulateArguments),
    Accuracy(accuracy::AccuracyArguments),
    Completions(completions::CompletionsArguments),
    Manual(manual::ManualArguments),
}

/// What a command says when it fails: what, where, how to mend it.
pub(crate) type Failure = Box<dyn std::error::Error>;

/// Run the command that the process was started with.
#[must_use]
pub fn main() -> ExitCode {
    let given = overview::grouped(Arguments::command()).get_matches();
    let arguments = Arguments::from_arg_matches(&given).unwrap_or_else(|error| error.exit());
    match perform(arguments.command) {
        Ok(code) => code,
        // whoever reads the output has had enough
        Err(failure) if is_broken_pipe(failure.as_ref()) => ExitCode::SUCCESS,
        // below the question that was left
        Err(failure) if failure.is::<Interrupted>() => {
            warn(&format!("\n{failure}\n"));
            ExitCode::from(INTERRUPTED)
        }
        Err(failure) => {
            let text = format!("{failure}\n");
            match columns(&std::io::stderr(), &Term::stderr()) {
                Some(width) => warn(&folded(&text, width)),
                None => warn(&text),
            }
            ExitCode::from(2)
        }
    }
}

fn is_broken_pipe(failure: &(dyn std::error::Error + 'static)) -> bool {
    failure
        .downcast_ref::<std::io::Error>()
        .is_some_and(|error| error.kind() == std::io::ErrorKind::BrokenPipe)
}

fn perform(command: Command) -> Result<ExitCode, Failure> {
    match command {
        Command::Accuracy(arguments) => accuracy::run(&arguments),
        Command::Advise(arguments) => advise::run(&arguments),
        Command::Amend(arguments) => amend::run(&arguments),
        Command::Analyse(arguments) => analyse::run(&arguments),
        Command::Audit(arguments) => audit::run(&arguments),
        Command::Demo(arguments) => demo::run(&arguments),
        Command::Diff(arguments) => diff::run(&arguments),
        Command::Map(arguments) => map::run(&arguments),
        Command::Practise(arguments) => practise::run(&arguments),
        Command::Rehearse(arguments) => rehearse::run(&arguments),
        Command::Run(arguments) => run::run(&arguments),
        Command::Jobs(arguments) => jobs::run(&arguments),
        Command::Resume(arguments) => resume::run(&arguments),
        Command::Report(arguments) => report::run(&arguments),
        Command::New(arguments) => new::run(&arguments),
        Command::Schema(arguments) => schema::run(&arguments),
        Command::Check(arguments) => check::run(&arguments),
        Command::Init(arguments) => init::run(&arguments),
        Command::Sign(arguments) => sign::run(&arguments),
        Command::Simulate(arguments) => simulate::run(&arguments),
        Command::Completions(arguments) => completions::run(&arguments),
        Command::Manual(arguments) => manual::run(&arguments),
        Command::Countersign(arguments) => countersign::run(&arguments),
        Command::Verify(arguments) => verify::run(&arguments),
    }
}

/// Print on standard error, as [`say`] prints.
pub(crate) fn warn(text: &str) {
    let _ = std::io::stderr().write_all(text.as_bytes());
}

/// Sentences as the output takes them: at a terminal, long lines are broken between words.
pub(crate) fn fitted(text: String) -> String {
    match columns(&std::io::stdout(), &Term::stdout()) {
        Some(width) => folded(&text, width),
        None => text,
    }
}

/// Columns of a stream that is a terminal.
fn columns(stream: &impl IsTerminal, term: &Term) -> Option<usize> {
    let (_, columns) = stream.is_terminal().then(|| term.size_checked())??;
    Some(usize::from(columns).max(NARROWEST))
}

/// Lines that are too long, broken between words and begun below their text.
fn folded(text: &str, width: usize) -> String {
    let mut lines = text.split('\n').peekable();
    let mut all = Vec::new();
    while let Some(line) = lines.next() {
        if excerpt::is_one(line) {
            let mark = lines.next_if(|next| excerpt::is_mark(next));
            all.extend(excerpt::broken(line, mark, width));
        } else {
            all.push(folded_line(line, width));
        }
    }
    all.join("\n")
}

fn folded_line(line: &str, width: usize) -> String {
    let words = line.trim_start();
    let lead = line.len() - words.len();
    if line.chars().count() <= width {
        return line.to_owned();
    }
    let margin = " ".repeat(lead);
    let room = width - lead.min(width / 2);
    let broken = match named(words) {
        Some((name, rest)) => format!("{name}{}", beside(rest, room, name.chars().count())),
        None => wrap(words, room, 4),
    };
    format!("{margin}{}", broken.replace('\n', &format!("\n{margin}")))
}

/// A line's first word with the spaces after it, where several set it apart from the rest.
fn named(line: &str) -> Option<(&str, &str)> {
    let (name, rest) = line.split_at(line.find("  ")?);
    let text = rest.trim_start();
    let (name, text) = line.split_at(name.len() + rest.len() - text.len());
    (name.chars().count() <= WIDEST_NAME && !name.trim_end().contains(' ')).then_some((name, text))
}

/// Print, as everything in this room does; nobody is left to be told where the reader has gone away, and the work must not end for it.
pub(crate) fn say(text: &str) {
    let mut out = std::io::stdout();
    let written = out.write_all(text.as_bytes());
    let _ = written.and_then(|()| out.flush());
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lines_go_on_below_their_text() {
        let line = "WRONG   0012: a file is not there";
        assert_eq!(
            folded(line, 24),
            "WRONG   0012: a file is\n        not there"
        );
        let line = "  12  nobody has signed it";
        assert_eq!(folded(line, 20), "  12  nobody has\n      signed it");
        let line = "  nobody has signed it yet";
        assert_eq!(folded(line, 20), "  nobody has signed\n      it yet");
        let line = "it has  no name before it";
        assert_eq!(folded(line, 20), "it has no name\n    before it");
        assert_eq!(folded("short  as it is\n", 20), "short  as it is\n");
    }
}
