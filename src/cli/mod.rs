//! The command line: arguments in, exit status out. The only room that knows the process, prints, and
//! reads the clock; one file per command.
#![allow(clippy::print_stdout, clippy::print_stderr)]

mod accuracy;
mod analyse;
mod answering;
mod check;
mod computing;
mod countersign;
mod demo;
mod driving;
mod init;
mod interrupt;
mod judging;
mod keeping;
mod opening;
mod passphrase;
mod place;
mod report;
mod resume;
mod run;
mod sign;
mod simulate;
mod verify;

use std::io::Write;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// Find out, with everything bolted on, whether a cylinder fails to seal, and which.
#[derive(Debug, Parser)]
#[command(name = "evenfire", version, propagate_version = true)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Analyse(analyse::AnalyseArguments),
    Accuracy(accuracy::AccuracyArguments),
    Demo(demo::DemoArguments),
    Check(check::CheckArguments),
    Init(init::InitArguments),
    Run(run::RunArguments),
    Resume(resume::ResumeArguments),
    Sign(sign::SignArguments),
    Simulate(simulate::SimulateArguments),
    Countersign(countersign::CountersignArguments),
    Verify(verify::VerifyArguments),
    Report(report::ReportArguments),
}

/// What a command says when it fails: what, where, how to mend it.
pub(crate) type Failure = Box<dyn std::error::Error>;

/// Run the command that the process was started with.
#[must_use]
pub fn main() -> ExitCode {
    let arguments = Arguments::parse();
    match perform(arguments.command) {
        Ok(code) => code,
        Err(failure) => {
            eprintln!("{failure}");
            ExitCode::from(2)
        }
    }
}

fn perform(command: Command) -> Result<ExitCode, Failure> {
    match command {
        Command::Accuracy(arguments) => accuracy::run(&arguments),
        Command::Analyse(arguments) => analyse::run(&arguments),
        Command::Demo(arguments) => demo::run(&arguments),
        Command::Run(arguments) => run::run(&arguments),
        Command::Resume(arguments) => resume::run(&arguments),
        Command::Report(arguments) => report::run(&arguments),
        Command::Check(arguments) => check::run(&arguments),
        Command::Init(arguments) => init::run(&arguments),
        Command::Sign(arguments) => sign::run(&arguments),
        Command::Simulate(arguments) => simulate::run(&arguments),
        Command::Countersign(arguments) => countersign::run(&arguments),
        Command::Verify(arguments) => verify::run(&arguments),
    }
}

/// Print; nobody is left to be told where the reader has gone away, and the work must not end for it.
pub(crate) fn say(text: &str) {
    let mut out = std::io::stdout();
    let written = out.write_all(text.as_bytes());
    let _ = written.and_then(|()| out.flush());
}
