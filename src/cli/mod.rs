//! The command line: arguments in, exit status out. The only room that knows the process, prints, and
//! reads the clock; one file per command.
#![allow(clippy::print_stdout, clippy::print_stderr)]

mod analyse;
mod check;
mod countersign;
mod init;
mod judging;
mod passphrase;
mod place;
mod sign;
mod simulate;
mod verify;

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
    Check(check::CheckArguments),
    Init(init::InitArguments),
    Sign(sign::SignArguments),
    Simulate(simulate::SimulateArguments),
    Countersign(countersign::CountersignArguments),
    Verify(verify::VerifyArguments),
}

/// What a command says when it fails: what, where, how to mend it.
pub(crate) type Failure = Box<dyn std::error::Error>;

/// Run the command that the process was started with.
#[must_use]
pub fn main() -> ExitCode {
    let arguments = Arguments::parse();
    match run(arguments.command) {
        Ok(code) => code,
        Err(failure) => {
            eprintln!("{failure}");
            ExitCode::from(2)
        }
    }
}

fn run(command: Command) -> Result<ExitCode, Failure> {
    match command {
        Command::Analyse(arguments) => analyse::run(&arguments),
        Command::Check(arguments) => check::run(&arguments),
        Command::Init(arguments) => init::run(&arguments),
        Command::Sign(arguments) => sign::run(&arguments),
        Command::Simulate(arguments) => simulate::run(&arguments),
        Command::Countersign(arguments) => countersign::run(&arguments),
        Command::Verify(arguments) => verify::run(&arguments),
    }
}
